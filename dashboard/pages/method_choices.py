"""Choices of method that another textbook makes differently, with the reason."""

CHOICES: tuple[tuple[str, str], ...] = (
    (
        "Interval of a rate",
        (
            "Wilson's, not Clopper and Pearson's exact one, which is wider than it "
            "says, nor the normal approximation, which is wrong near 0 and 100 %."
        ),
    ),
    (
        "p-value",
        (
            "mid-p: half the chance of what was found counts. The exact p promises "
            "less than it says with few anchors; mid-p keeps 5 % on average and may "
            "exceed it a little in single cases. Two-sided, with conditional margins."
        ),
    ),
    (
        "One-sided flag",
        (
            "tested two-sided, flagged only where worse: of many alike groups half of "
            "the 5 % is spent on the better side; of two groups all of it is not."
        ),
    ),
    (
        "Yardstick",
        (
            "all others, without the group itself. Including it, as funnel plots do, "
            "pulls the yardstick towards a large group and hides it."
        ),
    ),
    (
        "Bad days",
        (
            "one likeness for all groups, estimated within groups, used where the days "
            "differ at p at most 20 %. Widening by the spread between groups, as "
            "overdispersed funnels do, cannot flag one of 3 to 8 sites at all."
        ),
    ),
    (
        "Many groups",
        (
            "Benjamini and Hochberg 1995: of what is flagged, 5 % is false on average. "
            "Holm and Bonferroni guard against a single false flag and find less."
        ),
    ),
    (
        "Prior of the probable rate",
        (
            "a beta distribution whose mean and strength are integrated over (prior "
            "uniform on the mean and on 1/√strength, strength at least 1). Taking the "
            "likeliest one as known makes intervals too narrow with few groups; so, in "
            "simulations, they held the truth in 94 to 97 % of cases for 2 to 60 "
            "groups of 200 judged. In the retraining list a crew unlike the others "
            "keeps its own rate, by its chance of being unlike, as before a training."
        ),
    ),
    (
        "Prior before a training",
        (
            "the likeliest beta distribution, with a few crews that may be unlike all "
            "others, so that one plainly bad crew is not taken for unlucky; trend and "
            "rate after have Jeffreys' prior."
        ),
    ),
    (
        "Standard mix",
        (
            "indirect standardisation (at the others' rates for the group's own mix). "
            "Direct standardisation needs every group in every cell."
        ),
    ),
    (
        "Wider limits of a chart",
        (
            "Laney's p′ only where the days within the baseline's periods are proven "
            "to vary more than binomial (5 %), and never narrower than the p chart; "
            "always used, it hides real changes as variation."
        ),
    ),
    (
        "Run rules",
        (
            "two: beyond three sigmas, and eight in a row on one side; other books ask "
            "for seven or nine, or add up to eight rules. Each costs false alarms."
        ),
    ),
    (
        "Slow drift",
        (
            "EWMA with weight 0.2 and 2.962 sigmas, one false alarm in 500 periods of "
            "normal data; other books take 0.1 to 0.3 and 2.7 to 3. The steady limits "
            "hold from the first period on, where others start narrower."
        ),
    ),
    (
        "Missing answers",
        (
            "left out of every rate, with the range of truth beside it; nothing is "
            "imputed. The comparison says what they would have to be to turn it."
        ),
    ),
    (
        "Shuffled labels",
        (
            "whole days are dealt out again, 1,000 times, seed 1; anchors dealt one by "
            "one would break the days up and promise too much."
        ),
    ),
)

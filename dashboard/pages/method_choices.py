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
            "groups of 200 judged."
        ),
    ),
    (
        "A crew unlike the others",
        (
            "keeps its own rate in the retraining list, by its chance of being unlike, "
            "as before a training, but only where it is clear of chance (q at most "
            "5 %). Without that a crew with one nonconforming anchor of one would be "
            "taken at its word; shrunk like all others, a crew with 80 % among sixty "
            "at 2 % would be taken half for unlucky."
        ),
    ),
    (
        "How hard a mix is",
        (
            "what the other crews (or sites) would have in the mix, over what they "
            "would have in the mix of all. A crew alone in hard work would "
            "otherwise be its own yardstick, and its faults taken for the work's. A "
            "cell that few others did leans on their overall rate (exponential prior)."
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
        "A baseline without a fault",
        (
            "gives limits all the same: what follows is compared with it by Fisher's "
            "exact test. A chart with sigmas would have limits of 0 and call every "
            "single nonconforming anchor an alarm; other books draw no chart, or add "
            "half an anchor."
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
        "Run length",
        (
            "for the chart's own counts, and then shortened for how roughly the "
            "baseline knows the rate: with 12 periods false alarms come 2.4 times as "
            "often as textbooks' tables say, which take the rate as known. What a p′ "
            "chart's spread is uncertain by is not in it: up to twice as often again."
        ),
    ),
    (
        "Baseline",
        (
            "the first 12 periods, or what somebody recorded with a reason, and then "
            "fixed. A moving average of the last periods, as other charts have it, "
            "follows a slow worsening and hides it."
        ),
    ),
    (
        "Rare events",
        (
            "conforming anchors between two nonconforming ones, with exact geometric "
            "limits and a second rule for gaps that are short, since three sigmas "
            "(Benneyan 2001) leave no lower limit. A gap signals only if it would in "
            "any order within its days."
        ),
    ),
    (
        "One month beside another",
        (
            "tested within like work (Mantel and Haenszel, mid-p), with Newcombe's "
            "interval for the plain difference. Two intervals that overlap, or a "
            "z-test of the plain rates, take a harder mix for a change."
        ),
    ),
    (
        "Reachable rate",
        (
            "what the better quarter of crews is below by the fitted spread of true "
            "rates. The best crew, or 0, would promise what luck alone has reached."
        ),
    ),
    (
        "Effect of a training",
        (
            "against the crew's probable rate before, not its raw one, which falls by "
            "itself; times the untrained crews' trend, not less it (a difference in "
            "differences would take as many points off a good crew as off a bad one)."
        ),
    ),
    (
        "Strict inspectors",
        (
            "crews and inspectors as random effects on the logit scale, at the spreads "
            "of highest Laplace likelihood and taken as known. Fixed effects would "
            "give a crew with few anchors 0 or 100 %."
        ),
    ),
    (
        "Batches worth a look",
        (
            "signs joined by the harmonic mean of their p-values, which Fisher's "
            "product would need to be independent; then a mixture of batches that are "
            "and are not like their peers. A crew's other days count only as far as "
            "they speak for themselves, one crew in 200 being unlike its peers "
            "beforehand (project default). Last digits are held to those of the peers, "
            "not to equal shares nor to Benford's law."
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

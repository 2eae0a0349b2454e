"""What the words of the page Drilling mean: for the page Method."""

DRILLING_DEFINITIONS: tuple[tuple[str, str], ...] = (
    (
        "Drilling times used",
        (
            "those with a depth, more than 0 s, that are one hole's own. Left out: "
            "half or more of a crew's day and setting at 0 s; five or more times "
            "(twenty in whole seconds) of it all alike; faster than 25 mm/s and than "
            "3 times the median of bit and method; rounded to more than half a hole's "
            "usual time. Faster than 25 mm/s alone is asked about: a limit through "
            "the middle of a size would cut off its fast end. A site's times are "
            "rounded where 95 of 100 are multiples of 1 to 60 s, heaped where 20 of "
            "100 (40 in whole seconds) and 3 times as many as by chance are; such a "
            "time is an interval, with Sheppard's correction. All these "
            "numbers are project defaults."
        ),
    ),
    (
        "Model of drilling time",
        (
            "log seconds on log depth, log bit diameter, method, orientation, metres "
            "the bit has drilled, worn bits, log strength, reinforcement, with random "
            "intercepts of sites and of crews within them, by restricted maximum "
            "likelihood (Patterson and Thompson 1971, Biometrika 58:545–554; "
            "Henderson 1975, Biometrics 31:423–447). Fitted on sums of squares and "
            "products of all holes: no sample is drawn. Of all sites, whatever the "
            "filters say."
        ),
    ),
    (
        "Metres of a bit",
        (
            "what was logged with it before the day, and half of the day's, at most "
            "60. The first bit that a crew shows of a diameter may have been used "
            "before: its metres are unknown, unless the bit sheet says that it was "
            "new. Holes logged without a bit are in no sum, so that true metres are a "
            "little more."
        ),
    ),
    (
        "Minutes per good hole",
        (
            "a completed hole's mean time, by smearing (Duan 1983, J. Am. Stat. "
            "Assoc. 78:605–610), and the attempts lost for it: exp(H) − 1 a hole, H "
            "the hazard of abandonment cumulated to the depth (attempts given up ÷ mm "
            "drilled, in steps of 5 mm, times a gamma factor a site), each with the "
            "time of the depth it got to. The depth is the one required and what "
            "crews drill beyond it."
        ),
    ),
    (
        "P50, P80, a new site",
        (
            "from 4000 draws of the model's coefficients, the site (Student's t with "
            "sites − 1 degrees of freedom, as few sites say little of how sites "
            "differ), one crew and the abandonment. Options and lines of a list share "
            "the draws. A list's P80 is of its simulated sum: adding up the lines' "
            "P80 overstates. Each site is foretold by the model of all others, and "
            "the share of its holes within the 80 % interval is shown."
        ),
    ),
    (
        "Outside the data, thin",
        (
            "refused: fewer than 20 timed holes of the size and method within a tenth "
            "of the depth, or fewer than 20 as shallow or as deep. Thin: fewer than "
            "200, or from one or two sites. Project defaults."
        ),
    ),
    (
        "Exposure points",
        (
            "2 a² an hour of trigger time at the tool's vibration a: A(8) = a √(T ÷ 8 "
            "h), 100 points at 2.5 and 400 at 5 m/s² (ISO 5349-1, Directive "
            "2002/44/EC)."
        ),
    ),
    (
        "Beside a measurement",
        (
            "a 19 mm bit, 76 mm deep, aged concrete, 8.3 kg hammer on a robot bench: "
            "7.8 s new, 12.3 s after 57 m (Antonucci, Barr, Martin and Rempel 2017, "
            "J. Occup. Environ. Hyg. 14(8)). It shows whether the order of magnitude "
            "is right, and tests nothing."
        ),
    ),
)

"""Method: how far a record, and an inspector, can be read."""

READING_DEFINITIONS: tuple[tuple[str, str], ...] = (
    (
        "Changed since last month",
        (
            "the last whole month in the dates chosen that had ended everywhere when "
            "the edition was published, beside the calendar month before. The "
            "difference is of plain rates, with Newcombe's interval (1998, Stat. Med. "
            "17:873–890, method 10) on counts divided by what bad days cost; how alike "
            "the anchors of one day are is taken from the year up to the month, within "
            "group and month. Changed: the two-sided mid-p within cells of size, drill "
            "method and orientation, q over all sites (crews) and checks looked at by "
            "Benjamini and Hochberg 1995, at most 5 %. Could see: the rise that would "
            "be called a change 8 times of 10, were it the clearest of all looks."
        ),
    ),
    (
        "The sentence beside a chart",
        (
            "stands there only where the chart reads otherwise than it means: the "
            "worst raw rate is not out of line for its mix; the best raw rate is a "
            "0 % of few judged, or over a tenth of its answers are missing and "
            "could put it above the others; a rate fell while the missing answers "
            "rose by a tenth or more and could undo the fall; completed holes alone "
            "understate what a good hole takes by 5 % or more."
        ),
    ),
    (
        "Records worth a look",
        (
            "what a crew logged at a site on a day (a batch) beside the site's "
            "other crews on the same setting data and a torque gauge of the same "
            "step: torques just inside the band (usual up to the crew's own share "
            "outside it), round figures (usual up to what its own "
            "mean puts there), torques or whole records that repeat the row before, "
            "anchors sooner than their drilling took, all stamped at the end, "
            "too little variation. Counts by the beta-binomial tail, its "
            "spread from all other crews' habits without the tenth that stands out "
            "most; variation by Smyth 2004; combined by the harmonic mean (Wilson "
            "2019); probability by the beta-uniform mixture (Pounds and Morris "
            "2003), in which a crew's other days count as far as they are evidence "
            "by themselves. Listed from 90 %. It cannot tell a preset wrench from a "
            "copied column, nor a far larger habit than the others' from editing "
            "as much; it sees nothing where all crews do alike or only one works. "
            "In simulations, of what was listed where a crew edited 18 % of its "
            "values 1 % was not it, at 5 % a quarter of very few. What is listed "
            "counts in no rate; firmset rates "
            "--doubtful-unknown shows the range of truth if its checks were "
            "unknown."
        ),
    ),
    (
        "Crews and inspectors",
        (
            "firmset inspectors: logit of a rate = group + crew + inspector, crews "
            "and inspectors as random effects (Laplace likelihood; Breslow and "
            "Clayton 1993), counts divided by what bad days cost. A crew's rate is "
            "under the average inspector of its group, those that shared anchors "
            "connect. Between groups nothing separates crews from inspectors: two "
            "re-inspections are named that would. Others take inspectors as fixed, "
            "or only compare within one."
        ),
    ),
)

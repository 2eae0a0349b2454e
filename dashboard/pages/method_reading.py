"""Method: how far a record, and an inspector, can be read."""

READING_DEFINITIONS: tuple[tuple[str, str], ...] = (
    (
        "Records worth a look",
        (
            "what a crew logged at a site on a day (a batch) beside the site's "
            "other crews on the same setting data and a torque gauge of the same "
            "step: torques just inside the band (usual up to the crew's own share "
            "outside it), round figures, torques or whole records that repeat the "
            "row before, anchors sooner than their drilling took, all stamped at "
            "the end, too little variation. Counts by the beta-binomial tail, its "
            "spread from all other crews' habits without the tenth that stands out "
            "most; variation by Smyth 2004; combined by the harmonic mean (Wilson "
            "2019); probability by the beta-uniform mixture (Pounds and Morris "
            "2003), in which a crew's other days count. Listed from 90 %. A "
            "project's choices: others would take Benford's law, the last digit "
            "against equal shares, or Fisher's sum of independent signs. It cannot "
            "tell a preset wrench from a copied column, sees nothing where all "
            "crews do alike or only one works, and may list a crew for an honest "
            "habit. What is listed counts in no rate; firmset rates "
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

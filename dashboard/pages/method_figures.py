"""What each figure of the pages is, as Method says it."""

from dashboard.drilling_method import DRILLING_DEFINITIONS
from dashboard.pages.method_reading import READING_DEFINITIONS
from queries.readers.quiet import QUIET_AFTER

DEFINITIONS: tuple[tuple[str, str], ...] = (
    (
        "Judged",
        (
            "conforming + nonconforming. A check whose value is missing (unrecorded),"
            " cannot be read (unreadable) or does not apply (inapplicable) is not "
            "judged, and never counts as passed. Abandoned attempts are not judged."
        ),
    ),
    (
        "Non-conformance rate",
        (
            "nonconforming ÷ judged, of one check. Where nothing was judged there is "
            "no rate: “nothing to judge”, never 0 %."
        ),
    ),
    (
        "95 % interval",
        (
            "Wilson's score interval for a proportion, without continuity correction "
            "(Wilson 1927, J. Am. Stat. Assoc. 22:209–212; Newcombe 1998, Stat. Med. "
            "17:857–872, method 3). At 0 of N its upper end is what the count is "
            "still compatible with. It takes anchors as independent; they come in bad"
            " days, so the truth is less certain than the interval."
        ),
    ),
    (
        "Range of truth",
        (
            "the rate if every unrecorded or unreadable check were conforming, to the"
            " rate if every one were nonconforming. No assumption about missing "
            "answers can leave it."
        ),
    ),
    (
        "As first logged",
        (
            "the rate if each record had stayed as its first entry, judged by today's "
            "setting data. Every other rate is of the revision in force: who sends a "
            "revision of what failed looks better than who leaves the first figure. "
            "Whether a wrench was calibrated is taken as in force."
        ),
    ),
    (
        "A wrench found out of tolerance",
        (
            "no verdict changes where a later calibration finds a wrench out of "
            "tolerance: it is judged by what held on the day. The torque of what it "
            "set since the calibration before is not known then; Sites, Crews and each "
            "record say so."
        ),
    ),
    (
        "The others",
        (
            "all other sites (or crews) together under the same filters, without the "
            "one compared. A filter on sites chooses which sites are shown, not which "
            "they are compared with, and so for crews. Of crews it also leaves only "
            "what they did at these sites, and so for sites and crews."
        ),
    ),
    (
        "Expected, times expected",
        (
            "nonconforming if the others' rates held in each cell of size, drill "
            "method and orientation (indirect standardisation); observed ÷ expected "
            "with exact Poisson limits (Garwood 1936, Biometrika 28:437–442), widened "
            "for bad days. Cells that nobody else has are left out, and counted. Who "
            "logs no method or no orientation at all, or whose others log none, is "
            "compared without that, and said to be; never without what both log."
        ),
    ),
    (
        "q and flag",
        (
            "two-sided mid-p within those cells (Mantel and Haenszel 1959), exact "
            "where days within groups vary as chance explains, else with the variance "
            "that the likeness of one day's anchors gives, estimated within groups; q "
            "by Benjamini and Hochberg 1995. Flagged: worse than the others, q at most "
            "5 %."
        ),
    ),
    (
        "What stands out",
        (
            "every site and check flagged so; those with the most nonconforming beyond "
            "the expected first. Where no check is chosen, Sites shows the headline "
            "check that comes first."
        ),
    ),
    (
        "Gone quiet",
        (
            f"a site without an anchor in the {QUIET_AFTER.days} days (project "
            "default) before the newest anchor of any site."
        ),
    ),
    (
        "Mix and doing",
        (
            "the difference of the plain rates, split so that both parts add up "
            "exactly and no order matters (Kitagawa 1955, J. Am. Stat. Assoc. "
            "50:1168–1194). Cells that only one side has count as mix."
        ),
    ),
    (
        "Probable rate, place",
        (
            "expected true rate at the average mix given all groups (beta-binomial, "
            "its spread integrated over: Gelman et al., Bayesian Data Analysis, "
            "section 5.3), and the 95 % interval of its place among them, 1 the "
            "highest. Places that overlap are ties."
        ),
    ),
    (
        "Could see",
        (
            "the true rate that would be flagged 8 times of 10 (normal sample-size "
            "formula for two proportions). No flag is not clearance."
        ),
    ),
    (
        "Retraining list",
        (
            "(probable rate of the last 26 weeks − the rate that the "
            "better quarter of crews is below, both for the crew's own mix of work) × "
            "the checks due in the next 8 weeks: "
            "of the planned holes where they are given, else as many as in the last 8. "
            "26 and 8 weeks are project defaults."
        ),
    ),
    (
        "Planned holes without an anchor logged",
        (
            "holes of the plans that end by the last day that the site's log reaches, "
            "less the anchors logged of the same setting data on the planned days, or "
            "within 28 days after where no other plan covers them (project default). "
            "What one setting data has beyond its plan makes up for no other. Such "
            "holes are in no rate."
        ),
    ),
    (
        "Whether training helped",
        (
            "found after, beside the probable rate before (empirical Bayes) times the "
            "trend of the crews not registered for the same training meanwhile; 95 % "
            "interval by simulation, the smallest fall that could have been seen, and "
            "every such crew as a placebo. firmset training --placebo says how often "
            "an effect is claimed on days on which nobody was taught."
        ),
    ),
    *READING_DEFINITIONS,
    (
        "ISO week",
        (
            "Monday to Sunday of the site's own calendar (ISO 8601). Weeks without "
            "work stay on the axis, without a mark."
        ),
    ),
    (
        "Limits of a week",
        (
            "three sigmas about the rate of the baseline, the first 12 weeks with "
            "anything judged, for each week's own judged (p chart, ISO 7870-2); wider "
            "where the days within weeks vary more than binomial (p′ chart, Laney 2002)"
            "; where fewer than one nonconforming anchor a week is expected, the exact "
            "binomial limit, beside the gaps between nonconforming anchors (g chart, "
            "Benneyan 2001); beside a baseline without any nonconforming anchor, "
            "Fisher's exact test of a week, and of eight together. Eight weeks in a "
            "row on one side, and slow drift (EWMA), stand out too. firmset trend "
            "prints the method chosen and the run length until a false alarm. No "
            "signal is not clearance."
        ),
    ),
    (
        "Holes lost",
        (
            "the share of holes abandoned on the way down to a depth, among the "
            "attempts that got so deep: product-limit estimate over steps of 10 mm "
            "(Kaplan and Meier 1958, J. Am. Stat. Assoc. 53:457–481)."
        ),
    ),
    (
        "Time per good hole",
        (
            "all timed seconds, abandoned attempts included, ÷ timed holes that were "
            "kept. Attempts without a time are counted as untimed. P10, P50, P80, "
            "P90: quantiles of single attempts, interpolated."
        ),
    ),
    *DRILLING_DEFINITIONS,
    (
        "Any check",
        (
            "anchors, not verdicts: an anchor with several faults counts once. Judged "
            "is an anchor with one check or more judged; nonconforming in one or more. "
            "Its range of truth takes every anchor with a missing answer as open."
        ),
    ),
    (
        "At the limit",
        (
            "is conforming. A margin is rounded to a millionth of its unit before it "
            "is compared, so that 1.2 in and 30.48 mm fall on the same side. Edge and "
            "spacing have no minus tolerance."
        ),
    ),
    (
        "Guard band",
        (
            "off, unless switched on with firmset judge --torque-guard. It moves both "
            "ends of every torque band inward by a fraction of the setting torque, so "
            "that a torque conforms even if the tool errs by so much."
        ),
    ),
    (
        "Indicative cone ratio",
        (
            "(embedment ÷ required embedment)^1.5, at most 1, times 0.7 + 0.3 × "
            "nearest edge ÷ (1.5 × required embedment), at most 1 (EN 1992-4 7.2.1.4, "
            "ACI 318-19 17.6.2, from memory). A part that is not known counts as "
            "whole. It orders follow-up; it is no capacity and accepts nothing."
        ),
    ),
    (
        "Re-check torque",
        (
            "a torque found later, as a share of the torque at setting, with its age. "
            "Preload relaxes, so no band judges it."
        ),
    ),
)

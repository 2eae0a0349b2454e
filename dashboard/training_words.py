"""What can be said of a training: pure."""

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from dashboard import words
from queries.readers.next_trainings import NextTrainings
from queries.readers.placebo import PlaceboResult
from queries.readers.training import Trained, TrainingResult
from queries.statistics.staggering import LONGEST_WAIT_WEEKS

# Registered later than this, somebody may have had the figures in sight.
LATE = timedelta(days=14)
# From such a change of how hard a crew's work is on, it is said.
MIX_DIFFERS = 0.05


def training_words(found: Trained) -> list[str]:
    """Return the sentences of one training."""
    effect = found.effect
    interval = (
        f"{words.points(effect.difference)} points (95{words.SPACE}% interval "
        f"{words.points(effect.low)} to {words.points(effect.high)})"
    )
    is_capped = effect.probable_before * effect.trend > effect.expected + 1e-9
    capped = ", which cannot be more than all" if is_capped else ""
    expected = (
        f"Without training {words.percent(effect.expected)} would be expected: "
        f"{words.percent(effect.probable_before)} before, once luck is taken out"
        f"{_of_work(found)}, times {words.fixed(effect.trend, 2)} for the trend of the "
        f"crews not trained{capped}. Found were "
        f"{words.percent(effect.observed)}: {interval}."
    )
    said = [
        counted_words(found),
        expected,
        verdict_words(found),
        _placebo(found),
        _caveats(found),
    ]
    return [line for line in said if line]


def counted_words(found: Trained) -> str:
    """Return the counts before and after one training."""
    return (
        f"Crew {found.crew_code}, {words.title(found.check_name).lower()}, trained on "
        f"{words.day(found.on)}: "
        f"{words.share(found.before_nonconforming, found.before_judged)} nonconforming "
        f"from {words.day(found.from_on)} on, "
        f"{words.share(found.after_nonconforming, found.after_judged)} from the day to "
        f"{words.day(found.to_on)}."
    )


def _of_work(found: Trained) -> str:
    """Say of which work the rate before is, where that makes a difference."""
    if abs(found.harder - 1) < MIX_DIFFERS:
        return ""
    return (
        " and for the work done after, which is "
        f"{words.fixed(found.harder, 2)} times as hard by the other crews' rates"
    )


def _caveats(found: Trained) -> str:
    """Say what of the register bears on this effect."""
    said = []
    if found.left_out:
        crews = words.and_list(list(found.left_out))
        said.append(
            f"Not compared with {crews}: trained on the same within these weeks."
        )
    if found.also_on:
        days = words.and_list([words.day(day) for day in found.also_on])
        said.append(
            f"The crew was trained on it on {days} too: the two cannot be told apart."
        )
    at = found.registered_at
    if at is not None and at.date() - found.on > LATE:
        said.append(
            f"It was registered on {words.day(at)}, {(at.date() - found.on).days} days "
            "later, perhaps with the figures in sight."
        )
    return " ".join(said)


def register_words(results: Sequence[TrainingResult]) -> list[str]:
    """Return what a reader must know of the list of trainings, a line each."""
    if not results:
        nothing = (
            "No training on a check is registered in this selection. A sheet of "
            "trainings registers them."
        )
        return [nothing]
    found = [result.found for result in results if result.found]
    if not found:
        number = words.plural(len(results), "registered training")
        return [f"{number}; nothing of this selection can be set beside it, see why."]
    clear = sum(trained.fell for trained in found)
    said = (
        f"{words.plural(len(results), 'registered training')}: after "
        f"{words.count(clear)} the rate fell by more than chance explains. Were all "
        f"without effect, {words.expected(0.025 * len(found))} would seem so."
    )
    return [said]


def placebo_words(found: PlaceboResult) -> list[str]:
    """Return the sentences of a placebo test."""
    test = found.test
    if not test.tried:
        return [f"{words.title(found.check_name)}: no crew can be tried."]
    days = words.plural(len(found.on), "day")
    title = words.title(found.check_name)
    tried = (
        f"{title}: {words.plural(test.tried, 'placebo')}, every "
        f"crew without a training at {days} from {words.day(found.on[0])} to "
        f"{words.day(found.on[-1])}, "
        f"{found.weeks} weeks before and after."
    )
    claimed = (
        f"An effect was claimed of {test.fell + test.rose} ({test.fell} fell, "
        f"{test.rose} rose): {words.percent(test.share)} (95{words.SPACE}% interval "
        f"{words.interval(test.low, test.high)}), where 5{words.SPACE}% are promised."
    )
    worst = (
        "Of the crews with the highest rate before each day, the ones somebody would "
        f"have chosen, it was claimed of {test.worst_claimed} of {test.worst_tried}."
    )
    caution = (
        "A crew that changed for another reason counts as a false claim here, so that "
        "a share above the promise may be real changes."
    )
    return [tried, claimed, worst, caution]


def next_words(found: NextTrainings) -> list[str]:
    """Return the plan of the next trainings, a line each."""
    rows = found.plan.to_dicts()
    if not rows:
        return ["No crew has anything to gain that could be told from chance."]
    lines = [_planned(row) for row in rows]
    if found.weeks_between is None:
        return [*lines, "One crew needs no second wave."]
    waits = (
        f"The second wave waits {found.weeks_between} weeks. Meanwhile it is compared "
        "with the first, as are all crews not on the list; by then a fall half way to "
        "the better quarter of crews is seen, where it can be seen at all."
    )
    dealt = (
        "The waves are dealt by what could be spared, so that they are alike. Register "
        "each training on its day. Where waiting is a danger, do not wait."
    )
    return [*lines, waits, dealt]


def _planned(row: dict[str, Any]) -> str:
    seen = (
        f"would be seen after {words.plural(row['weeks_to_see'], 'week')}"
        if row["weeks_to_see"]
        else f"could not be seen within {LONGEST_WAIT_WEEKS} weeks"
    )
    return (
        f"Wave {row['wave']}, from {words.day(row['from_on'])}: crew {row['crew']}, "
        f"{words.title(row['check']).lower()}, probably "
        f"{words.percent(row['eb_rate'])}; a fall to {words.percent(row['hoped_rate'])}"
        f" {seen}."
    )


def verdict_words(found: Trained) -> str:
    """Return what can be told from chance, and what could have been."""
    effect = found.effect
    if found.fell:
        return "The rate fell by more than chance explains."
    if effect.high < 0:
        before, after = (
            words.share(missing, judged + missing)
            for missing, judged in (
                (found.before_missing, found.before_judged),
                (found.after_missing, found.after_judged),
            )
        )
        return (
            "What was recorded fell by more than chance explains, but "
            f"{after} answers are missing from the day on, {before} before it: were "
            "those beyond nonconforming, the rate would be "
            f"{words.percent(found.worst_after)}, no clear fall."
        )
    if effect.low > 0:
        return "The rate rose by more than chance explains."
    could = (
        f"a fall by {words.fixed(100 * effect.detectable_fall, 1)} points would have "
        "been seen 8 "
        "times of 10"
        if effect.detectable_fall is not None
        else "with so few checks not even a fall to nothing would have been seen"
    )
    return f"No effect can be told from chance, which is not proof of none: {could}."


def _placebo(found: Trained) -> str:
    effect = found.effect
    if effect.placebo_share is None:
        return "No other crew can serve as a placebo."
    # A difference of nothing leaves a residue of either sign.
    falls = round(effect.difference, 9) < 0
    fallen = round(effect.placebo_share * effect.placebos)
    did = "fell as far or further" if falls else "did as well or better"
    return (
        f"Of {words.plural(effect.placebos, 'crew')} without this training {fallen} "
        f"{did} against their own expectation."
    )

"""What can be said of a training: pure."""

from dashboard import words
from queries.readers.training import Trained


def training_words(found: Trained) -> list[str]:
    """Return the sentences of one training."""
    effect = found.effect
    title = words.title(found.check_name).lower()
    interval = (
        f"{_points(effect.difference)} points (95{words.SPACE}% interval "
        f"{_points(effect.low)} to {_points(effect.high)})"
    )
    counted = (
        f"Crew {found.crew_code}, {title}, trained on {found.on}: "
        f"{words.share(found.before_nonconforming, found.before_judged)} nonconforming "
        f"from {found.from_on} on, "
        f"{words.share(found.after_nonconforming, found.after_judged)} from the day to "
        f"{found.to_on}."
    )
    expected = (
        f"Without training {words.percent(effect.expected)} would be expected: "
        f"{words.percent(effect.probable_before)} before, once luck is taken out, "
        f"times {effect.trend:.2f} for the trend of the crews not trained. Found were "
        f"{words.percent(effect.observed)}: {interval}."
    )
    return [counted, expected, _verdict(found), _placebo(found)]


def _points(fraction: float) -> str:
    sign = "\N{MINUS SIGN}" if fraction < 0 else "+"
    return f"{sign}{100 * abs(fraction):.1f}"


def _verdict(found: Trained) -> str:
    effect = found.effect
    if effect.high < 0:
        return "The rate fell by more than chance explains."
    if effect.low > 0:
        return "The rate rose by more than chance explains."
    could = (
        f"a fall by {100 * effect.detectable_fall:.1f} points would have been seen 8 "
        "times of 10"
        if effect.detectable_fall is not None
        else "with so few checks not even a fall to nothing would have been seen"
    )
    return f"No effect can be told from chance, which is not proof of none: {could}."


def _placebo(found: Trained) -> str:
    effect = found.effect
    if effect.placebo_share is None:
        return "No other crew can serve as a placebo."
    fallen = round(effect.placebo_share * effect.placebos)
    return (
        f"Of {words.plural(effect.placebos, 'crew')} without this training {fallen} "
        "fell as far or further against their own expectation."
    )

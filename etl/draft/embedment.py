"""Is an embedment the effective one, or down to the bolt's tip, the nominal one?

A plain "Embedment" of a log in inches is nominal as a rule (common practice, no
source). Taken for effective, each would seem as much deeper as the tip is away.
"""

from dataclasses import replace
from statistics import median

from etl.draft.looks import Looks
from etl.draft.numbers import header_readings, measured
from etl.draft.placed import Placed
from etl.draft.said import Said
from etl.draft.specified import FEWEST
from etl.units import FACTORS

# What says that it is the effective one, as in "h ef", in the languages of words.toml.
# Common practice, no source.
_EFFECTIVE = frozenset(
    [
        *("hef", "ef", "effective", "effectif", "effektive", "effektiv", "efectiva"),
        *("efectivo", "efetiva", "effettiva", "effectieve", "efektywna", "efektivni"),
    ]
)
_REASON = (
    "effective or nominal? its values lie at the nominal embedment of their setting "
    "codes, which has no column here; leave it out unless it is the effective one"
)


def unless_nominal(one: Placed, codes: Looks | None) -> Placed:
    """Ask of an embedment that lies at what setting `codes` have as the nominal one."""
    is_said = not _EFFECTIVE.isdisjoint(header_readings(one.header)[0].words)
    if one.column.name != "embedment_mm" or codes is None or is_said:
        return one
    ratios = _ratios(one, codes)
    if len(ratios) < FEWEST:
        return one
    of_effective, of_nominal = map(median, zip(*ratios, strict=True))
    if abs(of_effective - 1) <= abs(of_nominal - 1):
        return one
    return replace(one, said=Said(one.said.value, "guess", _REASON))


def _ratios(one: Placed, codes: Looks) -> list[tuple[float, float]]:
    """Return each figure over the effective and the nominal embedment of its row."""
    found = []
    for cell, word in zip(one.looks.cells, codes.cells, strict=True):
        value, its = measured(cell, one.looks.decimal), codes.held.embedments_mm(word)
        unit = value.unit or one.said.value if value else None
        if value and its and unit in FACTORS:
            figure_mm = value.number * FACTORS[unit][1]
            found.append((figure_mm / its[0], figure_mm / its[1]))
    return found

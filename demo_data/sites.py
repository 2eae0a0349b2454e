"""The invented sites of the generated logs, their crews and their inspectors.

Names are words for places that do not exist; crews and inspectors are codes, never
people.
"""

from dataclasses import dataclass
from datetime import date

FIRST_ON = date(2025, 5, 1)
LAST_ON = date(2026, 10, 30)

# Nobody works between the years; weeks without installations are part of the data.
CLOSED_FROM = date(2025, 12, 22)
CLOSED_TO = date(2026, 1, 2)

COMMON_SIZES = {"M6": 5, "M8": 14, "M10": 24, "M12": 32, "M16": 17, "M20": 6, "M24": 2}
HEAVY_SIZES = {"M6": 1, "M8": 4, "M10": 10, "M12": 20, "M16": 30, "M20": 23, "M24": 12}
INCH_SIZES = {"3/8": 40, "1/2": 40, "5/8": 20}


@dataclass(frozen=True)
class Site:
    """A site and how it works and logs.

    `volume` is its share of all installations, relative to the other sites.
    `size_weights` is its mix of anchor sizes. `missing_frac` is the share of entries
    left blank. `length_logged` says whether it writes the anchor's length or only the
    mark on the bolt's end; `cleaning_logged` "counts", "yes_no" or "nothing";
    `times_handling` whether it times cleaning and setting.
    Steps are the graduations it reads: of a depth gauge, a tape and a wrench.
    """

    code: str
    name: str
    time_zone: str
    crew_codes: tuple[str, ...]
    inspector_codes: tuple[str, ...]
    volume: float = 1.0
    size_weights: tuple[tuple[str, float], ...] = tuple(COMMON_SIZES.items())
    stainless_share: float = 0.3
    deep_share: float = 0.3
    hollow_bit_share: float = 0.25
    missing_frac: float = 0.03
    length_logged: str = "mm"
    logs_embedment: bool = False
    cleaning_logged: str = "counts"
    splits_date_and_time: bool = False
    first_on: date = FIRST_ON
    last_on: date = LAST_ON
    idle: tuple[date, date] | None = None
    depth_step_mm: float = 1.0
    tape_step_mm: float = 5.0
    torque_step_nm: float | None = None
    times_handling: bool = False


def _crews(first: int) -> tuple[str, ...]:
    return tuple(f"C{number:02d}" for number in range(first, first + 5))


HEAVY = tuple(HEAVY_SIZES.items())

SITES: tuple[Site, ...] = (
    Site("ALDER", "Alder Row depot", "Europe/Lisbon", _crews(1), ("I01", "I02")),
    Site(
        "BRINE",
        "Brine Lane cold store",
        "Europe/London",
        _crews(6),
        ("I02", "I03"),
        volume=0.8,
        hollow_bit_share=0.1,
        missing_frac=0.05,
        idle=(date(2026, 2, 2), date(2026, 2, 27)),
    ),
    Site(
        "CINDER",
        "Cinder Bank workshops",
        "Europe/Dublin",
        _crews(11),
        ("I03", "I04"),
        volume=1.2,
        missing_frac=0.02,
        times_handling=True,
    ),
    Site(
        "DRUMLIN",
        "Drumlin Park halls",
        "Europe/Berlin",
        _crews(16),
        ("I01", "I04"),
        missing_frac=0.01,
        stainless_share=0.5,
    ),
    Site(
        "EMBER",
        "Ember Yard foundry",
        "Europe/Warsaw",
        _crews(21),
        ("I04", "I05"),
        volume=0.9,
        missing_frac=0.04,
        splits_date_and_time=True,
    ),
    # Two inspectors of its own, who see the same crews' work with different eyes.
    Site(
        "FALLOW",
        "Fallow Field stores",
        "Europe/Madrid",
        _crews(26),
        ("I07", "I08"),
        volume=1.2,
        missing_frac=0.02,
    ),
    Site(
        "GANTRY",
        "Gantry Court loading dock",
        "Europe/Paris",
        _crews(31),
        ("I05", "I06"),
        missing_frac=0.03,
        cleaning_logged="yes_no",
        times_handling=True,
    ),
    Site(
        "HOLLOW",
        "Hollow Hill pump house",
        "Europe/Rome",
        _crews(36),
        ("I01", "I06"),
        volume=0.9,
        missing_frac=0.06,
    ),
    Site(
        "INLET",
        "Inlet Quay crane shed",
        "Europe/Oslo",
        _crews(41),
        ("I02", "I05"),
        size_weights=HEAVY,
        missing_frac=0.02,
    ),
    # Reads the mark on the bolt's end, and measures the embedment.
    Site(
        "JUNIPER",
        "Juniper Street car park",
        "Europe/Vienna",
        _crews(46),
        ("I03", "I06"),
        missing_frac=0.03,
        length_logged="mark",
        logs_embedment=True,
        splits_date_and_time=True,
    ),
    Site(
        "KESTREL",
        "Kestrel Works line 4",
        "Europe/Helsinki",
        _crews(51),
        ("I01", "I05"),
        volume=0.9,
        hollow_bit_share=0.5,
        missing_frac=0.04,
        last_on=date(2026, 8, 28),
    ),
    # A morning here is still the day before in UTC. Cleaning is not on its form.
    Site(
        "LOWLAND",
        "Lowland Basin lock house",
        "Pacific/Auckland",
        _crews(56),
        ("I02", "I06"),
        volume=0.7,
        missing_frac=0.08,
        cleaning_logged="nothing",
        first_on=date(2025, 9, 1),
    ),
)

"""What is planted: the one list that the generator obeys and the truth table shows.

No two planted facts touch the same check of the same crew, except that the two
inspectors of FALLOW colour all checks of that site, where nothing else is planted.
"""

from dataclasses import dataclass
from datetime import date, timedelta

from demo_data.sites import FIRST_ON, LAST_ON


@dataclass(frozen=True)
class Planted:
    """One planted fact; a column left None means "all of them".

    `value` is in `unit`. `direction` is the side of the limit on which values fall.
    """

    kind: str
    words: str
    value: float | None = None
    unit: str | None = None
    site_code: str | None = None
    crew_code: str | None = None
    inspector_code: str | None = None
    anchor_size: str | None = None
    check_name: str | None = None
    column_name: str | None = None
    direction: str | None = None
    from_on: date = FIRST_ON
    to_on: date = LAST_ON


RATE = "probability of nonconforming"

UNDER_TORQUE_FROM = date(2026, 3, 2)  # a Monday
EDGE_STEP_FROM = date(2026, 4, 13)  # a Monday
RETRAINED_ON = date(2026, 1, 19)
NOT_HELPED_ON = date(2026, 2, 16)
# Every wrench is calibrated so many days before the first, which holds for 12 months,
# and again before a year has passed.
CALIBRATED_ON = FIRST_ON - timedelta(days=20)
CALIBRATED_EVERY = timedelta(days=350)
EXPIRED_WRENCH = "WC532"
EXPIRED_FROM = CALIBRATED_ON.replace(year=CALIBRATED_ON.year + 1) + timedelta(days=1)
SMALL_WRENCH = "WC431"
SMALL_WRENCH_NM = 100.0
FOUND_OUT_WRENCH = "WC062"
FOUND_OUT_ON = CALIBRATED_ON + CALIBRATED_EVERY
# Plans of holes are kept from here on: four of six weeks each.
PLANNED_FROM = LAST_ON - timedelta(weeks=24) + timedelta(days=1)
_DAY = timedelta(days=1)

STORIES: tuple[Planted, ...] = (
    Planted(
        "under_torque",
        "From this week on the crew sets M12 with too little torque.",
        value=0.35,
        unit=RATE,
        site_code="ALDER",
        crew_code="C03",
        anchor_size="M12",
        check_name="setting_torque",
        direction="under",
        from_on=UNDER_TORQUE_FROM,
    ),
    Planted(
        "skips_cleaning",
        "All crews of the site skip cleaning holes that need it.",
        value=0.30,
        unit=RATE,
        site_code="BRINE",
        check_name="hole_cleaning",
        direction="too little",
    ),
    Planted(
        "bit_wear_depth",
        "The crew never changes its bits: holes get shallower, along a straight "
        "line from the background on the first day to this value on the last.",
        value=0.20,
        unit="probability of nonconforming on the last day",
        site_code="CINDER",
        crew_code="C12",
        check_name="hole_depth",
        direction="shallow",
    ),
    Planted(
        "bit_wear_time",
        "The same worn bits: drilling takes longer, along a straight line from "
        "nothing on the first day to this part more on the last.",
        value=0.60,
        unit="fraction of drilling time added on the last day",
        site_code="CINDER",
        crew_code="C12",
        column_name="drill_s",
    ),
    Planted(
        "training_worked",
        "Before its retraining the crew overtightens.",
        value=0.18,
        unit=RATE,
        site_code="DRUMLIN",
        crew_code="C17",
        check_name="setting_torque",
        direction="over",
        to_on=RETRAINED_ON - _DAY,
    ),
    Planted(
        "training_worked",
        "From the day of its retraining on the crew overtightens seldom.",
        value=0.02,
        unit=RATE,
        site_code="DRUMLIN",
        crew_code="C17",
        check_name="setting_torque",
        direction="over",
        from_on=RETRAINED_ON,
    ),
    Planted(
        "training_failed",
        "Before its retraining the crew sets anchors too close to edges.",
        value=0.14,
        unit=RATE,
        site_code="EMBER",
        crew_code="C24",
        check_name="edge_distance",
        direction="close",
        to_on=NOT_HELPED_ON - _DAY,
    ),
    Planted(
        "training_failed",
        "After its retraining the crew does so as often as before.",
        value=0.14,
        unit=RATE,
        site_code="EMBER",
        crew_code="C24",
        check_name="edge_distance",
        direction="close",
        from_on=NOT_HELPED_ON,
    ),
    Planted(
        "strict_inspector",
        "Writes down this share of what is nonconforming; the crews are alike.",
        value=0.95,
        unit="share of nonconforming values logged as they are",
        site_code="FALLOW",
        inspector_code="I07",
    ),
    Planted(
        "lax_inspector",
        "Writes down this share of what is nonconforming; the rest reads just inside "
        "the limit. The crews are alike.",
        value=0.50,
        unit="share of nonconforming values logged as they are",
        site_code="FALLOW",
        inspector_code="I08",
    ),
    Planted(
        "copied_down",
        "The first torque of the day is copied down to every anchor of the same "
        "setting data: no variation within a day, and never nonconforming.",
        value=0.0,
        unit=RATE,
        site_code="GANTRY",
        crew_code="C33",
        check_name="setting_torque",
        column_name="setting_torque_nm",
    ),
    Planted(
        "packing_not_counted",
        "The crew sets the bolt as if there were no packing: wherever there is, the "
        "embedment is short by exactly the packing.",
        value=1.0,
        unit="probability of nonconforming where packing is more than 0",
        site_code="HOLLOW",
        crew_code="C38",
        check_name="embedment",
        column_name="packing_mm",
        direction="shallow",
    ),
    Planted(
        "harder_size_mix",
        "Share of sizes from M16 up, far above the other sites' 0.25: its overall "
        "rates of hole depth and torque are higher, though in no size it is worse.",
        value=0.65,
        unit="share of installations",
        site_code="INLET",
    ),
    Planted(
        "unit_mix_up",
        "Some torques were read in lbf·ft and written down as Nm.",
        value=0.05,
        unit="share of torques",
        site_code="JUNIPER",
        crew_code="C47",
        check_name="setting_torque",
        column_name="setting_torque_nm",
        direction="under",
    ),
    Planted(
        "site_step",
        "From this week on the site sets anchors too close to edges more often.",
        value=0.09,
        unit=RATE,
        site_code="KESTREL",
        check_name="edge_distance",
        direction="close",
        from_on=EDGE_STEP_FROM,
    ),
    Planted(
        "never_recorded",
        "Cleaning is not on the site's form: nothing to judge, which is not 0 %.",
        value=1.0,
        unit="share unrecorded",
        site_code="LOWLAND",
        check_name="hole_cleaning",
    ),
    Planted(
        "holes_not_logged",
        "Of the planned holes so many are set and never written down.",
        value=0.15,
        unit="share of planned holes",
        site_code="HOLLOW",
        from_on=PLANNED_FROM,
    ),
    Planted(
        "other_type",
        "The crew sets another anchor type than specified.",
        value=0.06,
        unit=RATE,
        site_code="CINDER",
        crew_code="C14",
        check_name="anchor_type",
        column_name="anchor_type_code",
        direction="other type",
    ),
    Planted(
        "oversize_bit",
        "The crew drills with bits too large, wherever they were measured.",
        value=0.12,
        unit=RATE,
        site_code="DRUMLIN",
        crew_code="C19",
        check_name="drill_bit",
        column_name="bit_diameter_mm",
        direction="oversize",
    ),
    Planted(
        "thin_member",
        "The crew anchors in members thinner than allowed.",
        value=0.05,
        unit=RATE,
        site_code="GANTRY",
        crew_code="C34",
        check_name="member_thickness",
        column_name="member_thickness_mm",
        direction="thin",
    ),
    Planted(
        "weak_concrete",
        "The crew anchors in concrete weaker than allowed.",
        value=0.04,
        unit=RATE,
        site_code="BRINE",
        crew_code="C08",
        check_name="base_material",
        column_name="concrete_mpa",
        direction="weak",
    ),
    Planted(
        "close_neighbours",
        "The crew sets anchors too close to each other, where no edge is near.",
        value=0.10,
        unit=RATE,
        site_code="EMBER",
        crew_code="C22",
        check_name="spacing",
        column_name="spacing_mm",
        direction="close",
    ),
    Planted(
        "tilted",
        "The crew drills off the perpendicular, wherever it was measured.",
        value=0.15,
        unit=RATE,
        site_code="HOLLOW",
        crew_code="C40",
        check_name="tilt",
        column_name="tilt_deg",
        direction="tilted",
    ),
    # The wrench sheets speak of these three (masters.py); nothing in the log does.
    Planted(
        "wrench_expired",
        f"Wrench {EXPIRED_WRENCH} is not calibrated again when its year is over.",
        value=1.0,
        unit="probability of nonconforming with this wrench",
        site_code="KESTREL",
        crew_code="C53",
        check_name="torque_tool",
        column_name="wrench_code",
        direction="expired",
        from_on=EXPIRED_FROM,
    ),
    Planted(
        "wrench_out_of_range",
        f"Wrench {SMALL_WRENCH} reaches up to {SMALL_WRENCH_NM:g} Nm only, and is "
        "used for larger torques too.",
        value=1.0,
        unit="probability of nonconforming with this wrench above its range",
        site_code="INLET",
        crew_code="C43",
        check_name="torque_tool",
        column_name="wrench_code",
        direction="out of range",
    ),
    Planted(
        "wrench_found_out",
        f"Wrench {FOUND_OUT_WRENCH} is found out of tolerance when it is calibrated "
        "again: what torque it set until then is not known.",
        site_code="BRINE",
        crew_code="C06",
        column_name="wrench_code",
        to_on=FOUND_OUT_ON - timedelta(days=1),
    ),
)

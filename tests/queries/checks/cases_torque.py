"""Setting torque, and the anchor's type."""

from tests.queries.checks.case import Case

# 55 Nm, no band published: 49.5 to 60.5 Nm (project default, common practice).
SETTING_TORQUE_CASES = [
    Case("setting_torque", {"setting_torque_nm": "49.5"}, "conforming", 0),
    Case(
        "setting_torque", {"setting_torque_nm": "49.4"}, "nonconforming", -0.1, "under"
    ),
    Case("setting_torque", {"setting_torque_nm": "60.5"}, "conforming", 0),
    Case(
        "setting_torque", {"setting_torque_nm": "60.6"}, "nonconforming", -0.1, "over"
    ),
    Case(
        "setting_torque",
        {"setting_torque_nm": "59"},
        "nonconforming",
        -1,
        "over",
        {"torque_low_nm": "52", "torque_high_nm": "58"},
    ),
    Case("setting_torque", {"setting_torque_nm": "49.6"}, "conforming", 0.1),
    Case("setting_torque", {"setting_torque_nm": "60.4"}, "conforming", 0.1),
    # Preload relaxes: a torque found later says nothing of the setting.
    Case(
        "setting_torque",
        {"setting_torque_nm": "", "recheck_torque_nm": "25"},
        "unrecorded",
    ),
    Case("setting_torque", {"setting_torque_nm": "tight"}, "unreadable"),
]


ANCHOR_TYPE_CASES = [
    Case("anchor_type", {"anchor_type_code": "TYPE-A"}, "conforming"),
    Case("anchor_type", {"anchor_type_code": "type-a"}, "conforming"),
    Case(
        "anchor_type",
        {"anchor_type_code": "TYPE-B"},
        "nonconforming",
        None,
        "other type",
    ),
    Case("anchor_type", {"anchor_type_code": ""}, "unrecorded"),
    Case(
        "anchor_type",
        {"anchor_type_code": "TYPE-B", "outcome": "abandoned"},
        "inapplicable",
    ),
]

"""Setting data: refused whole with every fault, and verdicts follow a change."""

from pathlib import Path

import pytest

from queries.readers.rates import read_rates
from queries.selection import Selection
from tests.builders import NOW, build_store, load, write_setting_data


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ({"embedment_mm": "-1"}, "row 2: embedment_mm = '-1': expected a number"),
        ({"embedment_mm": ""}, "row 2: embedment_mm = '': expected a number"),
        ({"embedment_mm": "nan"}, "row 2: embedment_mm = 'nan'"),
        ({"embedment_mm": "80"}, "embedment_mm = 80 exceeds nominal_embedment_mm = 79"),
        ({"hole_depth_mm": "78"}, "nominal_embedment_mm = 79 exceeds hole_depth_mm"),
        ({"torque_low_nm": "56"}, "torque_low_nm = 56 exceeds setting_torque_nm = 55"),
        ({"torque_high_nm": "54"}, "setting_torque_nm = 55 exceeds torque_high_nm"),
        ({"at_edge_mm": ""}, "at_spacing_mm and at_edge_mm go together"),
        ({"anchor_size": "large"}, "anchor_size = 'large': expected a size"),
        ({"brushes_required": "two"}, "brushes_required = 'two': expected a whole"),
        ({"edge_spacing_interpolates": "maybe"}, "'maybe': expected true or false"),
        ({"surplus": "1"}, "unknown columns: surplus"),
    ],
)
def test_a_fault_refuses_the_sheet(
    tmp_path: Path, row: dict[str, object], fault: str
) -> None:
    store = build_store(tmp_path / "held")
    result = load(store, write_setting_data(tmp_path, [row]))
    assert not result.receipts
    [failure] = result.failures
    assert fault in failure


def test_all_faults_are_listed_at_once(tmp_path: Path) -> None:
    store = build_store(tmp_path / "held")
    sheet = write_setting_data(
        tmp_path, [{"embedment_mm": "0"}, {"torque_low_nm": "x"}]
    )
    [failure] = load(store, sheet).failures
    for fault in ("row 2: embedment_mm", "row 3: torque_low_nm", "stands in row 2"):
        assert fault in failure


def test_a_change_judges_the_installations_again(tmp_path: Path) -> None:
    # A hole of 92 mm conforms to 90 mm and not to 95 mm.
    store = build_store(
        tmp_path,
        [{}, {"setting_code": "OTHER"}],
        settings=[
            {},
            {"setting_code": "OTHER"},
        ],
    )
    changed = write_setting_data(
        tmp_path, [{"hole_depth_mm": 95}, {"setting_code": "OTHER"}]
    )
    [receipt] = load(store, changed, now=NOW).receipts
    assert (receipt.loaded, receipt.revised, receipt.duplicate) == (0, 1, 1)
    assert receipt.remarks == ["1 installations judged again"]
    with store.reader() as con:
        rates = read_rates(con, [], Selection(check_names=("hole_depth",)))
        faults = con.execute(
            "select setting_code, nonconforming_mask from installation order by all"
        ).fetchall()
    assert rates.select("judged", "nonconforming").row(0) == (2, 1)
    assert [(code, mask > 0) for code, mask in faults] == [
        ("M12-68", True),
        ("OTHER", False),
    ]


def test_the_same_sheet_again_changes_nothing(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    before = store.current_edition_id()
    result = load(store, tmp_path / "logs" / "setting_data.csv")
    assert [receipt.is_new for receipt in result.receipts] == [False]
    assert (result.edition_id, store.current_edition_id()) == (None, before)


def test_a_sheet_in_another_encoding_is_refused_in_words(tmp_path: Path) -> None:
    sheet = write_setting_data(tmp_path, [{"document": "Prüfbericht"}])
    sheet.write_bytes(sheet.read_text("utf-8").encode("cp1252"))
    [failure] = load(build_store(tmp_path / "held"), sheet).failures
    assert failure.startswith(f"{sheet}: is not a comma CSV in UTF-8")

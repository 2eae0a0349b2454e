"""What a file's or a sheet's name tells, by its pattern; expected by hand."""

import pytest

from etl.site_map.names import told_by


@pytest.mark.parametrize(
    ("pattern", "name", "told"),
    [
        ("log.csv", "log.csv", {}),
        ("log.csv", "log.txt", None),
        ("{a}_{b}.csv", "x_y_z.csv", {"a": "x", "b": "y_z"}),
        ("*-{a}.csv", "1-2-x.csv", {"a": "x"}),
        ("{a}-*-*.csv", "x-1-2-3.csv", {"a": "x"}),
        ("{a}.csv", ".csv", None),
        ("[[]{a  b}].csv", "[x.y].csv", {"a b": "x.y"}),
        ("{}.csv", "{}.csv", {}),
        ("log ?{a}.CSV", "log 1 x .csv", {"a": "x"}),
    ],
)
def test_what_a_name_tells(
    pattern: str, name: str, told: dict[str, str] | None
) -> None:
    assert told_by(pattern, name) == told

"""The embedments side by side as a picture, held to the table beside it."""

from collections.abc import Sequence

import plotly.graph_objects as go
import pytest

from dashboard.app import route
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import graphs, rows, table

SEED_S = (9.0, 11.0, 10.0, 12.0, 8.5)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Six sites drilled M12 to 92 mm, and to some 112 mm in a fifth more time."""
    settings: list[Row] = [
        {},
        {
            "setting_code": "M12-85",
            "embedment_mm": 85,
            "nominal_embedment_mm": 97,
            "hole_depth_mm": 109,
            "anchor_length_mm": 127,
        },
    ]
    sites = {
        f"S{site}": [
            {
                "crew_code": f"C{site}{number % 2}",
                "setting_code": "M12-85" if is_deep else "M12-68",
                "hole_depth_mm": 109 + number % 8 if is_deep else 92,
                "drill_s": f"{SEED_S[(number + site) % 5] * (1.2 if is_deep else 1)}",
            }
            for number in range(30)
            for is_deep in (False, True)
        ]
        for site in range(6)
    }
    return build_store(
        tmp_path_factory.mktemp("embedments"), settings=settings, sites=sites
    )


def pictures(page: object) -> list[go.Figure]:
    named = (one for one in graphs(page) if one.id["name"] == "embedments")
    return [one.figure for one in named]


def test_the_picture_says_what_the_table_says(store: Store) -> None:
    page = route(store, "/drilling", "?size=M12&embedment=85,68")[0]
    _, p50, p80, interval, *_ = rows(table(page, "Embedments side by side"))
    [figure] = pictures(page)
    lines, eighties, points = figure.data

    def said(seconds: Sequence[float]) -> list[str]:
        return [f"{one:.1f}" for one in seconds]

    assert said(points.x) == [cell.split()[0] for cell in p50[1:]]
    assert said(eighties.x) == [cell.split()[0] for cell in p80[1:]]
    ends = zip(said(lines.x[::3]), said(lines.x[1::3]), strict=True)
    assert [f"{low} to {high}" for low, high in ends] == interval[1:]
    assert points.y == eighties.y == lines.y[::3] == (0, 1)
    # (68 / 85) ** 1.5, as EN 1992-4 7.2.1.4 has the cone's depth (from memory).
    first, second = figure.layout.yaxis.ticktext
    assert first.startswith("68\xa0mm<br>")
    assert "72\xa0% of the cone" in first
    assert "100\xa0% of the cone" in second


# A lone embedment, and one beside another that the data say nothing of.
@pytest.mark.parametrize("asked", ["68", "68,200"])
def test_one_embedment_needs_no_picture(store: Store, asked: str) -> None:
    page = route(store, "/drilling", f"?size=M12&embedment={asked}")[0]
    assert rows(table(page, "Embedments side by side"))
    assert not pictures(page)

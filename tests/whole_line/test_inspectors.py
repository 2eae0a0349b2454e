"""Strict and lax inspectors, through the words and figures a reader gets."""

import json

import pytest

from dashboard.command import main
from queries.store import Store
from tests.builders import Row, build_store


def cell(crew: str, inspector: str, judged: int, bad: int, day: int = 4) -> list[Row]:
    """Anchors of one crew judged by one inspector, the first `bad` under the band."""
    return [
        {
            "record_id": f"{crew}-{inspector}-{day}-{place}",
            "installed_on": f"2026-05-{day:02d}",
            "crew_code": crew,
            "inspector_code": inspector,
            "setting_torque_nm": "40" if place < bad else "55",
        }
        for place in range(judged)
    ]


def said(capsys: pytest.CaptureFixture[str], store: Store, *more: str) -> str:
    capsys.readouterr()
    options = ["inspectors", "--check", "setting_torque", "--store", str(store.folder)]
    assert main([*options, *more]) == 0
    return capsys.readouterr().out.replace("\xa0", " ")


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Crews alike: STRICT notes 19 of 20 faults of 10 %, LAX 10 of 20, half shared."""
    rows: list[Row] = []
    for number in range(6):
        crew = f"C{number}"
        often, seldom = (200, 40) if number < 3 else (40, 200)
        rows += cell(crew, "STRICT", often, round(often * 0.095))
        rows += cell(crew, "LAX", seldom, round(seldom * 0.05), day=5)
    return build_store(tmp_path_factory.mktemp("inspectors"), rows)


def test_crews_alike_are_alike_under_an_average_inspector(
    capsys: pytest.CaptureFixture[str], shared: Store
) -> None:
    found = json.loads(said(capsys, shared, "--format", "json"))
    raw = {row["crew"]: row["rate"] for row in found["crews"]}
    fitted = {row["crew"]: row["adjusted_rate"] for row in found["crews"]}
    # 21 of 240 with the strict one, 14 of 240 with the lax: by raw rate the crews of
    # the strict inspector are the worst three.
    assert (raw["C0"], raw["C5"]) == (21 / 240, 14 / 240)
    assert len(fitted) == 6
    # The mean of 9.5 and 5 %, for all six.
    assert all(value == pytest.approx(0.0725, abs=0.005) for value in fitted.values())
    odds = {row["inspector"]: row["odds"] for row in found["inspectors"]}
    # 0.095/0.905 against 0.05/0.95 is 1.99; two inspectors shrink a little.
    assert 1.5 < odds["STRICT"] / odds["LAX"] <= 2.0
    assert found["bridges"] == []


def test_the_words_name_the_strict_one_and_no_crew(
    capsys: pytest.CaptureFixture[str], shared: Store
) -> None:
    shown = said(capsys, shared)
    assert "All crews and inspectors are connected." in shown
    assert "Inspector STRICT finds anchors nonconforming at 1." in shown
    assert "none need be right" in shown


@pytest.fixture(scope="module")
def apart(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """APART: each inspector with crews of his own, one with a single crew, one without
    a name. JOINED: two groups after the two re-inspections. UNNAMED: no inspector."""
    return build_store(
        tmp_path_factory.mktemp("apart"),
        sites={
            "APART": [
                *cell("C1", "STRICT", 100, 10),
                *cell("C2", "STRICT", 60, 6),
                *cell("C3", "LAX", 120, 6),
                *cell("C4", "LAX", 40, 2),
                *cell("C5", "OWN", 30, 3),
                *cell("C6", "", 20, 1),
            ],
            "JOINED": [
                *cell("C1", "STRICT", 100, 10),
                *cell("C3", "LAX", 120, 6),
                *cell("C1", "LAX", 15, 1, day=6),
                *cell("C3", "STRICT", 15, 1, day=6),
            ],
            "UNNAMED": cell("C1", "", 5, 1),
        },
    )


def test_where_nothing_connects_it_says_so_and_what_would(
    capsys: pytest.CaptureFixture[str], apart: Store
) -> None:
    shown = said(capsys, apart, "--site", "APART")
    assert "Crews and inspectors cannot be separated between 3 groups" in shown
    # The most judged of each side: C1 and C3.
    assert (
        "Groups 1 and 2: to connect them best, have LAX re-inspect anchors of crew C1, "
        "and STRICT anchors of crew C3, more than 20 together." in shown
    )
    assert "Crews and inspectors cannot be separated at all: C5" in shown
    assert "20 judged anchors name no inspector" in shown
    crew = json.loads(said(capsys, apart, "--site", "APART", "--format", "json"))[
        "crews"
    ][-1]
    assert (crew["crew"], crew["adjusted_rate"]) == ("C5", None)


def test_a_shown_crew_keeps_its_bridges_only(
    capsys: pytest.CaptureFixture[str], apart: Store
) -> None:
    found = json.loads(
        said(capsys, apart, "--site", "APART", "--crew", "C5", "--format", "json")
    )
    assert [row["crew"] for row in found["crews"]] == ["C5"]
    shown = said(capsys, apart, "--site", "APART", "--crew", "C5")
    assert "cannot be separated between 3 groups" in shown
    # The inspector of C5 judged nobody else: there is no average to hold them to.
    alone = [row["odds"] for row in found["inspectors"] if row["group"] == 3]
    assert alone == [None]
    assert [(row["group"], row["other_group"]) for row in found["bridges"]] == [
        (1, 3),
        (2, 3),
    ]


def test_the_two_re_inspections_do_connect(
    capsys: pytest.CaptureFixture[str], apart: Store
) -> None:
    assert "All crews and inspectors are connected" in said(
        capsys, apart, "--site", "JOINED"
    )


def test_no_inspector_named(capsys: pytest.CaptureFixture[str], apart: Store) -> None:
    assert "No judged anchor of this selection names its inspector" in said(
        capsys, apart, "--site", "UNNAMED"
    )

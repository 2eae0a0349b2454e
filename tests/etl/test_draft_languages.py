"""Headers of logs in other languages: common practice of the trade, no source."""

from pathlib import Path

import pytest

from etl.draft.draft import draft_of
from tests.builders import write_csv

VALUES = {
    "record_id": ("1", "2", "3"),
    "installed_on": ("2026-05-04", "2026-05-05", "2026-05-06"),
    "crew_code": ("A", "B", "A"),
    "hole_depth_mm": ("92", "95", "91"),
    "edge_1_mm": ("120", "90", "100"),
    "spacing_mm": ("200", "180", "210"),
    "setting_torque_nm": ("55", "54", "50"),
    "note": ("", "dry", ""),
}
HEADERS = {
    "Polish": (
        *("Nr kotwy", "Data montażu", "Brygada", "Głębokość otworu (mm)"),
        *("Odległość od krawędzi (mm)", "Rozstaw (mm)", "Moment dokręcania (Nm)"),
        *("Uwagi", "Czyszczenie", "tak", "nie"),
    ),
    "Czech": (
        *("Č. kotvy", "Datum montáže", "Parta", "Hloubka otvoru (mm)"),
        *("Vzdálenost od okraje (mm)", "Rozteč (mm)", "Utahovací moment (Nm)"),
        *("Poznámka", "Čištění", "ano", "ne"),
    ),
    "Swedish": (
        *("Ankare nr", "Monteringsdatum", "Arbetslag", "Borrdjup (mm)"),
        *("Kantavstånd (mm)", "Centrumavstånd (mm)", "Åtdragningsmoment (Nm)"),
        *("Anmärkning", "Rengöring", "ja", "nej"),
    ),
    "Danish": (
        *("Anker nr.", "Dato", "Arbejdshold", "Hulldybde (mm)"),
        *("Kantafstand (mm)", "Centerafstand (mm)", "Tilspændingsmoment (Nm)"),
        *("Bemærkninger", "Rengøring", "ja", "nej"),
    ),
    "Norwegian": (
        *("Løpenummer", "Monteringsdato", "Arbeidslag", "Boredybde (mm)"),
        *("Kantavstand (mm)", "Senteravstand (mm)", "Tiltrekkingsmoment (Nm)"),
        *("Merknad", "Rengjøring", "ja", "nei"),
    ),
}


@pytest.mark.parametrize("language", HEADERS)
def test_headers_of_the_language_are_placed(tmp_path: Path, language: str) -> None:
    *headers, cleaned, yes, no = HEADERS[language]
    columns = dict(zip(headers, VALUES.values(), strict=True))
    rows = [
        {header: values[number] for header, values in columns.items()}
        | {cleaned: no if number else yes}
        for number in range(3)
    ]
    found = draft_of(write_csv(tmp_path / "log.csv", rows))
    assert {one.column.name: one.header for one in found.active} == {
        **dict(zip(VALUES, headers, strict=True)),
        "cleaned": cleaned,
    }
    assert found.codes["cleaned"].known == {yes: "true", no: "false"}

"""Which encoding a text is in, and how one that is named is read.

The texts are encoded by Python's codecs, which follow the mappings of the Unicode
Consortium (Public/MAPPINGS/VENDORS).
"""

from pathlib import Path

import pytest

from etl.draft.layout import encoding_of
from etl.site_map import ENCODINGS
from tests.builders import build_store, load, write_log

POLISH = "Głębokość otworu;Odległość od krawędzi;Data montażu\n92;120;5\n"
GERMAN = "Prüfer;Bohrlochtiefe;Größe;Maß\nMüller;92;M12;20 °C\n"
FRENCH = "N°;Équipe;Posé à l’étage;Réglé\n1;Hélène;côté « nord »;été\n"
SPANISH = "Nº;Cuadrilla;Diámetro\n1;nº 2;12\n"
RUSSIAN = "Глубина отверстия;Момент затяжки\n92;55\n"
GREEK = "Βάθος οπής;Ροπή σύσφιξης\n92;55\n"


@pytest.mark.parametrize(
    ("text", "encoding", "word"),
    [
        (POLISH, "windows-1250", "Głębokość"),
        (POLISH, "iso-8859-2", "Głębokość"),
        (GERMAN, "windows-1252", "Prüfer"),
        (GERMAN, "ibm850", "Prüfer"),
        (FRENCH, "windows-1252", "Équipe"),
        (FRENCH, "macintosh", "Équipe"),
        (SPANISH, "windows-1252", "Nº"),
        (RUSSIAN, "windows-1251", "Глубина"),
        (GREEK, "windows-1253", "Βάθος"),
    ],
)
def test_the_encoding_is_the_one_that_makes_words(
    tmp_path: Path, text: str, encoding: str, word: str
) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes(text.encode(encoding))
    found = encoding_of(path)
    assert (found.value, found.sureness) == (encoding, "likely")
    assert f"it reads {word!r}" in found.reason


def test_of_several_that_make_words_each_is_shown(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    # By the tables: ŠŠŠž in windows-1252, ЉЉЉћ in windows-1251, èèè× in ibm850.
    path.write_bytes(b"a;\x8a\x8a\x8a\x9e\n")
    found = encoding_of(path)
    assert (found.value, found.sureness) == ("windows-1251", "guess")
    assert found.reason == "it reads 'ЉЉЉћ', not 'ŠŠŠž'; ibm850 reads 'èèè×'"


def test_what_the_usual_encoding_reads_is_shown(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes("Průměr;Hloubka\n12;92\n".encode("windows-1250"))
    found = encoding_of(path)
    # Letters in both: only somebody who reads them can tell.
    assert (found.value, found.reason) == (
        "windows-1252",
        "not UTF-8; it reads 'Prùmìr'",
    )


def test_signs_beyond_what_is_looked_at(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes(b"No;Note\n" + b"1;dry\n" * 800_000 + b"2;na\xdf\n")
    assert encoding_of(path).reason == "not UTF-8 further down"


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_every_encoding_that_a_map_may_name_is_read(
    tmp_path: Path, encoding: str
) -> None:
    signs = {"windows-1251": "Глуб", "windows-1253": "Βάθ"}.get(encoding, "é")
    store = build_store(tmp_path)
    log = write_log(tmp_path / "sent", [{"note": signs}])
    log.write_bytes(log.read_text("utf-8").encode(encoding))
    site_map = log.with_suffix(".toml")
    files = f'[files]\nencoding = "{encoding}"'
    site_map.write_text(site_map.read_text("utf-8").replace("[files]", files), "utf-8")
    assert not load(store, log, site_map).failures
    with store.reader() as con:
        assert con.execute("select note from installation").fetchall() == [(signs,)]

"""Any text as a site map: a map, or what is wrong with it."""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etl.batch import gather
from etl.site_map import ENCODINGS, SiteMap, read_site_map, read_toml
from etl.site_map.lines import key_lines
from etl.units import FACTORS, units_of
from queries.columns import COLUMN_BY_NAME
from queries.errors import FirmsetError
from tests.builders import write_log
from tests.etl.test_site_map import GOOD
from tests.examples import examples


# Counted by hand.
def test_lines_of_keys() -> None:
    text = (
        '# [no.table]\n"a b" = """x\n[y]\n\\"""" \n[c . d] # e = 1\n'
        "f = [ # g = 2\n  {h = '#', i.j = 1979-05-27 07:32:00},\n]\n"
        "'k' = \"\\\"=\"\n[[l]]\nm = '''\n[n]'''\n[[l]]\no = {}\n"
    )
    assert key_lines(text) == {
        ("a b",): 2,
        ("c",): 5,
        ("c", "d"): 5,
        ("c", "d", "f"): 6,
        ("c", "d", "f", "h"): 7,
        ("c", "d", "f", "i"): 7,
        ("c", "d", "f", "i", "j"): 7,
        ("c", "d", "k"): 9,
        ("l",): 10,
        ("l", "m"): 11,
        ("l", "o"): 14,
    }


DOTS = "a." * 21


# A key of n dots costs tomllib n * n: 30,000 of them 15 s and more.
@pytest.mark.parametrize(
    ("text", "line"),
    [
        (f"[site]\n{'a.' * 30_000}a = 1", 2),
        (f"# a\n[{DOTS}a]", 2),
        (f'x = """\n\n"""\ny = {{{DOTS.replace(".", " . ")}a = 1}}', 4),
        ('"a b".' * 21 + "a = 1", 1),
        ("'a'.\"b\"." * 11 + "a = 1", 1),
    ],
)
def test_a_key_of_many_dots_is_refused_unread(
    tmp_path: Path, text: str, line: int
) -> None:
    path = tmp_path / "long.toml"
    path.write_text(text, "utf-8")
    with pytest.raises(FirmsetError) as raised:
        read_site_map(path)
    words = f"{path}: line {line}: a key of more than 20 dots"
    assert str(raised.value).startswith(words)
    # Beside a log, too, where it may be another program's.
    log = write_log(tmp_path / "logs", [{}])
    path.replace(log.with_name("long.toml"))
    with pytest.raises(FirmsetError, match="a key of more than 20 dots"):
        gather([log], None)


@pytest.mark.parametrize(
    "text",
    [
        "a." * 20 + "a = 1",
        f"# {DOTS}",
        f'a = "{DOTS}"',
        f"a = '{DOTS}'",
        f'a = """\n"{DOTS}"" \\""" {DOTS}\n"""',
        f"a = '''\n'{DOTS}''\n'''",
    ],
)
def test_dots_elsewhere_are_none_of_a_key(tmp_path: Path, text: str) -> None:
    (tmp_path / "a.toml").write_text(text, "utf-8")
    _, tables = read_toml(tmp_path / "a.toml")
    assert tables == tomllib.loads(text)


@pytest.mark.parametrize("text", ['"""\\', '"\\', "'''", "a ", "a", '"a"'])
def test_no_text_takes_long(tmp_path: Path, text: str) -> None:
    """Each 1 MB of it, in far less than a second; with a look back it took hours."""
    (tmp_path / "a.toml").write_text((text * 1024**2)[: 1024**2], "utf-8")
    with pytest.raises(FirmsetError, match="not a TOML file"):
        read_site_map(tmp_path / "a.toml")


def paths_of(value: object, path: tuple[str, ...] = ()) -> set[tuple[str, ...]]:
    found = {path} if path else set()
    if isinstance(value, list):
        found.update(*(paths_of(item, path) for item in value))
    if isinstance(value, dict):
        found.update(*(paths_of(item, (*path, key)) for key, item in value.items()))
    return found


# tomllib is the reference for which keys there are.
FRAGMENTS = st.lists(
    st.sampled_from(
        [
            *("[site]", "[files]", "[columns]", "[codes.note]", "[codes]", "[dates]"),
            *("code = 'A'", "name = '''\n[a]\n'''", 'match = "a\\"[*"', "note.x = 1"),
            *("header_row = [1, {a = 2}]", "'from' = {unit = 'cm', b.c = [] }"),
            *("[[site]]", "edge_1_mm = {from = 'e', unit = 'in'}", "a = nan # [b]"),
            *("valid_from = 2026-03-01", "drill_s = 'note'", '"\\u00e4.b" = -1e9'),
            *("time_zone = '../x'", "format = '%'", "[codes.drill_method]", "day = ["),
        ]
    )
    | st.text(max_size=8),
    max_size=12,
)


@settings(**examples(300))
@given(lines=FRAGMENTS)
def test_any_text_gives_a_map_or_a_firmset_error(
    tmp_path_factory: pytest.TempPathFactory, lines: list[str]
) -> None:
    path = tmp_path_factory.getbasetemp() / "any.toml"
    text = "\n".join(lines)
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    try:
        raw = tomllib.loads(text)
    except (ValueError, RecursionError):
        raw = None
    if raw is not None:
        assert set(key_lines(text)) == paths_of(raw)
    try:
        assert isinstance(read_site_map(path), SiteMap)
    except FirmsetError as error:
        # A line, or one that says how many faults there are, and a line each.
        first, *faults = str(error).split("\n")
        assert not faults or first.endswith(f": {len(faults)} faults:")
        assert all(fault.startswith("line ") for fault in faults)


HEADERS = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), min_size=1
).filter(lambda text: bool(text.strip()))


def quoted(text: str) -> str:
    signs = {'"': '\\"', "\\": "\\\\", "\x7f": "\\u007f"}
    return '"' + "".join(signs.get(sign, sign) for sign in text) + '"'


@settings(**examples(100))
@given(data=st.data())
def test_a_valid_map_says_what_was_written(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    needed = ["record_id", "installed_on", "crew_code", "setting_code"]
    others = st.sampled_from(sorted(set(COLUMN_BY_NAME) - {"installed_at", *needed}))
    names = needed + data.draw(st.lists(others, unique=True))
    headers = data.draw(
        st.lists(
            HEADERS,
            min_size=len(names),
            max_size=len(names),
            unique_by=lambda header: " ".join(header.split()),
        )
    )
    units = [
        data.draw(st.sampled_from(units_of(unit))) if unit else None
        for unit in (COLUMN_BY_NAME[name].unit for name in names)
    ]
    fills = [data.draw(st.booleans()) for _ in names]
    encoding = data.draw(st.sampled_from(ENCODINGS))
    row = data.draw(st.integers(1, 1000))
    columns = [
        f"{name} = {{from = {quoted(header)}, fill_down = {str(fill).lower()}"
        + (f", unit = {quoted(unit)}}}" if unit else "}")
        for name, header, unit, fill in zip(names, headers, units, fills, strict=True)
    ]
    text = GOOD[: GOOD.index("[dates]")] + (
        f'encoding = "{encoding}"\nheader_row = {row}\n[columns]\n'
    )
    path = tmp_path_factory.getbasetemp() / "valid.toml"
    path.write_text(text + "\n".join(columns), "utf-8", newline="")
    site_map = read_site_map(path)
    assert (site_map.encoding, site_map.header_row) == (encoding, row)
    said = [
        (found.column.name, found.header, found.unit, found.fill_down)
        for found in site_map.columns
    ]
    assert said == list(zip(names, headers, units, fills, strict=True))
    for found in site_map.columns:
        assert found.factor == (FACTORS[found.unit][1] if found.unit else 1.0)

"""What a store holds that tells what the values of another log are."""

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import duckdb

from etl.draft.words import plain
from etl.spelling import code_key, meant_codes
from queries.store import Store

# Not those of bits: a store may have tens of thousands, and a draft can do without.
_CODES = ("crew_code", "installer_code", "inspector_code", "wrench_code")
_NEAR_MM = 0.5
_FIGURE = re.compile(r"\d+(?:[.,]\d+)?")


@dataclass(frozen=True)
class Setting:
    """A row of the setting data: what a crew may call it by.

    `names`: its type, and the words for its material. `figures`: its length and
    embedments, in mm. `embedments_mm`: the effective and the nominal one. `expected`:
    what is specified, by the column that logs it, in the unit of that.
    """

    type_code: str
    size: str
    names: frozenset[str]
    figures: frozenset[float]
    embedments_mm: tuple[float, float]
    expected: Mapping[str, float]

    def told_by(self, text: str) -> int:
        """Return how many names and figures of this setting a text has."""
        spoken = plain(text)
        named = sum(name in spoken for name in self.names)
        said = {float(one.replace(",", ".")) for one in _FIGURE.findall(text)}
        if self.size[:1].isdigit():  # A size in inches, and so its figures.
            said = {25.4 * figure for figure in said}
        return named + sum(
            any(abs(figure - one) < _NEAR_MM for one in self.figures) for figure in said
        )


@dataclass(frozen=True)
class Held:
    """Setting codes, and of other columns the keys of codes (etl/spelling.py).

    `sites`: those of the sites whose logs were loaded.
    """

    settings: Mapping[str, Setting] = field(default_factory=dict)
    keys: Mapping[str, frozenset[str]] = field(default_factory=dict)
    sites: frozenset[str] = frozenset()

    def expected(self, column_name: str, word: str) -> float | None:
        """Return what a setting code specifies of a column; None where not known."""
        setting = self._meant(word)
        return setting.expected.get(column_name) if setting else None

    def embedments_mm(self, word: str) -> tuple[float, float] | None:
        """Return a setting code's effective and nominal embedment; None: not known."""
        setting = self._meant(word)
        return setting.embedments_mm if setting else None

    def _meant(self, word: str) -> Setting | None:
        """Return the setting data that a word stands for, as a load takes it."""
        code = word if word in self.settings else None
        code = code or meant_codes({word}, self._by_key).get(word)
        return self.settings[code] if code else None

    def has_any(self, column_name: str) -> bool:
        """Say whether codes of a column are held."""
        is_of_anchors = column_name in ("setting_code", "anchor_type_code")
        return bool(self.settings if is_of_anchors else self.keys.get(column_name))

    def has_site(self, code: str) -> bool:
        """Say whether logs of a site of this code were loaded."""
        return code_key(code) in self.sites

    def has(self, column_name: str, word: str) -> bool:
        """Say whether a load takes a word, as it stands, for a code that is held."""
        if column_name == "setting_code":
            return word in self.settings or bool(meant_codes({word}, self._by_key))
        if column_name == "anchor_type_code":
            return word in self._types
        return code_key(word) in self.keys.get(column_name, ())

    def may_be(self, word: str) -> tuple[str, ...]:
        """Return the setting codes that a crew may mean by a word, as "M12 x 110".

        Those of its size, and of these the ones of which it says most besides.
        """
        told = {
            code: one.told_by(rest)
            for code, one in self.settings.items()
            if (rest := _without_size(word, one.size)) is not None
        }
        most = max(told.values(), default=0)
        return tuple(sorted(code for code in told if told[code] == most))

    @cached_property
    def _by_key(self) -> Mapping[str, set[str]]:
        by_key: dict[str, set[str]] = {}
        for code in self.settings:
            by_key.setdefault(code_key(code), set()).add(code)
        return by_key

    @cached_property
    def _types(self) -> Collection[str]:
        return {one.type_code for one in self.settings.values()}


NOTHING_HELD = Held()


def read_held(store: Store) -> Held:
    """Return what the current edition of a store holds; nothing where there is none."""
    if store.current_edition_id() is None:
        return NOTHING_HELD
    with store.reader() as con:
        return Held(_settings(con), _keys(con), _sites(con))


def _settings(con: duckdb.DuckDBPyConnection) -> dict[str, Setting]:
    rows = con.execute(
        """
        select
            setting_code, anchor_type_code, anchor_size, material,
            [embedment_mm, nominal_embedment_mm, anchor_length_mm],
            hole_depth_mm, setting_torque_nm
        from setting_data
        order by setting_code
        """
    ).fetchall()
    return {
        code: Setting(
            type_code,
            size,
            frozenset({plain(type_code), *plain(material or "").split()}),
            frozenset(figures),
            (figures[0], figures[1]),
            {"hole_depth_mm": hole_depth, "setting_torque_nm": torque},
        )
        for code, type_code, size, material, figures, hole_depth, torque in rows
    }


def _keys(con: duckdb.DuckDBPyConnection) -> dict[str, frozenset[str]]:
    rows = con.execute(
        """
        select column_name, list(distinct code_key)
        from code_spelling
        where column_name in (select unnest(?))
        group by column_name
        """,
        [list(_CODES)],
    ).fetchall()
    return {column_name: frozenset(keys) for column_name, keys in rows}


def _sites(con: duckdb.DuckDBPyConnection) -> frozenset[str]:
    codes = con.execute("select site_code from site").fetchall()
    return frozenset(code_key(code) for (code,) in codes)


def _without_size(word: str, size: str) -> str | None:
    """Return what a word says besides an anchor's size; None if it says another."""
    said = re.sub(r"\s+", " ", word.strip()).casefold()
    bare = size.casefold().rstrip('"” ').removesuffix("in").rstrip()
    if said == bare.removeprefix("m"):
        return ""  # A size alone, "12".
    parts = re.findall(r"[^\W\d_]+|[\d./]+", bare)
    pattern = r"[\s-]?".join(map(re.escape, parts))
    # The half of 1 1/2 is no size.
    whole = r"(?<!\d[\s-])" if parts and bare[0].isdigit() else ""
    found = re.search(rf"{whole}(?<![\w/.]){pattern}(?!\d|[.,]\d)", said)
    if found is None or not parts:
        return None
    return f"{said[: found.start()]} {said[found.end() :]}"

"""The SELECTs of all checks put together, so that a row is judged in one pass.

In layers, a subquery a layer, so that each expression is planned once: what the checks
mention of other tables, their quantities, margins and verdicts. They are texts and not
macros: a row given to a macro is planned as a struct of all its columns wherever the
macro mentions one, ten times the cost, and a small file's load is mostly planning.
"""

import re
from collections.abc import Mapping, Sequence
from functools import cache

from queries.check_file import CheckFile, read_check_file
from queries.columns import LOGGED_NAMES, spoken_name

# One number holds the verdicts of so many checks, a part of 16 bits a verdict.
CHECKS_A_NUMBER = 16


class Layers:
    """The layers of some checks over a relation of installations.

    `logged` names the relation; without `with_calibrations` no wrench has any. `use` is
    the SQL of a boolean over logged, required and calibration: the wrench was used too
    often. `added` lists the columns that `judged_sql` adds to those of the relation.
    Where the `verdicts` are known (of one installation), they stand as texts in what
    mentions them, and no layer works them out.
    """

    def __init__(
        self,
        check_names: Sequence[str],
        logged: str,
        *,
        with_calibrations: bool,
        use: str,
        verdicts: Mapping[str, str] | None = None,
    ) -> None:
        self.files: list[CheckFile] = [read_check_file(name) for name in check_names]
        self.logged = logged
        self.with_calibrations = with_calibrations
        self.use = use
        self.verdicts = verdicts or {}
        texts = " ".join(
            text for file in self.files for text in file.expressions.values()
        )
        self.required = _mentioned("required", texts)
        self.calibration = _mentioned("calibration", texts)
        self.added: list[str] = []

    def judged_sql(self, verdict_macro: str) -> str:
        """Return SQL of `logged` with quantities, margins and verdicts."""
        carried = [
            *(
                f"{end}(logged.anchor_length_mm, "
                f"if(required.has_letter_marks, logged.length_mark, null)) as {end}"
                for end in ("length_from_mm", "length_to_mm")
            ),
            *(f"required.{name} as required__{name}" for name in self.required),
            *(self._calibration_sql(name) for name in self.calibration),
        ]
        sql = self._layer_sql(carried, f"{self.logged} as logged {self._joins_sql()}")
        results = (None, ("margin",), *(() if self.verdicts else (("verdict",),)))
        for names in results:
            columns = [
                f"{self.expression(file.name, name)} as {file.name}__{name}"
                for file in self.files
                for name in names or file.quantities
            ]
            sql = self._layer_sql(columns, f"({sql}) as logged")
        return self._with_macro(sql, verdict_macro)

    def _layer_sql(self, columns: Sequence[str], source: str) -> str:
        self.added += [column.rpartition(" as ")[2] for column in columns]
        return f"select {', '.join(['logged.*', *columns])} from {source}"

    def expression(self, name: str, result: str) -> str:
        """Return one expression over the columns that the layers carry."""
        return self._as_known(name, _carried_expression(name, result))

    def said(self, name: str, result: str) -> str:
        """Return what people are told of a check: its margin, direction or words.

        A margin belongs to the verdict: an undecided check has none, and where another
        entry decided (logged as worn, as not cleaned) the measured one is none either.
        """
        verdict = f"{name}__verdict"
        text = _carried_expression(name, result)
        if result == "margin":
            text = _margin_sql(name)
        elif result == "words":
            unreadable = _unreadable_words_sql(name)
            if not unreadable or self.verdicts.get(name, "unreadable") != "unreadable":
                text = _beyond_sql(name, text)
            elif name in self.verdicts:
                text = unreadable
            else:
                text = (
                    f"if({verdict} = 'unreadable', {unreadable}, "
                    f"{_beyond_sql(name, text)})"
                )
        return self._as_known(name, text)

    def _as_known(self, name: str, text: str) -> str:
        if name not in self.verdicts:
            return text
        return re.sub(rf"\b{name}__verdict\b", f"'{self.verdicts[name]}'", text)

    def _with_macro(self, sql: str, macro: str) -> str:
        """Have the verdicts as words (verdict_of) or as a bit in a number."""
        if macro == "verdict_of":
            return sql
        bits = iter(range(len(self.files)))

        def bit(found: re.Match[str]) -> str:
            return f"{macro}({1 << next(bits) % CHECKS_A_NUMBER}::ubigint, "

        return re.sub(r"\bverdict_of\(", bit, sql)

    def _joins_sql(self) -> str:
        joins = (
            "inner join requirement as required "
            "on logged.setting_code = required.setting_code"
        )
        if self.with_calibrations and self.calibration:
            # The newest calibration on the day: a wrench and a day find one at most.
            joins += (
                " left join calibration on logged.wrench_code = calibration.wrench_code"
                " and logged.installed_on >= calibration.calibrated_on"
                " and logged.installed_on < calibration.replaced_on"
            )
        return joins

    def _calibration_sql(self, name: str) -> str:
        if not self.with_calibrations:
            return f"{_NO_CALIBRATION[name]} as calibration__{name}"
        if name == "is_used_up":
            return f"({self.use}) as calibration__{name}"
        return f"calibration.{name} as calibration__{name}"


_NO_CALIBRATION = {
    "calibrated_on": "null::date",
    "last_valid_on": "null::date",
    "most_uses": "null::integer",
    "range_low_nm": "null::double",
    "range_high_nm": "null::double",
    "is_used_up": "null::boolean",
}


@cache
def _carried_expression(name: str, result: str) -> str:
    text = read_check_file(name).expression(result)
    text = re.sub(r"\bunreadable\.(\w+)", _unreadable_sql, text)
    return re.sub(r"\b(required|calibration)\.(\w+)", r"logged.\1__\2", text)


def _margin_sql(name: str) -> str:
    margin, verdict = f"{name}__margin", f"{name}__verdict"
    return (
        f"if({verdict} = 'conforming' and {margin} >= 0 "
        f"or {verdict} = 'nonconforming' and {margin} < 0, {margin}, null)"
    )


def _beyond_sql(name: str, words: str) -> str:
    """Add to the words by how little a limit is missed where two decimals hide it."""
    unit = read_check_file(name).header["unit"]
    margin = f"{name}__margin"
    return (
        f"concat({words}, if({name}__verdict = 'nonconforming' and {margin} < 0 "
        f"and {margin} > -0.005, concat('; beyond the limit by ', "
        f"rtrim(printf('%.6f', -{margin}), '0'), ' {unit}'), ''))"
    )


def _unreadable_words_sql(name: str) -> str:
    """Name the entries that a check needs and that cannot be read; "" if none can."""
    text = " ".join(read_check_file(name).expressions.values())
    parts = ", ".join(
        f"if({_fault_sql(column)}, '{spoken_name(column)}', null)"
        for column in _mentioned("unreadable", text)
    )
    return parts and f"concat_ws(' and ', {parts}) || ' cannot be read as logged'"


def _mentioned(relation: str, text: str) -> list[str]:
    return list(dict.fromkeys(re.findall(rf"\b{relation}\.(\w+)", text)))


def _unreadable_sql(found: re.Match[str]) -> str:
    """Return the test of a column's bit in field_fault_mask."""
    return _fault_sql(found.group(1))


def _fault_sql(column: str) -> str:
    bit = 1 << LOGGED_NAMES.index(column)
    return f"(logged.field_fault_mask & {bit}::ubigint) != 0"

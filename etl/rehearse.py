"""Try a load without writing: in a copy of the store that is thrown away."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from shutil import copyfile
from tempfile import TemporaryDirectory

import polars as pl

from etl.intake import IntakeResult, load_paths
from queries.readers.intake import read_rejects
from queries.store import Store

# What was found in a cell, in the words of a reason.
_QUOTED = "'[^']*'"
_OF_WORDS = ("unknown_setting_code", "unknown_site")


@dataclass(frozen=True)
class Rehearsal:
    """What a load would do: its result, and the rows that it would reject."""

    result: IntakeResult
    rejects: pl.DataFrame

    def by_reason(self) -> pl.DataFrame:
        """Return the first rejected row of each file and reason, the most rows first.

        Dates and numbers make no other reason, words for anchors and sites do: each is
        to be translated. Columns: file_name, row_count (rows of that reason),
        source_row, reason (the first row's), raw_text.
        """
        if self.rejects.is_empty():
            return self.rejects
        alike = (
            pl.col("reason").str.replace_all(_QUOTED, "''").str.replace_all(r"\d+", "0")
        )
        is_word = pl.col("reason_code").is_in(_OF_WORDS)
        return (
            self.rejects.group_by(
                "file_name",
                pl.when(is_word).then("reason").otherwise(alike).alias("kind"),
                maintain_order=True,
            )
            .agg(
                pl.len().alias("row_count"),
                pl.col("source_row", "reason", "raw_text").first(),
            )
            .sort("row_count", descending=True, maintain_order=True)
            .select("file_name", "row_count", "source_row", "reason", "raw_text")
        )


def rehearse(
    store: Store,
    paths: Iterable[Path],
    *,
    map_folder: Path | None = None,
    only_map: Path | None = None,
    now: datetime | None = None,
) -> Rehearsal:
    """Load into a copy of the published edition that is thrown away; the store stays.

    Parameters as for load_paths. `rejects`: the columns of read_rejects.
    """
    with TemporaryDirectory() as name:
        copy = Store(Path(name))
        edition_id = store.current_edition_id()
        held = 0
        if edition_id is not None:
            with store.reader() as con:
                [(held,)] = con.execute(
                    "select coalesce(max(source_file_id), 0) from source_file"
                ).fetchall()
            copyfile(store.edition_path(edition_id), copy.ledger_path)
        result = load_paths(
            copy, paths, map_folder=map_folder, only_map=only_map, now=now
        )
        rejects = pl.DataFrame()
        if result.edition_id is not None:
            with copy.reader() as con:
                rejects = read_rejects(con).filter(pl.col("source_file_id") > held)
        return Rehearsal(replace(result, edition_id=None), rejects)

"""Parse one sheet of a workbook into a Parquet file of texts; run as a process.

Usage: python workbook.py WORKBOOK PARQUET SHEET MEMORY_BYTES (SHEET may be empty:
the first). Exit 2 with one line on stderr where the workbook or the sheet is at fault.
Row n of the Parquet file is row n of the sheet; its columns are c1, c2, ...
"""

import sys
import zipfile
from pathlib import Path

import fastexcel
import polars as pl

MAX_UNPACKED_BYTES = 512 * 1024**2


def read_sheet(path: Path, sheet: str) -> pl.DataFrame:
    """Return a sheet's cells as text, empty rows kept; ValueError says what fails."""
    try:
        with zipfile.ZipFile(path) as archive:
            unpacked = sum(entry.file_size for entry in archive.infolist())
    except zipfile.BadZipFile as error:
        raise ValueError("not an .xlsx workbook") from error
    if unpacked > MAX_UNPACKED_BYTES:
        raise ValueError(
            f"unpacks to {unpacked // 1024**2} MB, over the limit of "
            f"{MAX_UNPACKED_BYTES // 1024**2} MB; send the sheet as CSV"
        )
    workbook = fastexcel.read_excel(path)
    if sheet and sheet not in workbook.sheet_names:
        raise ValueError(
            f"has no sheet {sheet!r}; it has {', '.join(workbook.sheet_names)}"
        )
    frame: pl.DataFrame = workbook.load_sheet(
        sheet or 0, header_row=None, dtypes="string", skip_whitespace_tail_rows=True
    ).to_polars()
    return frame.rename({name: f"c{i + 1}" for i, name in enumerate(frame.columns)})


def _limit_memory(limit_bytes: int) -> None:
    try:
        import resource
    except ImportError:  # Windows has no such limit; the size check remains.
        return
    resource.setrlimit(resource.RLIMIT_AS, (limit_bytes, limit_bytes))


def main() -> int:
    """Run the conversion; return the exit code."""
    workbook, parquet, sheet, memory = sys.argv[1:]
    _limit_memory(int(memory))
    try:
        frame = read_sheet(Path(workbook), sheet)
    except ValueError as error:
        print(error, file=sys.stderr)
        return 2
    except Exception as error:
        print(f"cannot be read as a workbook: {error}", file=sys.stderr)
        return 2
    frame.write_parquet(parquet)
    return 0


if __name__ == "__main__":
    sys.exit(main())

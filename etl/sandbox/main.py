"""Parse one file within a limit on memory; run as a process.

Usage: python -m etl.sandbox.main KIND FILE FOLDER MEMORY_BYTES DECIMAL [SHEET].
Writes into FOLDER; what the file holds as numbers has DECIMAL ("." or ",") for its
sign, as the file's texts do. Exit 2 with a last line on stderr where the file is at
fault, 3 where it asks for more memory than there is.
"""

import sys
from collections.abc import Callable
from pathlib import Path

FILE_AT_FAULT = 2
NOT_WITHIN_LIMITS = 3


def _limit_memory(limit_bytes: int) -> None:
    try:
        import resource
    except ImportError:  # Windows has no such limit; the limits on sizes remain.
        return
    resource.setrlimit(resource.RLIMIT_AS, (limit_bytes, limit_bytes))


def _parser_of(kind: str) -> Callable[[Path, str, str, Path], None]:
    # The libraries are loaded within the limit, by the kind that needs them.
    if kind == "parquet":
        from etl.sandbox.parquet import write_parquet_texts

        return lambda path, decimal, _, folder: write_parquet_texts(
            path, decimal, folder
        )
    from etl.sandbox.workbook import write_sheet_texts

    return write_sheet_texts


def main() -> int:
    """Run the conversion; return the exit code."""
    kind, path, folder, memory, decimal, sheet = [*sys.argv[1:], ""][:6]
    _limit_memory(int(memory))
    try:
        parse = _parser_of(kind)
    except Exception:  # what a library does that finds no memory
        return NOT_WITHIN_LIMITS
    try:
        parse(Path(path), decimal, sheet, Path(folder))
    except MemoryError:
        return NOT_WITHIN_LIMITS
    except ValueError as error:
        message = str(error)
    except Exception as error:
        message = f"cannot be read: {error}"
    else:
        return 0
    line = " ".join(message.split())[:1000]
    sys.stderr.buffer.write(b"\n" + line.encode("utf-8", "replace"))
    return FILE_AT_FAULT


if __name__ == "__main__":
    sys.exit(main())

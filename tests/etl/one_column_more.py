"""What a receipt remarks on a column that no site map reads."""

from pathlib import Path

from tests.builders import build_store, load, write_log


def remarks_on(folder: Path, header: str, cells: list[str]) -> list[str]:
    """Load a log with one more column, a cell a row; return its receipt's remarks."""
    store = build_store(folder)
    path = write_log(folder / "more", [{} for _ in cells])
    names, *rows = path.read_text("utf-8").splitlines()
    lines = [f"{row},{cell}" for row, cell in zip(rows, cells, strict=True)]
    path.write_text("\n".join([f"{names},{header}", *lines]), "utf-8")
    (receipt,) = load(store, path).receipts
    assert receipt.loaded == len(cells)
    return receipt.remarks

"""Publishing: what an earlier load left unpublished, which editions stay."""

from pathlib import Path

import pytest

from etl import intake
from queries.store import Store
from tests.builders import build_store, load, write_log


def count(store: Store) -> int:
    with store.reader() as con:
        return int(con.execute("select count(*) from installation").fetchall()[0][0])


def test_a_load_killed_before_publishing_is_published_by_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = build_store(tmp_path, [{}])
    second = write_log(tmp_path / "more", [{}, {}], site="SITE-2")

    def killed(*arguments: object, **options: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(intake, "publish_edition", killed)
        with pytest.raises(KeyboardInterrupt):
            load(store, second)
    assert (store.current_edition_id(), count(store)) == (1, 1)
    # The same file again is nothing new to the ledger, but the edition lacks it.
    assert load(store, second).edition_id == 2
    assert count(store) == 3

"""Weighed answers are computed once an edition, and never outlive it."""

import threading
from collections.abc import Hashable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import duckdb
import pytest

from dashboard import kept as module
from dashboard.kept import kept, kept_each
from queries.store import Store
from tests.builders import build_store, load, write_log


def count(store: Store, question: str, asked: list[str]) -> int:
    with store.reader() as con:

        def answer() -> int:
            asked.append(question)
            row = con.execute("select count(*) from installation").fetchall()
            return int(row[0][0])

        return kept(con, question, answer)


def test_once_an_edition_and_anew_for_the_next(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    asked: list[str] = []
    assert [count(store, "how many", asked) for _ in range(3)] == [1, 1, 1]
    assert asked == ["how many"]
    load(store, write_log(tmp_path / "more", [{}], site="SITE-2"))
    assert count(store, "how many", asked) == 2
    assert asked == ["how many"] * 2


def test_another_question_or_store_is_another_answer(tmp_path: Path) -> None:
    asked: list[str] = []
    # Both stores have an edition 1, published at the tests' fixed time.
    one = build_store(tmp_path / "one", [{}])
    two = build_store(tmp_path / "two", [{}, {}])
    assert count(one, "how many", asked) == 1
    assert count(two, "how many", asked) == 2
    assert count(one, "how many again", asked) == 1
    assert len(asked) == 3


def test_the_oldest_answers_go(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "LONGEST", 2)
    store = build_store(tmp_path, [{}])
    asked: list[str] = []
    for question in ("a", "b", "c", "c", "a"):
        count(store, question, asked)
    assert asked == ["a", "b", "c", "a"]


def test_of_several_questions_only_the_new_ones_are_asked(tmp_path: Path) -> None:
    asked: list[list[Hashable]] = []

    def answer(questions: list[Hashable]) -> list[str]:
        asked.append(questions)
        return [f"of {question}" for question in questions]

    with build_store(tmp_path, [{}]).reader() as con:
        assert kept_each(con, ["b", "a"], answer) == ["of b", "of a"]
        assert kept_each(con, ["a", "c", "b", "d"], answer) == [
            *("of a", "of c"),
            *("of b", "of d"),
        ]
        assert kept(con, "c", lambda: "anew") == "of c"
        assert kept_each(con, ["d", "a"], answer) == ["of d", "of a"]
    assert asked == [["b", "a"], ["c", "d"]]


def test_what_another_request_weighs_is_waited_for(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    asked: list[str] = []
    begun, go_on = threading.Event(), threading.Event()

    def weigh(con: duckdb.DuckDBPyConnection) -> int:
        def answer() -> int:
            asked.append("weighed")
            begun.set()
            assert go_on.wait(60)
            return 7

        return kept(con, "slow", answer)

    def ask() -> int:
        with store.reader() as con:
            return weigh(con)

    with ThreadPoolExecutor(2) as pool:
        first = pool.submit(ask)
        assert begun.wait(60)
        second = pool.submit(ask)
        with store.reader() as con:
            # Another question is not held up by it.
            assert kept(con, "quick", lambda: 1) == 1
        assert not second.done()
        go_on.set()
        assert (first.result(60), second.result(60)) == (7, 7)
    assert asked == ["weighed"]


def test_after_one_that_failed_it_is_weighed_anew(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    with store.reader() as con:
        with pytest.raises(ZeroDivisionError):
            kept(con, "odd", lambda: 1 // 0)
        assert kept(con, "odd", lambda: 2) == 2

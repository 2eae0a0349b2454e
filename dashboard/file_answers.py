"""What every file is asked by, and its answer in words where there is none to give."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import wraps
from typing import ParamSpec

import duckdb
from flask import Response, request

from dashboard.address import View, parse_view
from dashboard.kept import read_kept_choices
from dashboard.wish import asked_wish, wishing
from queries.errors import FirmsetError
from queries.pinned import EditionNotKept
from queries.readers.choices import Choices
from queries.store import Store

Given = ParamSpec("Given")


class UnclearQuestion(FirmsetError):  # noqa: N818
    """The address does not say what the file needs to know."""


class TooLong(FirmsetError):  # noqa: N818
    """More records match than a worksheet holds."""


STATUS = {UnclearQuestion: 400, EditionNotKept: 410, TooLong: 413}


def plain_words(text: str, status: int) -> Response:
    """Return an answer in words where there is no file to give."""
    return Response(
        text + "\n", status=status, content_type="text/plain; charset=utf-8"
    )


def or_words(answer: Callable[Given, Response]) -> Callable[Given, Response]:
    """Make a route answer in words where it raises FirmsetError.

    By STATUS, and 503 for all else: the store cannot be read now.
    """

    @wraps(answer)
    def answered(*args: Given.args, **kwargs: Given.kwargs) -> Response:
        try:
            return answer(*args, **kwargs)
        except FirmsetError as error:
            said = str(error)
            ending = "" if said.endswith((".", "\n")) else "."
            return plain_words(said + ending, STATUS.get(type(error), 503))

    return answered


def require_clear(problems: Sequence[str]) -> None:
    """Raise UnclearQuestion where an address is not wholly understood.

    Unlike a page, a file has no place for a notice.
    """
    if problems:
        raise UnclearQuestion("\n".join(problems))


def asked_search() -> str:
    """Return the query string of the request."""
    return request.query_string.decode("latin-1")


@contextmanager
def asked_file(
    store: Store,
) -> Iterator[tuple[duckdb.DuckDBPyConnection, View, Choices]]:
    """Yield a reader of the edition that the request asks for, and what it asks.

    Raises UnclearQuestion, and what Store.reader raises.
    """
    search = asked_search()
    with (
        wishing(asked_wish(search)) as wanted,
        store.reader(wanted.edition_id) as con,
    ):
        choices = read_kept_choices(con)
        view = parse_view(search, choices)
        require_clear([*wanted.problems, *view.problems])
        yield con, view, choices

"""Whole answers to the browser, kept as the bytes that were sent.

An edition never changes: the same question to it has the same answer, for whoever
asks. Making it again costs a page its counting, drawing, serialising and packing;
sending what was sent before costs a look at which edition is shown.
"""

import json
import threading
from collections import OrderedDict
from collections.abc import Hashable
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from typing import Any

import duckdb
from flask import Flask, Response, g, request

from dashboard.admission import CALLBACKS
from dashboard.kept import begin_answer, is_passing, only_on, server_day
from dashboard.requested import requested_wish
from queries.errors import FirmsetError
from queries.readers.edition import which_edition
from queries.store import Store

# The callbacks that are kept: that of a page, and that of its later parts.
KEPT_OUTPUTS = (
    "..page.children...",
    '{"check":["MATCH"],"edition":["MATCH"],"part":["MATCH"],"type":"later",',
)
# Packed, a page is some ten kilobytes, and the largest parts some hundred.
MOST_BYTES = 64_000_000
LONGEST_QUESTION = 16_000
# The store cannot say which edition it shows: whoever is asked says why.
UNANSWERED = (FirmsetError, duckdb.Error)
SENT_AS = ("Content-Type", "Content-Encoding", "Vary")


@dataclass(frozen=True)
class _Kept:
    content: bytes
    headers: dict[str, str]
    only_on: date | None


class Answers:
    """What was answered lately, up to so many bytes; the oldest go first."""

    def __init__(self, most_bytes: int = MOST_BYTES) -> None:
        self._most_bytes = most_bytes
        self._lock = threading.Lock()
        self._kept: OrderedDict[Hashable, _Kept] = OrderedDict()
        self._bytes = 0

    def get(self, key: Hashable) -> Response | None:
        """Return what was sent for a question."""
        with self._lock:
            found = self._kept.get(key)
            if found is None:
                return None
            if found.only_on not in (None, server_day()):
                self._drop(key)
                return None
            self._kept.move_to_end(key)
        return Response(found.content, headers=found.headers)

    def keep(
        self, key: Hashable, response: Response, only_on: date | None = None
    ) -> None:
        """Keep what is sent for a question; with `only_on`, for that day (UTC)."""
        content = response.get_data()
        headers = {
            name: response.headers[name] for name in SENT_AS if name in response.headers
        }
        with self._lock:
            if key in self._kept:
                return
            self._kept[key] = _Kept(content, headers, only_on)
            self._bytes += len(content)
            while self._bytes > self._most_bytes:
                self._drop(next(iter(self._kept)))

    def _drop(self, key: Hashable) -> None:
        self._bytes -= len(self._kept.pop(key).content)


def add_answers(server: Flask, store: Store) -> Answers:
    """Answer what was asked before of the edition shown as it was answered then.

    Call it before anything else changes answers: what is registered first looks at a
    request first and at its response last. Not kept is what failed, and what says of
    itself that it holds only now (`kept.pass_on`); what says that it holds on one day
    (`kept.hold_today`) is kept for that day.
    """
    answers = Answers()

    @server.before_request
    def answer_again() -> Response | None:
        begin_answer()
        g.answer_key = _key(store)
        return answers.get(g.answer_key) if g.answer_key else None

    @server.after_request
    def keep(response: Response) -> Response:
        key = g.get("answer_key")
        # An edition that was published meanwhile may be the one that answered.
        is_whole = response.status_code == 200 and not is_passing()
        if key and is_whole and _key(store) == key:
            answers.keep(key, response, only_on())
        return response

    return answers


def _key(store: Store) -> Hashable | None:
    """Return all that the answer to the request depends on; None: is not kept."""
    if request.path != CALLBACKS or (request.content_length or 0) > LONGEST_QUESTION:
        return None
    body: Any = request.get_json(silent=True)
    with suppress(AttributeError, KeyError, TypeError, ValueError, *UNANSWERED):
        if not body["output"].startswith(KEPT_OUTPUTS):
            return None
        given = [*body["inputs"], *body.get("state", ())]
        [search] = [one.get("value") for one in given if one["property"] == "search"]
        wanted = requested_wish(search or "")
        with store.reader(wanted.edition_id) as con:
            edition = which_edition(con)
        return (
            edition,
            store.warning,
            store.current_edition_id(),
            request.headers.get("Accept-Language"),
            request.headers.get("Accept-Encoding"),
            # Not what changed: that a page asks for itself anew changes nothing in it.
            json.dumps([body["output"], body["outputs"], given]),
        )
    return None

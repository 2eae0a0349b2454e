"""Which requests are answered at all."""

import logging
import traceback
from collections.abc import Container, Sequence
from typing import Any

from dash import Dash
from flask import Flask, Response, request

from dashboard.file_answers import plain_words
from dashboard.guard import foreign_host

# A question with the largest list of anchors in it has some 1.5 MB. As JSON is read it
# takes thirty times its size of memory.
MOST_BYTES = 8 * 1024**2
CALLBACKS = "/_dash-update-component"
NO_QUESTION = "This is no question that a page of this server asks."


class Server(Flask):
    """Flask, but for what it says of a callback that failed: a line, and where.

    Anybody can send what makes one fail; what a page's making is worth a trace of is
    logged with it before (`failing.failure_words`).
    """

    def log_exception(self, exc_info: Any) -> None:
        """Log what was raised and not caught while a request was answered."""
        if request.path != CALLBACKS:
            super().log_exception(exc_info)
            return
        error = exc_info[1]
        last = traceback.extract_tb(error.__traceback__)[-1]
        logging.getLogger("firmset").error(
            "firmset: a callback failed: %s, at %s:%s",
            (traceback.format_exception_only(error)[-1].splitlines() or [""])[0],
            last.filename,
            last.lineno,
        )


def add_admission(
    server: Flask, names: Sequence[str] | None, large_at: Container[str]
) -> None:
    """Refuse what is not for this server, or too much for a question, in words.

    Call it before anything else that looks at requests. `names`: under which it is
    reached beside its addresses; None where that may be any. `large_at`: the paths that
    see to the size of what they take themselves.
    """

    @server.before_request
    def admit() -> Response | None:
        host = request.headers.get("Host", "")
        foreign = None if names is None else foreign_host(host, names)
        if foreign:
            return plain_words(foreign, 421)
        if request.path not in large_at and (request.content_length or 0) > MOST_BYTES:
            return plain_words(
                f"This is over {MOST_BYTES // 1024**2} MB, which no question is.", 413
            )
        if request.path == CALLBACKS and not _is_question():
            return plain_words(NO_QUESTION, 400)
        return None


def add_known_questions(app: Dash) -> None:
    """Refuse a callback that the app has not; call it once the app is made.

    Dash knows its callbacks when it looks at the first request, so before this does.
    """

    def admit_known() -> Response | None:
        if request.path != CALLBACKS or request.json["output"] in app.callback_map:
            return None
        return plain_words(NO_QUESTION, 400)

    app.server.before_request(admit_known)


def _is_question() -> bool:
    """Say whether the body has the shape of what Dash's own pages send."""
    try:
        body = request.get_json(silent=True)
    except RecursionError:
        return False
    return (
        isinstance(body, dict)
        and isinstance(body.get("output"), str)
        and all(isinstance(body.get(name, []), list) for name in ("inputs", "state"))
    )

"""Which requests are answered at all."""

from collections.abc import Sequence

from flask import Flask, Response, request

from dashboard.file_answers import plain_words
from dashboard.guard import foreign_host


def add_admission(server: Flask, names: Sequence[str] | None) -> None:
    """Refuse what is not for this server, in words.

    Call it before anything else that looks at requests. `names`: under which it is
    reached beside its addresses; None where that may be any.
    """

    @server.before_request
    def admit() -> Response | None:
        if names is None:
            return None
        foreign = foreign_host(request.headers.get("Host", ""), names)
        return plain_words(foreign, 421) if foreign else None

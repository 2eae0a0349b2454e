"""Which requests are answered at all."""

from collections.abc import Container, Sequence

from flask import Flask, Response, request

from dashboard.file_answers import plain_words
from dashboard.guard import foreign_host

# A question with the largest list of anchors in it has some 1.5 MB. As JSON is read it
# takes thirty times its size of memory.
MOST_BYTES = 8 * 1024**2


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
        return None

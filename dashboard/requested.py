"""What the browser's request wants; apart, since the terminal needs no web library."""

from flask import has_request_context, request

from dashboard.wish import Wish, asked_wish


def requested_wish(search: str) -> Wish:
    """Return what an address wants, and the language that its browser asks for."""
    header = request.headers.get("Accept-Language", "") if has_request_context() else ""
    return asked_wish(search, header)

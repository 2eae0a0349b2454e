"""Headers of every answer: nothing is fetched from, or sent to, another host.

And what a request must say of where it comes from: to read, and to write.
"""

import ipaddress
import socket
from collections.abc import Mapping, Sequence
from urllib.parse import urlsplit

from dash import Dash
from flask import Response

HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}


def add_headers(app: Dash) -> None:
    """Set the security headers on every response of the app's server."""

    def guard(response: Response) -> Response:
        # Computed for each answer: Dash may add an inline script at the first one.
        response.headers["Content-Security-Policy"] = content_policy(app.csp_hashes())
        response.headers.update(HEADERS)
        return response

    app.server.after_request(guard)


def content_policy(script_hashes: Sequence[str]) -> str:
    """Return the policy; inline styles stay allowed because plotly needs them."""
    scripts = " ".join(["'self'", *script_hashes])
    return "; ".join(
        [
            "default-src 'self'",
            f"script-src {scripts}",
            "style-src 'self' 'unsafe-inline'",
            "img-src 'self' data: blob:",
            "font-src 'self' data:",
            "worker-src 'self' blob:",
            "connect-src 'self'",
            "object-src 'none'",
            "base-uri 'none'",
            "frame-ancestors 'none'",
            "form-action 'self'",
        ]
    )


def refusal(headers: Mapping[str, str], names: Sequence[str] = ()) -> str | None:
    """Say why a request may not write; None where a page of this server sent it.

    Its Origin, which a browser sets and no page can change, must be the host that it
    is for, and that host this server's (`foreign_host`).
    """
    host = headers.get("Host", "")
    origin = headers.get("Origin", "")
    foreign = foreign_host(host, names)
    if foreign:
        return foreign
    if headers.get("Sec-Fetch-Site", "same-origin") != "same-origin":
        return "Another site's page asked for this; only the page Intake may."
    if origin.lower() not in (f"http://{host}".lower(), f"https://{host}".lower()):
        return (
            f"This was sent from {origin[:80] or 'no page'}, not from a page at "
            f"{host[:80]}; only the page Intake may."
        )
    return None


def foreign_host(host: str, names: Sequence[str] = ()) -> str | None:
    """Say that a request is for a host that this server is not; None where it is.

    Its own are addresses, this computer, and `names`: another name that leads here (DNS
    rebinding) would make a foreign page look like ours.
    """
    if _is_own_host(host, names):
        return None
    return (
        f"This server does not know itself as {host[:80]}; expected its address, or a "
        "name given with --allow-uploads."
    )


def _is_own_host(host: str, names: Sequence[str]) -> bool:
    try:
        name = (urlsplit(f"//{host}").hostname or "").lower()
    except ValueError:
        return False
    own = {"localhost", socket.gethostname().lower(), *(one.lower() for one in names)}
    return name in own or is_address(name)


def is_address(name: str) -> bool:
    """Say whether a host is written as an IP address."""
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True

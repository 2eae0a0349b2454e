"""Headers of every answer: nothing is fetched from, or sent to, another host."""

from collections.abc import Sequence

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

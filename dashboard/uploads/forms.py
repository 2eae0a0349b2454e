"""Forms that send a file or a text and then go where the answer says.

assets/firmset.js draws them and sends them; a refusal is told beside them.
"""

import json
from collections.abc import Mapping, Sequence

from dash import html

from dashboard.parts import data

# What sends a site map.
KEEP = "Check and keep it"


def file_form(
    post: str, *, name: str, label: str, button: str, most: int, accept: str, then: str
) -> html.Div:
    """Return the form that sends one file.

    `post` is the address that takes the file, `most` its largest size in bytes, `then`
    the id of what has the focus once it is sent.
    """
    content = {
        "post": post,
        "name": name,
        "label": label,
        "button": button,
        "most": most,
        "accept": accept,
        "then": then,
    }
    return html.Div(className="file-form", **data(file=json.dumps(content)))


def text_form(
    post: str,
    *,
    name: str,
    label: str,
    button: str,
    then: str,
    text: str = "",
    file: str = "",
    texts: Sequence[Mapping[str, str]] = (),
) -> html.Div:
    """Return the form that sends an edited text as a file named `file`.

    With `texts` one of them is chosen first: each has a `label`, its `file` and the
    address that gives it, `href`. Else as `file_form`.
    """
    content = {
        "post": post,
        "name": name,
        "label": label,
        "button": button,
        "then": then,
        "text": text,
        "file": file,
        "texts": list(texts),
    }
    return html.Div(className="file-form", **data(text=json.dumps(content)))

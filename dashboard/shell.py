"""What stays around every page: navigation, filter bar, footer."""

from collections.abc import Mapping, Sequence

import dash_mantine_components as dmc
from dash import dcc, html
from dash.development.base_component import Component

from dashboard import theme, words
from dashboard.address import DEFAULT_CHECK, View, format_search
from dashboard.parts import aria, link
from queries.judgement import ANY_CHECK, RATE_NAMES, all_checks
from queries.readers.choices import Choices
from queries.readers.edition import Edition

NOT_A_CERTIFICATE = (
    "firmset supports review and conversation: it never accepts, rejects or certifies "
    "an anchor and never sizes one. The anchor's published instructions, local codes "
    "and the engineer responsible decide."
)

# In the order of the arguments of `sync` in assets/firmset.js.
FILTER_IDS = (
    "filter-from",
    "filter-to",
    "filter-sites",
    "filter-crews",
    "filter-sizes",
    "filter-check",
)

NOT_HERE = "Does not apply here"
# What a page does with the filters: which it does not read, and what it shows where no
# check is chosen. In the words of the empty field; pages that are not here read all.
_UNREAD: Mapping[str, Sequence[str]] = {
    "/drilling": ("filter-check",),
    "/intake": FILTER_IDS,
    "/method": FILTER_IDS,
}
_NO_CHECK: Mapping[str, str] = {
    "/sites": "All four headline checks",
    "/crews": words.title(DEFAULT_CHECK),
}


def frame(choices: Choices) -> Component:
    """Return the layout around the page; the address fills everything in it."""
    whole: Component = dmc.MantineProvider(
        html.Div(
            [
                dcc.Location(id="address", refresh=False),
                html.A("Skip to the page", href="#page", className="skip"),
                _head(),
                _filter_bar(choices),
                html.Main(id="page", tabIndex="-1"),
                html.Footer(
                    [
                        html.P(NOT_A_CERTIFICATE),
                        html.P(id="edition"),
                        # On paper only: where the sheet comes from.
                        html.P(id="printed-address"),
                    ],
                    className="foot",
                ),
                html.Div(id="trouble", role="alert"),
                html.Div(id="said", role="status", className="hidden-text"),
                # The values the filters may take, for the two-way sync.
                dcc.Store(id="known", data=_known(choices)),
                dcc.Store(id="applies", data=applies()),
                # A list of anchors, for as long as the window is open.
                dcc.Store(id="bill-list"),
            ],
            className="shell",
        ),
        theme=theme.MANTINE_THEME,
        defaultColorScheme="auto",
    )
    return whole


def applies() -> dict[str, dict[str, object]]:
    """Return what each page does with the filters, by path, for assets/firmset.js.

    `disabled`: a truth value a filter of FILTER_IDS; `check`: what the filter of the
    check says while it is empty. "" stands for every other page.
    """
    return {
        path: {
            "disabled": [name in _UNREAD.get(path, ()) for name in FILTER_IDS],
            "check": (
                NOT_HERE
                if "filter-check" in _UNREAD.get(path, ())
                else _NO_CHECK.get(path, "Any")
            ),
        }
        for path in ("", *_UNREAD, *_NO_CHECK)
    }


def navigation(pages: Mapping[str, str], pathname: str, view: View) -> list[Component]:
    """Return the links of the navigation (`pages`: title by path); filters stay."""
    search = format_search(view.selection)
    return [
        link(
            title,
            path + search,
            **(aria(current="page") if path == pathname else {}),
        )
        for path, title in pages.items()
    ]


def edition_line(edition: Edition | None) -> str:
    """Say which edition of the data a page shows."""
    if edition is None:
        return ""
    return (
        f"Edition {edition.edition_id}, published {words.instant(edition.published_at)}"
    )


def _head() -> html.Header:
    return html.Header(
        [
            html.A(
                [html.Span("firm"), html.Span("set", className="accent")],
                href="/sites",
                className="wordmark",
                **aria(label="firmset, Sites"),
            ),
            html.Nav(id="navigation", **aria(label="Pages")),
            dmc.ColorSchemeToggle(
                lightIcon=html.Span("Dark paper"),
                darkIcon=html.Span("Light paper"),
                variant="default",
                className="paper",
                # Not the component's own name: what is read out is what is seen.
                **aria(label=""),
            ),
        ],
        className="head",
    )


def _filter_bar(choices: Choices) -> html.Section:
    first_on, last_on = choices.first_on, choices.last_on
    return html.Section(
        [
            html.Button(
                "Filters",
                id="filter-toggle",
                className="filter-toggle",
                **aria(expanded="false", controls="filters"),
            ),
            html.Div(
                [
                    _date("filter-from", "From", f"{first_on or ''}"),
                    _date("filter-to", "To", f"{last_on or ''}"),
                    _several(
                        "filter-sites",
                        "Sites",
                        [
                            {"value": code, "label": f"{name} ({code})"}
                            for code, name in choices.sites
                        ],
                    ),
                    _several("filter-crews", "Crews", _same(choices.crew_codes)),
                    _several("filter-sizes", "Sizes", _same(choices.anchor_sizes)),
                    dmc.Select(
                        id="filter-check",
                        label="Check",
                        placeholder="Any",
                        size="xs",
                        clearable=True,
                        clearButtonProps={"aria-label": "Clear check"},
                        data=[
                            {"value": check.name, "label": check.title}
                            for check in all_checks()
                        ]
                        + [{"value": ANY_CHECK, "label": words.title(ANY_CHECK)}],
                    ),
                ],
                id="filters",
                className="filters",
            ),
        ],
        className="filter-bar",
        **aria(label="Filters"),
    )


def _date(component_id: str, label: str, placeholder: str) -> Component:
    field: Component = dmc.DateInput(
        id=component_id,
        label=label,
        placeholder=placeholder,
        valueFormat="YYYY-MM-DD",
        size="xs",
        clearable=True,
        clearButtonProps={"aria-label": f"Clear {label.lower()}"},
    )
    return field


def _several(component_id: str, label: str, data: list[dict[str, str]]) -> Component:
    field: Component = dmc.MultiSelect(
        id=component_id,
        label=label,
        placeholder="All",
        size="xs",
        data=data,
        searchable=True,
        clearable=True,
        clearButtonProps={"aria-label": f"Clear {label.lower()}"},
        hidePickedOptions=True,
        # Enter takes what the letters typed leave.
        selectFirstOptionOnChange=True,
        nothingFoundMessage="Nothing of that name",
    )
    return field


def _same(values: tuple[str, ...]) -> list[dict[str, str]]:
    return [{"value": value, "label": value} for value in values]


def _known(choices: Choices) -> dict[str, list[str]]:
    return {
        "sites": [code for code, _ in choices.sites],
        "crews": list(choices.crew_codes),
        "sizes": list(choices.anchor_sizes),
        "check": list(RATE_NAMES),
    }

"""Method: how every figure is computed, from what, and where it stops."""

import duckdb
from dash import html

from dashboard import words
from dashboard.address import View
from dashboard.pages.method_choices import CHOICES
from dashboard.pages.method_figures import DEFINITIONS
from dashboard.pages.method_settings import settings_section
from dashboard.parts import at, contents, facts, page, section
from queries.judgement import Check, all_checks
from queries.readers.choices import Choices
from queries.readers.edition import read_edition
from queries.readers.settings import read_setting_data

LIMITS = (
    "firmset reads logs. It cannot see a wall: a false log gives false figures.",
    (
        "A site that records little looks neither good nor bad here; look at its "
        "range of truth."
    ),
    (
        "Sites with more of a difficult size have higher rates for that reason alone; "
        "the flag allows for it, the interval does not."
    ),
    (
        "A strict inspector finds more. Rates, comparisons and the retraining list do "
        "not take that out; the section “A crew, or its inspector?” of Crews does, as "
        "far as inspectors share crews."
    ),
    (
        "A torque checked later is never judged with the band for setting: preload "
        "relaxes."
    ),
    (
        "Rules marked “from memory” or “common practice, no source” are defaults to be "
        "confirmed against the anchor's own assessment."
    ),
)


_CONTENTS = (
    ("figures", "Figures"),
    ("choices", "Choices"),
    ("checks", "Checks"),
    ("units", "Units"),
    ("limits", "Limits"),
    ("setting-data", "Setting data in force"),
)


def render(con: duckdb.DuckDBPyConnection, view: View, choices: Choices) -> html.Div:
    """Return the page; it does not depend on the filters."""
    settings = read_setting_data(con)
    edition = read_edition(con)
    return page(
        "Method",
        "Every figure is a count of verdicts. Each anchor is held against its own "
        "published setting data, check by check; a missing answer is never a pass.",
        "The filters do not apply here.",
        contents(_CONTENTS),
        section(
            "Edition",
            "All figures of a page come from one published copy of the ledger.",
            facts(
                [
                    ("Edition", str(edition.edition_id)),
                    ("Published", words.instant(edition.published_at)),
                    (
                        "Installations from",
                        (
                            f"{choices.first_on or words.DASH} to "
                            f"{choices.last_on or words.DASH}"
                        ),
                    ),
                    ("Sites", words.count(len(choices.sites))),
                    ("Crews", words.count(len(choices.crew_codes))),
                ]
            ),
        ),
        at(
            "figures",
            section(
                "Figures", "What each word means on every page.", facts(DEFINITIONS)
            ),
        ),
        at(
            "choices",
            section(
                "Choices",
                "Where textbooks differ, what is done here and why.",
                facts(CHOICES),
            ),
        ),
        at(
            "checks",
            section(
                "Checks",
                "Rule, what leaves it open, and where the rule comes from.",
                *(_check(check) for check in all_checks()),
            ),
        ),
        at("units", _units()),
        at(
            "limits",
            section(
                "Limits",
                "What not to read into it.",
                html.Ul(list(map(html.Li, LIMITS))),
            ),
        ),
        at("setting-data", settings_section(settings)),
    )


def _units() -> html.Section:
    return section(
        "Units",
        "Logs are converted on loading by exact factors (NIST SP 811); dates are "
        "the site's own, instants UTC.",
        facts(
            [
                ("Length", "mm"),
                ("Torque", "Nm"),
                ("Strength", "MPa"),
                ("Time", "s"),
                ("Angle", "degrees"),
            ]
        ),
    )


def _check(check: Check) -> html.Div:
    pairs = [
        ("Nonconforming", check.rule),
        ("Unrecorded", check.unrecorded),
        *([("Inapplicable", check.inapplicable)] if check.inapplicable else []),
        ("Margin in", check.unit or "none: it is, or it is not"),
        ("Source", check.source),
    ]
    headline = " · headline" if check.is_headline else ""
    return html.Div(
        [html.H3([check.title, html.Small(headline)]), facts(pairs)],
        className="check",
        id=f"check-{check.name.replace('_', '-')}",
    )

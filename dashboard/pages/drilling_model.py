"""Drilling, the model: what decides the time, the sites, and whether to believe it."""

from collections.abc import Callable, Mapping

import polars as pl
from dash import html

from dashboard import words
from dashboard.address import format_search
from dashboard.drilling_words import (
    FATES,
    coverage_words,
    fates_words,
    study_words,
    term_name,
    thin_words,
    wear_words,
)
from dashboard.figures.drilling_model import (
    depth_residuals_figure,
    residuals_figure,
    site_effects_figure,
    wear_figure,
)
from dashboard.pages.common import count_column
from dashboard.parts import Cell, Column, Row, behind, graph, section, table
from queries.readers.drilling_model import DrillingData
from queries.statistics.drilling_effects import (
    STUDY_NEW_S,
    STUDY_WORN_M,
    STUDY_WORN_S,
    site_effects,
    study_check,
    tells_wear,
    term_effects,
    wear_curve,
)
from queries.statistics.drilling_model import DrillingModel, Lack


def times_section(data: DrillingData, names: Mapping[str, str]) -> html.Section:
    """Return what became of every drilling time, before anything is made of them."""

    def step(row: Row) -> str:
        size = max(row["resolution_s"], row["heap_s"])
        return words.quantity(size, "s") if size else "as written"

    found = [name for name in FATES if data.fates.height and data.fates[name].sum()]
    return section(
        "Which times are used",
        f"{fates_words(data.fates)} {thin_words(data.depths)}",
        behind(
            table(
                data.fates.to_dicts(),
                [
                    Column("Site", lambda row: names.get(row["site"], row["site"])),
                    count_column("Attempts", "attempts"),
                    count_column("Used", "used"),
                    *(count_column(_head(name), name) for name in found),
                    count_column("Over 25 mm/s", "over_limit"),
                    Column("Times in steps of", step, is_number=True),
                ],
                caption="Drilling times by site and what became of them",
            ),
            "/csv/drilling-times" + format_search(),
            what="times by site",
        ),
    )


def _head(name: str) -> str:
    return name.replace("_", " ").capitalize()


def model_section(data: DrillingData, names: Mapping[str, str]) -> html.Section:
    """Return what decides a hole's time, site by site, and how well it foretells."""
    model = data.fitted
    if isinstance(model, Lack):
        needs = f"A model of drilling time needs {model.value}."
        return section("What decides the time", needs)
    effects = site_effects(model)
    return section(
        "What decides the time",
        " ".join(
            [
                coverage_words(model),
                wear_words(model),
                study_words(study_check(model)),
            ]
        ),
        table(
            term_effects(model).to_dicts(),
            [
                Column("Term", lambda row: term_name(row["term"])),
                Column("Effect", _effect, is_number=True),
                Column("95 % interval", _effect_interval, is_number=True),
            ],
            caption=f"From {words.count(model.holes)} completed holes at "
            f"{words.plural(len(model.labels.sites), 'site')}; what is left from hole "
            f"to hole: {words.fixed(model.noise_var**0.5, 2)}, from crew to crew "
            f"{words.fixed(model.fit.crew_var**0.5, 2)}, from site to site "
            f"{words.fixed(model.fit.site_var**0.5, 2)} (deviations of log seconds). "
            "Methods are "
            f"beside {words.method(model.terms.methods[0])}, orientations beside "
            f"{model.terms.orientations[0]}",
        ),
        _pictures(model, effects, names),
        behind(
            html.Div([_site_table(effects, names), _check_table(model)]),
            "/csv/drilling-sites" + format_search(),
            what="sites and residuals",
            csv_what="sites",
        ),
    )


def _pictures(
    model: DrillingModel, effects: pl.DataFrame, names: Mapping[str, str]
) -> html.Div:
    return html.Div(
        [
            html.Div(
                [
                    html.H3(["Sites ", html.Small("crews and holes made alike")]),
                    graph(
                        site_effects_figure(effects, dict(names)),
                        name="drilling-sites",
                        says="How much longer each site takes than the middle one for "
                        "the same hole, with 95 % intervals.",
                    ),
                ],
                className="panel",
            ),
            html.Div(
                [
                    html.H3(["Residuals ", html.Small("on the line: log-normal")]),
                    graph(
                        residuals_figure(model.noise_log, model.noise_var**0.5),
                        name="drilling-residuals",
                        says="Quantiles of the residuals of log seconds against those "
                        "of a normal distribution.",
                    ),
                ],
                className="panel",
            ),
            _panel(
                "Residuals by depth",
                "a line a bit and method; faint: under 200 holes",
                graph(
                    depth_residuals_figure(model.checks),
                    name="drilling-residuals-depth",
                    says="Mean residual of log seconds against depth, a line for each "
                    "bit and method; on 0 the model fits its depths.",
                ),
                "Least squares, over one deviation of depth to either side. A line off "
                "0: the model does not fit that bit. A leaning line: nor its depths.",
            ),
            *_worn_panels(model),
        ],
        className="multiples wide",
    )


def _worn_panels(model: DrillingModel) -> list[html.Div]:
    if not tells_wear(model):
        return []
    panel = _panel(
        "Worn bits",
        "times the time with a new bit; 95 % interval",
        graph(
            wear_figure(wear_curve(model)),
            name="drilling-wear",
            says="How many times longer a hole takes by the metres that its "
            "bit has drilled, with a 95 % interval.",
        ),
        "The study named above measured "
        f"{words.fixed(STUDY_WORN_S / STUDY_NEW_S, 2)} times after "
        f"{words.quantity(STUDY_WORN_M, 'm')}, on another machine: not drawn.",
    )
    return [panel]


def _panel(heading: str, small: str, chart: html.Div, says: str) -> html.Div:
    return html.Div(
        [
            html.H3([f"{heading} ", html.Small(small)]),
            chart,
            html.P(says, className="says note"),
        ],
        className="panel",
    )


_EXPONENTS = ("depth", "diameter", "strength")


def _effect(row: Row) -> str:
    if row["term"] in _EXPONENTS:
        return f"power {_power(row['estimate'])}"
    return _more(row["factor"])


def _power(value: float) -> str:
    """Two decimals, no minus before a zero."""
    return words.fixed(round(value, 2) + 0.0, 2).replace("-", "\N{MINUS SIGN}")


def _effect_interval(row: Row) -> str:
    if row["term"] in _EXPONENTS:
        return f"{_power(row['low'])} to {_power(row['high'])}"
    return f"{_more(row['factor_low'])} to {_more(row['factor_high'])}"


def _more(factor: float) -> str:
    text = f"{words.fixed(100 * (factor - 1), 1, '+')}{words.SPACE}%"
    return text.replace("-", "\N{MINUS SIGN}")


def _site_table(effects: pl.DataFrame, names: Mapping[str, str]) -> html.Div:
    return table(
        effects.to_dicts(),
        [
            Column("Site", lambda row: names.get(row["site"], row["site"])),
            Column("Crews", lambda row: str(row["crews"]), is_number=True),
            Column("Longer by", lambda row: _more(row["factor"]), is_number=True),
            Column(
                "95 % interval",
                lambda row: f"{_more(row['low'])} to {_more(row['high'])}",
                is_number=True,
            ),
            Column(
                "Held by the others' 80 % interval",
                lambda row: words.known_percent(row["covered"]),
                is_number=True,
            ),
        ],
        caption="Sites: time for the same hole beside the middle site",
    )


def _check_table(model: DrillingModel) -> html.Div:
    return table(
        model.checks.to_dicts(),
        [
            Column(
                "Bit",
                lambda row: words.quantity(row["drill_diameter_mm"], "mm", 2),
                is_number=True,
            ),
            Column("Method", lambda row: words.method(row["drill_method"])),
            Column("Holes", lambda row: words.count(row["holes"]), is_number=True),
            Column(
                "Mean residual",
                lambda row: _residual(row["mean_log"]),
                is_number=True,
            ),
            Column("Shallower", _at_depth("shallow"), is_number=True),
            Column("Deeper", _at_depth("deep"), is_number=True),
            Column(
                "Deviation",
                lambda row: words.fixed(row["sd_log"], 2),
                is_number=True,
            ),
        ],
        caption="Residuals of log seconds by bit and method, and one deviation of "
        "depth to either side: far from 0 the model does not fit",
    )


def _at_depth(end: str) -> Callable[[Row], Cell]:
    return lambda row: Cell(
        _residual(row[f"{end}_log"]),
        small=f"at {words.quantity(row[f'{end}_mm'], 'mm', 0)}",
    )


def _residual(log_s: float) -> str:
    return words.fixed(log_s, 3, "+").replace("-", "\N{MINUS SIGN}")

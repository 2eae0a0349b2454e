"""Method: the setting data that every anchor is held against."""

import polars as pl
from dash import html

from dashboard import words
from dashboard.address import format_search
from dashboard.pages.common import count_column
from dashboard.parts import Column, Row, csv_link, section, table
from dashboard.units import unit_shown


def settings_section(settings: pl.DataFrame) -> html.Section:
    """Return the setting data in force, by diameter; `settings`: read_setting_data."""

    def measure(head: str, name: str) -> Column:
        return Column(
            head, lambda row: words.number(row[name], unit="mm"), is_number=True
        )

    def band(row: Row) -> str:
        low, high = row["torque_low_nm"], row["torque_high_nm"]
        if low is None or high is None:
            target = words.quantity(row["setting_torque_nm"], "Nm")
            return f"{target} ±10{words.SPACE}% (project default)"
        ends = [words.quantity(end, "Nm") for end in (low, high)]
        return " to ".join(ends)

    return section(
        "Setting data in force",
        f"By diameter. Lengths in {unit_shown('mm')}, torques in {unit_shown('Nm')}; "
        "the document each comes from is in the last column.",
        table(
            settings.to_dicts(),
            [
                Column("Code", lambda row: row["setting_code"]),
                Column("Type", lambda row: row["anchor_type_code"]),
                Column("Size", lambda row: row["anchor_size"]),
                measure("Bit", "drill_diameter_mm"),
                measure("h_ef", "embedment_mm"),
                measure("h_nom", "nominal_embedment_mm"),
                measure("h_1", "hole_depth_mm"),
                measure("Length", "anchor_length_mm"),
                measure("Max fixture", "max_fixture_mm"),
                Column("Torque", band, is_number=True),
                measure("Min edge", "min_edge_mm"),
                measure("at spacing", "at_spacing_mm"),
                measure("Min spacing", "min_spacing_mm"),
                measure("at edge", "at_edge_mm"),
                count_column("Brushes", "brushes_required"),
                count_column("Blows", "blows_required"),
                Column("Document", lambda row: row["document"], is_prose=True),
            ],
            caption="Setting data",
        ),
        csv_link("/csv/setting-data" + format_search(), "setting data"),
    )

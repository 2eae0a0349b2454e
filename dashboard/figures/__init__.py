"""Figures: a frame in, a plotly figure out. No data access, no page."""

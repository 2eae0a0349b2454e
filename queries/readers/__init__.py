"""Typed readers: one question a file, a Polars frame out. SQL stays in the views."""

"""The key of a sheet's rows, in SQL."""

from etl.sheets.declaration import Sheet


def same_key_sql(sheet: Sheet, one: str, other: str) -> str:
    """Return the condition under which rows of two relations have the same key."""
    return " and ".join(
        f"{one}.{name} is not distinct from {other}.{name}" for name in sheet.key
    )


def key_sql(sheet: Sheet, rows: str) -> str:
    """Return the key of a row of `rows` as one text (JSON)."""
    packed = ", ".join(f"{name} := {rows}.{name}" for name in sheet.key)
    return f"to_json(struct_pack({packed}))::varchar"

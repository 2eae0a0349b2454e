"""Write a site map: how a site's file becomes our columns, units and codes."""

from collections.abc import Mapping

from demo_data.sites import Site

INVENTED = "# Invented for demonstration: no real site.\n"


def site_map_toml(
    site: Site,
    match: str,
    columns: Mapping[str, str],
    files: Mapping[str, str | int] | None = None,
    date_format: str | None = None,
    codes: Mapping[str, Mapping[str, str | bool]] | None = None,
) -> str:
    """Return the text of a site map.

    `columns` maps canonical names to TOML values: a quoted header, or an inline table
    with unit or fill_down. `files` holds further keys of [files]. `codes` maps, per
    column, the site's words to ours.
    """
    parts = [
        INVENTED,
        _table(
            "site", {"code": site.code, "name": site.name, "time_zone": site.time_zone}
        ),
        _table("files", {"match": match} | dict(files or {})),
    ]
    if date_format:
        parts.append(_table("dates", {"format": date_format}))
    lines = [f"{name} = {value}" for name, value in columns.items()]
    parts.append("[columns]\n" + "\n".join(lines) + "\n")
    parts.extend(
        _table(f"codes.{name}", words) for name, words in (codes or {}).items()
    )
    return "\n".join(parts)


def _table(name: str, values: Mapping[str, str | int | bool]) -> str:
    lines = [f"{_key(key)} = {_value(value)}" for key, value in values.items()]
    return f"[{name}]\n" + "\n".join(lines) + "\n"


def _key(key: str) -> str:
    is_bare = key.isascii() and key.replace("_", "").replace("-", "").isalnum()
    return key if is_bare else f'"{key}"'


def _value(value: str | int | bool) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    return str(value) if isinstance(value, int) else f'"{value}"'

"""The header of an SQL file: what it says of itself."""


def read_header(sql: str) -> dict[str, str]:
    """Read the `-- key: text` lines at the top; a deeper indent continues a text."""
    fields: dict[str, str] = {}
    key = ""
    for line in sql.splitlines():
        if not line.startswith("--"):
            break
        text = line.removeprefix("-- ")
        if text.startswith(" "):
            fields[key] += " " + text.strip()
        else:
            key, _, value = text.partition(":")
            fields[key] = value.strip()
    return fields

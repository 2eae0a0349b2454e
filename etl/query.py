"""SQL text and, apart from it, the values it needs."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Query:
    """A SELECT with the values it needs, never spliced into its text."""

    sql: str
    parameters: dict[str, object]


class Parameters:
    """Hands out parameter names for values."""

    def __init__(self, prefix: str = "p") -> None:
        self.prefix = prefix
        self.values: dict[str, object] = {}

    def add(self, value: object) -> str:
        """Keep a value; return its place in the SQL text."""
        name = f"{self.prefix}{len(self.values)}"
        self.values[name] = value
        return f"${name}"

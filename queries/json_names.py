"""The names of the values in a JSON object, those in its objects too."""

from collections.abc import Iterator

# How deep an object may lie in others and still have column names of its own.
MOST_WITHIN = 8


class RepeatedKeyError(ValueError):
    """An object that names a key twice does not say which value it means."""


def leaves(record: dict[str, object]) -> Iterator[tuple[str, object]]:
    """Yield a record's values by name; one in an object has both, "hole.depth".

    A list is a value, as is an empty object or one that lies too deep; of a list of
    objects each value has a name as well, "holes.1.depth", counted from 1. Raises
    RepeatedKeyError where two values have one name: {"a": {"b": 1}, "a.b": 2}.
    """
    seen: set[str] = set()
    for name, value in _leaves(record, "", 0):
        if name in seen:
            raise RepeatedKeyError(f"the key {name!r} stands twice")
        seen.add(name)
        yield name, value


def is_list_of_objects(value: object) -> bool:
    """Say whether a value is a list whose objects' values have names of their own."""
    return isinstance(value, list) and any(isinstance(one, dict) for one in value)


def _leaves(
    record: dict[str, object], within: str, depth: int
) -> Iterator[tuple[str, object]]:
    for key, value in record.items():
        name = within + key
        if isinstance(value, dict) and value and depth < MOST_WITHIN:
            yield from _leaves(value, f"{name}.", depth + 1)
            continue
        yield name, value
        if (
            isinstance(value, list)
            and is_list_of_objects(value)
            and depth < MOST_WITHIN
        ):
            for place, one in enumerate(value, start=1):
                if isinstance(one, dict):
                    yield from _leaves(one, f"{name}.{place}.", depth + 1)

"""What a draft says of one thing: the value, how sure it is, and why."""

from dataclasses import dataclass
from typing import Generic, Literal, TypeVar

Sureness = Literal["sure", "likely", "guess"]
T = TypeVar("T")


@dataclass(frozen=True)
class Said(Generic[T]):
    """A value with its confidence in words and the reason."""

    value: T
    sureness: Sureness
    reason: str

    @property
    def is_active(self) -> bool:
        """Say whether a draft may use it without being asked."""
        return self.sureness != "guess"

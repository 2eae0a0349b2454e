"""How many examples a property is held to: few at every change, many by night."""

import os
from typing import Any

# FIRMSET_EXAMPLES=50 tries fifty times as many, and other ones at every run.
TIMES = int(os.environ.get("FIRMSET_EXAMPLES", "1"))


def examples(count: int) -> Any:
    """Return the settings of `count` examples, the same at every run, or many more."""
    return {
        "max_examples": count * TIMES,
        "deadline": None,
        "derandomize": TIMES == 1,
        "database": None,
    }

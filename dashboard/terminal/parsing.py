"""Options that a command does not have: said in one line, with the one meant."""

import argparse
import re
from collections.abc import Sequence
from difflib import get_close_matches

from queries.errors import FirmsetError


def parse(
    parser: argparse.ArgumentParser, arguments: Sequence[str] | None
) -> argparse.Namespace:
    """Return the arguments; FirmsetError where a command does not know one of them.

    Of each command `parser` has its own as the default of `parser`: argparse itself
    would show how commands are used, and not the one that was asked.
    """
    args, unknown = parser.parse_known_args(arguments)
    if not unknown:
        return args
    command: argparse.ArgumentParser = args.parser
    word = unknown[0].partition("=")[0]
    options = re.findall("--[a-z-]+", command.format_usage())
    meant = get_close_matches(word, options, n=1)
    expected = f"expected {meant[0]}, by its likeness; " if meant else ""
    kind = "option" if word.startswith("-") else "argument"
    name = command.prog
    raise FirmsetError(
        f"{word}: no {kind} of {name}, {expected}{name} --help lists all"
    )

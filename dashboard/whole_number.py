"""Whole numbers that a reader or a file wrote."""


def whole_number(text: str, most: int) -> int | None:
    """Return a number from 1 to `most`, zeros in front or not; None: it is none.

    Of any length: Python refuses to read one of thousands of digits.
    """
    if not (text.isascii() and text.isdigit()):
        return None
    digits = text.lstrip("0")
    number = int(digits) if 0 < len(digits) <= len(str(most)) else 0
    return number if 1 <= number <= most else None

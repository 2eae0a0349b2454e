"""The one error that reaches people: a single line that says what to do."""


class FirmsetError(Exception):
    """Something a person can put right; `str()` of it is one line for stderr.

    Names, where they apply, the file, the row, the column, the value found and
    what was expected.
    """

"""How much of a file is taken; beyond it the row, or the file, is refused in words."""

# Rows of one file. The largest sites log some 100 000 anchors a year.
MAX_ROWS = 50_000_000
MAX_COLUMNS = 1_000
# What a cell of a spreadsheet can hold; a row with a longer cell is rejected.
MAX_CELL_CHARACTERS = 32_767
# A line longer than this is rejected; its beginning is kept.
MAX_LINE_CHARACTERS = 1 << 20

MAX_UNPACKED_BYTES = 8 * 1024**3
# Logs pack 5 to 50 times. Below the floor a file is too small to do harm.
MAX_PACKING_RATIO = 200
PACKING_RATIO_FLOOR_BYTES = 64 * 1024**2

"""How many entries of the retraining list somebody can act on."""

# Offered on the page; the terminal takes any number.
BUDGETS = (3, 6, 12)
DEFAULT_BUDGET = 6

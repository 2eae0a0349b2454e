"""Top floor: the three readers' pages in the browser and the same in the terminal."""

import queries as queries  # Before plotly, which loads numpy.

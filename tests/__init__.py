import queries as queries  # Before a test loads numpy.

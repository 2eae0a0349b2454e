"""The same figures as the pages, in the terminal."""

"""One-page sheets for paper: the figures of pages and terminal, in plain words."""

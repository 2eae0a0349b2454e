"""Invented setting data, a generator with known truth and five small site logs."""

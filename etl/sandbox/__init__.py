"""Parse what could make a parser fail, in a process of its own with limits.

A small file can ask a parser for all the memory there is; that must end the one file,
with a line that says so, and not the load.
"""

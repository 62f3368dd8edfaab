"""Whether two commits give the same answers: `python -m tests.comparison --help`."""

"""The shipped grinds, one family a file."""

"""Answers, papers and rules as plain text for a terminal."""

"""Texts on a blade that somebody has in hand: which grind it has, and what it suits."""

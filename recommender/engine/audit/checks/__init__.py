"""Checks of rules: each alone, against each other, and against what there is to speak of."""

"""A fuzzer that stays: cases generated from a seed, area by area, and what may come of each.

`python -m tests.fuzz [--seed N] [--cases N] [--only NAME ...]` runs many and prints counts by area.
"""

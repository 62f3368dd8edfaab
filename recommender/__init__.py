"""Bevelwright's engine: it knows no grind, no task and no steel by name."""

__version__ = "0.1.0"

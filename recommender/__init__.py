"""Bevelwright's engine: it knows no grind, no task and no steel by name."""

from recommender import moved

__version__ = "0.1.0"

moved.install()

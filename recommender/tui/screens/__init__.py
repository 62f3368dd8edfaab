"""Screens that stand over the answer."""

"""Packs of rules and tables: data only."""

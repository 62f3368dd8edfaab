"""Figures of a section, grouped by what they are about."""

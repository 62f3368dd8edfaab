"""Candidates -> metrics -> rules -> ranking -> explanation; knows no grind, task or steel by name."""

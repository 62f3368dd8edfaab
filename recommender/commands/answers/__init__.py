"""Commands that answer: recommend, life, section, measure, sweep, listings."""

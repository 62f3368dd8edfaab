"""Pydantic models of everything that crosses a boundary: briefs, tables, rules, proposals."""

"""A tool: whether stated chances and bands hold, by worlds whose numbers are drawn."""

"""The workshop: what a blade takes to make, what it costs, and the book of quotes."""

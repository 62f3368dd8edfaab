"""Commands about rules."""

"""Questions about the rules: what is wrong with them, which matter, what others would change."""

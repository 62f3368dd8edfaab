"""A brief read, made whole, and put before the rules that it leaves in question."""

"""How sure an answer is, what would flip it, and what the shop's errors do."""

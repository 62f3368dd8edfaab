"""The quote book: kept, exported, imported, and asked again with today's rates."""

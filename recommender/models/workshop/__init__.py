"""What a workshop writes: shop, quote, quote book, set-up sheet, documents, drawings."""

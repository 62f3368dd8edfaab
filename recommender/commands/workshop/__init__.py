"""Commands of the workshop: worksheet, draw, quote, book, shop."""

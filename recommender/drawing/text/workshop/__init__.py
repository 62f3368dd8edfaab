"""What a workshop reads as text: set-up sheet, price, quote book, rates, swept rows."""

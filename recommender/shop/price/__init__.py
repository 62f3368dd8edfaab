"""What an order costs: bars, steel that comes off, work, and the lines of the price."""

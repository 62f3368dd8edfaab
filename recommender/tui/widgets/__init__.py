"""What stands on the screen: the form, the answer's page, rows that move, the order."""

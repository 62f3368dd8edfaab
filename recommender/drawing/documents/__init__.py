"""What a customer gets: quote and care sheet as blocks, and their formats."""

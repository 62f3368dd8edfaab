"""A shop's rates: read from shop.toml, and fitted to past times."""

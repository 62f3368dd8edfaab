"""Packs: TOML in, checked models out; every error says file, key, what was expected and the nearest name."""

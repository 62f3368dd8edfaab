"""Rules as files state them: read, converted from the form of 0.1, written, and new ones to fill in."""

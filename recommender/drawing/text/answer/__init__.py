"""Parts of an answer as text, one a file."""

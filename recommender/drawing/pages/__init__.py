"""Everything that is loaded as pages of Markdown that link to each other."""

"""Many briefs, read from a stream, answered in short and shared out to processes."""

"""Candidates drawn, measured and judged; the best of each grind refined to shop steps; the form of the blade."""

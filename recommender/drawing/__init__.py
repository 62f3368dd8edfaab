"""The answer as text, braille drawings for a terminal, and the workshop drawing as SVG, DXF and PDF."""

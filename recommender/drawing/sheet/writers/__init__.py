"""A drawing written in a format: SVG, DXF, PDF."""

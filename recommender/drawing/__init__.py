"""Writers: the answer and the section as text for a terminal, the section as SVG."""

"""Mechanics on exact sections: cutting, splitting, strength, wear, sharpening. numpy only, N, mm, MPa."""

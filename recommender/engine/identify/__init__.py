"""A section measured, a blade in the hand recognised, what it suits and how it could be reground."""

"""A figure against that of the usual blade, in words."""

from __future__ import annotations


def of_usual_words(ratio: float) -> str:
    """A figure against that of the usual blade, to a twentieth where they are near: a band lies about both.

    >>> of_usual_words(0.83), of_usual_words(1.004), of_usual_words(2.31)
    ("0.85 of the usual blade's", 'as much as the usual blade', "2.3 times the usual blade's")
    """
    near = round(ratio * 20) / 20
    if near == 1:
        return "as much as the usual blade"
    return (
        f"{near:g} of the usual blade's"
        if near < 1
        else f"{near if near < 2 else round(ratio, 1):g} times the usual blade's"
    )

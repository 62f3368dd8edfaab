"""A canvas of braille dots, two across and four down in every character cell."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

_DOT = np.array([[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]])
CELL_DOTS = (2, 4)
"""Dots across and down a cell; a cell is about twice as high as wide, so dots are about square."""


def braille(dots: npt.NDArray[np.bool_]) -> list[str]:
    """Turn a grid of dots (rows, columns) into lines of braille; blank cells become spaces.

    >>> braille(np.ones((4, 4), dtype=bool))
    ['⣿⣿']
    """
    rows, columns = dots.shape
    padded = np.zeros((-(-rows // 4) * 4, -(-columns // 2) * 2), dtype=bool)
    padded[:rows, :columns] = dots
    cells = padded.reshape(padded.shape[0] // 4, 4, padded.shape[1] // 2, 2)
    codes = (cells * _DOT[None, :, None, :]).sum(axis=(1, 3))
    return ["".join(chr(0x2800 + code) if code else " " for code in line).rstrip() for line in codes]


def marks(width: int, labels: Sequence[tuple[int, str]]) -> list[str]:
    """Place labels under columns of a drawing: a row of ticks, then the texts on as few rows as they need.

    A text starts at its tick, or ends there where it would run past `width`.

    >>> marks(20, [(0, "edge"), (18, "spine")])
    ['╵                 ╵', 'edge          spine']
    """
    ticks = [" "] * (width + 1)
    rows: list[list[str]] = []
    for column, text in labels:
        column = min(max(column, 0), width - 1)
        ticks[column] = "╵"
        start = column if column + len(text) <= width else max(0, column - len(text) + 1)
        for row in rows:
            if all(c == " " for c in row[max(0, start - 1) : start + len(text) + 1]):
                break
        else:
            row = [" "] * (width + max(len(t) for _, t in labels) + 1)
            rows.append(row)
        row[start : start + len(text)] = text
    return ["".join(ticks).rstrip(), *("".join(row).rstrip() for row in rows)]

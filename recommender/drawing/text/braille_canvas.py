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


class Canvas:
    """A grid of dots to draw curves on, `columns` x `rows` cells; x runs right and y up, in dots."""

    def __init__(self, columns: int, rows: int) -> None:
        self.dots = np.zeros((rows * CELL_DOTS[1], columns * CELL_DOTS[0]), dtype=bool)

    def curve(self, x: npt.ArrayLike, y: npt.ArrayLike, *, on: int = 1, off: int = 0, invert: bool = False) -> None:
        """Draw straight lines from point to point, `on` dots drawn and `off` left out in turn; NaN breaks the line.

        `invert` turns drawn dots off and others on, so that a line is seen on a filled ground too.
        """
        xs, ys = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
        steps = np.maximum(np.abs(np.diff(xs)), np.abs(np.diff(ys)))
        counts = np.where(np.isfinite(steps), np.ceil(np.nan_to_num(steps)), 0).astype(int)
        columns, rows = [], []
        for k in np.flatnonzero(counts):
            t = np.arange(counts[k] + 1) / counts[k]
            columns.append(xs[k] + t * (xs[k + 1] - xs[k]))
            rows.append(ys[k] + t * (ys[k + 1] - ys[k]))
        if not columns:
            return
        height, width = self.dots.shape
        column = np.floor(np.concatenate(columns) + 0.5).astype(int)
        row = height - 1 - np.floor(np.concatenate(rows) + 0.5).astype(int)
        fresh = np.append(True, (np.diff(column) != 0) | (np.diff(row) != 0))
        column, row = column[fresh], row[fresh]
        seen = (np.arange(len(column)) % (on + off) < on) & (row >= 0) & (row < height) & (column >= 0)
        seen &= column < width
        at = (row[seen], column[seen])
        self.dots[at] = ~self.dots[at] if invert else True

    def lines(self) -> list[str]:
        """The canvas as text."""
        return braille(self.dots)


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

"""Rates from the times of past jobs: straight lines through minutes over amount, with their spread."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from recommender.errors import InputError
from recommender.files import read_file
from recommender.models.workshop.book import Fitted
from recommender.models.workshop.shop import PIECES, Shop
from recommender.shop.quotes.quote_book import Book
from recommender.text import shorten

COLUMNS = ("rate", "amount", "minutes")
MOST_BYTES = 5_000_000
LEAST_JOBS = 3
"""For a line with a set-up of its own; with fewer, the shop's set-up stands."""
LEAST_RANGE = 1.2
"""Largest over smallest amount for such a line: jobs alike say nothing about setting up."""


class Job(NamedTuple):
    """How long it took to work off an amount at a rate of the shop's."""

    rate: str
    amount: float
    minutes: float


class FittedLine(NamedTuple):
    """A straight line y = start + slope x with its standard errors and the spread about it."""

    start: float
    slope: float
    start_error: float
    slope_error: float
    strays: float


def least_squares(x: Iterable[float], y: Iterable[float]) -> FittedLine:
    """The line of least squares through points, at least three with two different x.

    slope = Sxy/Sxx, start = mean y - slope mean x, s^2 = SSE/(n - 2), errors s/sqrt(Sxx) and
    s sqrt(1/n + mean x^2/Sxx).
    Source: any text on linear regression; checked on NIST's reference data.
    """
    xs, ys = np.asarray(list(x), dtype=float), np.asarray(list(y), dtype=float)
    n, mean_x, mean_y = len(xs), xs.mean(), ys.mean()
    sxx = float(((xs - mean_x) ** 2).sum())
    slope = float(((xs - mean_x) * (ys - mean_y)).sum()) / sxx
    start = float(mean_y - slope * mean_x)
    strays = math.sqrt(float(((ys - start - slope * xs) ** 2).sum()) / (n - 2))
    return FittedLine(
        start, slope, strays * math.sqrt(1 / n + float(mean_x) ** 2 / sxx), strays / math.sqrt(sxx), strays
    )


def fits(jobs: Iterable[Job], shop: Shop) -> list[Fitted]:
    """A rate for each that there are times of, in the order of shop.toml."""
    known = rates_of(shop)
    times = [job for job in jobs if job.rate in known and job.amount > 0]
    return [
        _fitted(rate, known[rate], [job for job in times if job.rate == rate])
        for rate in known
        if any(job.rate == rate for job in times)
    ]


class Rate(NamedTuple):
    """A rate as the shop has it."""

    unit: str
    per_min: float
    set_up: float | None


def rates_of(shop: Shop) -> dict[str, Rate]:
    """Every rate of the shop's that times can be held against, by where it stands in shop.toml."""
    grinding = shop.grinding
    out = {
        "grinding.profile_mm_per_min": Rate("mm", grinding.profile_mm_per_min, grinding.profile_set_up_minutes),
        "edge.mm_per_min": Rate("mm", shop.edge.mm_per_min, shop.edge.set_up_minutes),
    }
    for name in ("platen", "wheel", "slack_belt"):
        way = getattr(grinding, name)
        out[f"grinding.{name}"] = Rate("mm³", way.mm3_per_min, way.set_up_minutes)
    for place, grit in enumerate(shop.grits):
        if grit.mm2_per_min is not None:
            out[f"grits.{place}.mm2_per_min"] = Rate("mm²", grit.mm2_per_min, None)
    for finish in shop.finishes:
        if finish.mm2_per_min is not None:
            out[f"finishes.{finish.id}.mm2_per_min"] = Rate("mm²", finish.mm2_per_min, None)
    each = {"heat_treatment.handling_minutes": shop.heat_treatment.handling_minutes}
    each |= {f"handles.{part.id}.minutes": part.minutes for part in shop.handles}
    each |= {f"sheaths.{part.id}.minutes": part.minutes for part in shop.sheaths}
    # What takes no time has no rate.
    out |= {name: Rate(PIECES, 1 / minutes, None) for name, minutes in each.items() if minutes}
    return out


def _fitted(name: str, rate: Rate, jobs: list[Job]) -> Fitted:
    amounts, minutes = [job.amount for job in jobs], [job.minutes for job in jobs]
    fits = rate.set_up is not None and len(jobs) >= LEAST_JOBS and max(amounts) >= LEAST_RANGE * min(amounts)
    line = least_squares(amounts, minutes) if fits else None
    if line is not None and not (line.start >= 0 and line.slope > 0):
        line = None
    slope, error, strays = (
        _through(rate.set_up or 0.0, amounts, minutes) if line is None else (line.slope, line.slope_error, line.strays)
    )
    grows = slope > 0
    return Fitted(
        rate=name,
        unit=rate.unit,
        jobs=len(jobs),
        set_up_minutes=rate.set_up if line is None else line.start,
        set_up_fitted=line is not None,
        set_up_spread=None if line is None else line.start_error,
        per_min=1 / slope if grows else None,
        low=1 / (slope + error) if grows and error is not None else None,
        high=1 / (slope - error) if grows and error is not None and error < slope else None,
        strays_minutes=strays,
        now_per_min=rate.per_min,
        now_set_up=rate.set_up,
    )


def _through(set_up: float, amounts: list[float], minutes: list[float]) -> tuple[float, float | None, float | None]:
    """Slope of least squares through the shop's set-up, its error and the spread; None for a single job."""
    x, y = np.asarray(amounts), np.asarray(minutes) - set_up
    slope = float((x * y).sum() / (x * x).sum())
    if len(amounts) < 2:
        return slope, None, None
    strays = math.sqrt(float(((y - slope * x) ** 2).sum()) / (len(amounts) - 1))
    return slope, strays / math.sqrt(float((x * x).sum())), strays


def noted(book: Book) -> list[Job]:
    """Times noted in a quote book, each with the amount that its quote had reckoned."""
    jobs, quotes = [], {}
    for time in book.times():
        key = (time.number, time.revision)
        if key not in quotes:
            quotes[key] = book.quote(*key)[0]
        quote = quotes[key]
        planned = next((work for work in quote.price.work if work.id == time.work), None)
        if planned is not None:
            jobs.append(Job(planned.rate_from, planned.amount * quote.order.pieces, time.minutes))
    return jobs


def read_times(file: str, shop: Shop) -> list[Job]:
    """Times from a CSV file with the columns rate, amount, minutes. Raises InputError with the row named.

    Rates are named as they stand in shop.toml, such as grinding.platen.
    """
    expected = f"a CSV file with the columns {', '.join(COLUMNS)}"
    raw = read_file(file, MOST_BYTES, expected)
    if len(raw) > MOST_BYTES:
        raise InputError("too long", file=file, expected=f"at most {MOST_BYTES:,} bytes")
    try:
        rows = list(csv.reader(io.StringIO(raw.decode("utf-8-sig"), newline=""), strict=True))
    except (UnicodeDecodeError, csv.Error) as cause:
        raise InputError(f"cannot be read ({cause})", file=file, expected=expected) from None
    if not rows or [cell.strip() for cell in rows[0]] != list(COLUMNS):
        raise InputError("no such columns", file=file, key="row 1", expected=expected)
    known = rates_of(shop)
    return [_job(row, place, file, known) for place, row in enumerate(rows[1:], 2) if any(cell.strip() for cell in row)]


def _job(row: list[str], place: int, file: str, known: Iterable[str]) -> Job:
    if len(row) != len(COLUMNS):
        raise InputError(f"{len(row)} cells", file=file, key=f"row {place}", expected=f"{len(COLUMNS)} cells")
    rate = row[0].strip()
    if rate not in known:
        raise InputError(
            f"the shop has no rate {shorten(rate)}",
            file=file,
            key=f"row {place}.rate",
            expected=f"one of {', '.join(known)}",
            given=rate,
            valid=known,
        )
    numbers = []
    for name, text in zip(COLUMNS[1:], row[1:], strict=True):
        try:
            number = float(text)
        except ValueError:
            number = math.nan
        if not 0 < number < 1e9:
            raise InputError(
                f"{shorten(text)} does not fit", file=file, key=f"row {place}.{name}", expected="a number above 0"
            )
        numbers.append(number)
    return Job(rate, *numbers)

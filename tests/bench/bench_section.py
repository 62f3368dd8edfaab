"""Section measures side by side with peers, in one run: python tests/bench/bench_section.py

Prints microseconds a section and ratios; medians of several rounds. Not part of the test suite.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np
from sectionproperties.analysis import Section
from sectionproperties.pre import Geometry
from shapely import Polygon

from recommender.geometry.arcs import bulge_from_radius
from recommender.geometry.outline import face, symmetric
from recommender.geometry.section import measure

N = 20_000


def outlines(n: int) -> np.ndarray:
    """Saber hollows: two arcs each."""
    stock = np.linspace(2.0, 5.0, n)
    edge, line = 0.2, 18.0
    bulge = -bulge_from_radius(np.hypot(stock / 2 - edge, line - 0.6), np.full(n, 175.0))
    return symmetric(face((0, 0, 0), (edge, 0.6, bulge), (stock / 2, line, 0), (stock / 2, 28.0, 0)))


def median_us(run: Callable[[], object], sections: int, rounds: int = 7) -> float:
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        run()
        times.append((time.perf_counter() - start) / sections * 1e6)
    return statistics.median(times)


def densified(outline: np.ndarray, steps: int = 32) -> list[tuple[float, float]]:
    points: list[tuple[float, float]] = []
    for (x0, y0, b), (x1, y1, _) in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        for k in range(steps if b else 1):
            t = k / steps
            w = (1 - b * b) / (1 + b * b)
            s = b / (1 + b * b)
            cx, cy = w * (x0 + x1) / 2 + s * (y1 - y0), w * (y0 + y1) / 2 - s * (x1 - x0)
            q = (1 - t) ** 2 + 2 * t * (1 - t) * w + t * t
            points.append(
                (
                    ((1 - t) ** 2 * x0 + 2 * t * (1 - t) * cx + t * t * x1) / q,
                    ((1 - t) ** 2 * y0 + 2 * t * (1 - t) * cy + t * t * y1) / q,
                )
            )
    return points


def main() -> None:
    many = outlines(N)
    ours = median_us(lambda: measure(many), N)
    polygon = densified(many[0])
    area_only = median_us(lambda: [Polygon(polygon).area for _ in range(200)], 200)

    def elements() -> None:
        section = Section(Geometry(Polygon(polygon)).create_mesh(mesh_sizes=[1.0]))
        section.calculate_geometric_properties()

    finite = median_us(elements, 1, rounds=3)
    print(f"measure, {N} sections:            {ours:10.3f} us a section (area, centroid, 2nd moments, perimeter)")
    print(f"shapely, area of 32 points an arc: {area_only:10.3f} us a section, {area_only / ours:.0f} x")
    print(f"sectionproperties, 1 mm2 mesh:     {finite:10.1f} us a section, {finite / ours:.0f} x")


if __name__ == "__main__":
    main()

"""How often caliper readings name the right grind: python tests/bench/bench_identify.py [trials] [processes]

Random blades of realistic size of every family, 8 to 12 readings each, with normal errors of thickness and of the
height at which it was read. Three tables: with the flat face and the tip stated; the same where no wheel above
500 mm is possible; and with nothing stated but height and edge angle. A cell is

    right / cannot tell, truth named / cannot tell or none fits, truth not named / a wrong grind named alone, percent

Measured on 30 November 2026 with eleven grinds, 6 blades a cell, so that a cell is good to 20 percent. Flat face and
tip stated: right in 71 percent of all, the truth named in all 330, no wrong grind named alone. Compound, chisels, saber
convex and single bevel are right in 90 percent or more; a full flat in 30 and a saber flat in 7, as hardly a caliper
tells them from hollows of a wheel of two metres. No wheel above 500 mm: full flat 97 percent, saber flat 57.

"right" counts a section that coincides with the truth's nearest description (see `Identification.same`). Not part of
the test suite.
"""

from __future__ import annotations

import multiprocessing
import os
import sys
import time
from collections import Counter

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from recommender.engine.identify.identification import identify
from recommender.engine.identify.readings import LARGEST_WHEEL_MM, CaliperBlade
from recommender.geometry.profile import thickness
from recommender.plugin.api import BOTH, LEFT, RIGHT, Designs, Grind, Workshop
from recommender.service import Service

NOISE = ((0.0, 0.0), (0.02, 0.0), (0.05, 0.0), (0.02, 0.2), (0.05, 0.2))
WHEELS = (100.0, 150.0, 200.0, 250.0, 300.0, 350.0, 400.0)
WORKSHOP = Workshop(WHEELS, True, True)
REALISTIC = {
    "stock_thickness_mm": (2.0, 5.0),
    "height_mm": (15.0, 40.0),
    "edge_thickness_mm": (0.15, 0.6),
    "edge_angle_per_side_deg": (12.0, 25.0),
    "grind_line_share": (0.35, 0.8),
    "crown_share": (0.5, 1.0),
}
NARROWER = {"scandi": {"edge_angle_per_side_deg": (10.0, 15.0)}, "full-hollow": {"height_mm": (12.0, 25.0)}}
FLAT = {BOTH: "none", RIGHT: "left", LEFT: "right"}


def blade_of(grind: Grind, random: np.random.Generator) -> tuple[Designs, np.ndarray]:
    """One design that can be made, and its outline."""
    ranges = {**REALISTIC, **NARROWER.get(grind.id, {})}
    while True:
        columns = {
            "height_mm": random.uniform(*ranges["height_mm"]),
            "grind_line_mm": np.nan,
            "edge_thickness_mm": 0.0,
            "wheel_diameter_mm": np.nan,
            "micro_bevel_per_side_deg": np.nan,
            "side": BOTH,
        }
        for p in grind.parameters:
            if p.name == "wheel_diameter_mm":
                columns[p.name] = random.choice(WHEELS)
            else:
                columns[p.name] = random.choice(p.choices) if p.choices else random.uniform(*ranges[p.name])
        designs = grind.complete(Designs({name: np.array([value]) for name, value in columns.items()}))
        if not any(refusal.rows.any() for refusal in grind.refusals(designs, WORKSHOP)):
            return designs, grind.outlines(designs)


def outcome(job: tuple[str, int, int, bool, float]) -> str:
    """Measure one random blade: right, among, wrong, missed or none."""
    name, level, trial, stated, largest = job
    noise, height_noise = NOISE[level]
    grinds = SERVICE.grinds
    random = np.random.default_rng([sorted(grinds).index(name), trial])  # the same blades at every noise
    designs, outline = blade_of(grinds[name], random)
    height = float(designs["height_mm"][0])
    heights = np.linspace(1.0, height - 0.5, int(random.integers(8, 13)))
    taken = np.clip(heights + height_noise * random.normal(size=heights.size), 0.3, height)
    values = thickness(outline, taken[None, :])[0] + noise * random.normal(size=heights.size)
    micro = float(designs["micro_bevel_per_side_deg"][0])
    found = identify(
        grinds,
        CaliperBlade(
            tuple(zip(heights.tolist(), values.tolist(), strict=True)),
            height_mm=height,
            edge_angle_per_side_deg=float(designs["edge_angle_per_side_deg"][0]) if np.isnan(micro) else micro,
            flat_face=FLAT[designs["side"][0]] if stated else None,
            tip=("same" if grinds[name].tip_outlines is None else "other") if stated else None,
            uncertainty_mm=max(noise, 0.03),
            largest_wheel_mm=largest,
        ),
    )
    if found.verdict == "none fits":
        return "none"
    named = name in found.grinds
    if found.verdict == "identified":
        return "right" if named or name in found.same else "wrong"
    return "among" if named or name in found.same else "missed"


SERVICE = Service(strict=True, own_packs=False, own_shop=False)


def main() -> None:
    trials = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    processes = int(sys.argv[2]) if len(sys.argv) > 2 else os.cpu_count()
    start = time.perf_counter()
    done = 0
    with multiprocessing.Pool(processes) as pool:
        for about, stated, largest in (
            ("flat face and tip stated", True, LARGEST_WHEEL_MM),
            ("flat face and tip stated, no wheel above 500 mm", True, 500.0),
            ("neither stated", False, LARGEST_WHEEL_MM),
        ):
            print(f"\n{about}: right / truth named / not named / wrong, % of {trials} blades")
            print(f"{'family':<14}" + "".join(f"{f'{n:g} mm, height {h:g}':>20}" for n, h in NOISE))
            for name in sorted(SERVICE.grinds):
                cells = []
                for level in range(len(NOISE)):
                    jobs = [(name, level, trial, stated, largest) for trial in range(trials)]
                    got = Counter(pool.map(outcome, jobs))
                    done += trials
                    share = (got["right"], got["among"], got["missed"] + got["none"], got["wrong"])
                    cells.append("/".join(f"{100 * s / trials:.0f}" for s in share))
                print(f"{name:<14}" + "".join(f"{cell:>20}" for cell in cells), flush=True)
    print(f"\n{(time.perf_counter() - start) / done:.2f} s a blade on {processes} processes")


if __name__ == "__main__":
    main()

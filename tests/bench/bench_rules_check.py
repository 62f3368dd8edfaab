"""How long `rules check` takes for the shipped rules and for 500: `python tests/bench/bench_rules_check.py`.

The 500 are the shipped ones and copies of them with other ids, windows, bounds and words, so that copies of limits
repeat each other and everything there is to compare is compared.
"""

from __future__ import annotations

import re
import tempfile
import time
from pathlib import Path

import bevelwright_rules

from recommender.service import Service

RULES = Path(bevelwright_rules.__file__).parent / "core" / "rules"
ROUNDS = 5


def copies(folder: Path, count: int) -> None:
    """Write a pack of so many rules, each a shipped one changed a little."""
    (folder / "rules").mkdir(parents=True)
    (folder / "pack.toml").write_text('id = "copies"\ntitle = "Copies"\nversion = "1"\n', encoding="utf-8")
    files = sorted(RULES.glob("*.toml"))
    for k in range(count):
        file, turn = files[k % len(files)], k // len(files)
        text = re.sub(r'^id = ".*"', f'id = "{file.stem}-{turn}"', file.read_text(encoding="utf-8"))
        text = re.sub(r"(from|points|min|max) = (-?[\d.]+)", lambda m: f"{m[1]} = {0.9 * float(m[2]) + 0.001:g}", text)
        text = text.replace('text = "', f'text = "{turn}: ')
        (folder / "rules" / f"{file.stem}-{turn}.toml").write_text(text, encoding="utf-8")


def told(service: Service, places: list[str]) -> None:
    """Print the best of some rounds."""
    best = min(timed(service, places) for _ in range(ROUNDS))
    checked = service.rules.check(places)
    print(f"{checked.rules} rules, {len(checked.findings)} findings: {1000 * best:.0f} ms")


def timed(service: Service, places: list[str]) -> float:
    """Seconds of one check."""
    start = time.perf_counter()
    service.rules.check(places)
    return time.perf_counter() - start


if __name__ == "__main__":
    service = Service(own_packs=False, own_shop=False)
    told(service, [])
    with tempfile.TemporaryDirectory() as folder:
        pack = Path(folder) / "copies"
        copies(pack, 500 - service.rules.check().rules)
        told(service, [str(pack)])

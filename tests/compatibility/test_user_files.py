"""Packs, shop files, keys and the form that the interface kept, as users of an earlier version have them."""

from __future__ import annotations

import json
import shutil
import tomllib
from pathlib import Path
from typing import Any

from textual.widgets import Input


def leaves(table: dict[str, Any], path: str = "") -> dict[str, Any]:
    """Dotted keys of a TOML table with their values."""
    out: dict[str, Any] = {}
    for name, value in table.items():
        where = f"{path}.{name}".lstrip(".")
        out |= leaves(value, where) if isinstance(value, dict) else {where: value}
    return out


def test_a_pack_is_accepted_and_counts(held, run, answered) -> None:
    pack = held.folder / "pack"
    checked = run("rules", "check", "--packs", pack)
    assert checked.code == 0, checked
    assert "0 errors" in checked.out
    brief = held.folder / "briefs" / "of-the-pack.toml"
    answer = json.loads(answered("recommend", brief, "--packs", pack, "--json"))
    assert answer["provenance"]["packs"]["valley"] == "3.1"
    assert len(answer["provenance"]["overruled"]) == 4, "two rules switched off, a rule and a gear replaced"
    rules = {reason["rule"] for reason in answer["reasons"]} | {words["id"] for words in answer["cautions"]}
    rules |= {words["id"] for words in answer["advice"]}
    assert rules >= {"cork-cuts-easily", "little-to-grind", "edge-cork-slips", "valley-makers-mark"}
    assert "flat-is-simplest" not in rules
    assert "Hold the cork in a vice, never between two fingers." in {words["text"] for words in answer["cautions"]}


def test_shop_files(held, answered) -> None:
    for file in sorted((held.folder / "shops").glob("*.toml")):
        stated = leaves(tomllib.loads(file.read_text(encoding="utf-8")))
        shop = leaves(json.loads(answered("shop", "show", "--shop", file, "--json")))
        for name, value in stated.items():
            if isinstance(value, (int, float)) and name in shop:
                assert float(shop[name]) == value, name
        assert stated["business.currency"] == shop["business.currency"]


def test_keys_and_form_are_as_they_were_left(held, home: Path, opened, settle) -> None:
    """Saved with the user's own key, the form is the brief that was typed in; the rest is as it was on the screen."""
    config, state = home / "config" / "bevelwright", home / "state" / "bevelwright"
    shutil.copytree(held.folder / "config", config)
    shutil.copytree(held.folder / "state", state)
    kept = {file.name: json.loads(file.read_bytes()) for file in state.iterdir()}
    keys = tomllib.loads((config / "keys.toml").read_text(encoding="utf-8"))

    async def flow(app, pilot) -> None:
        assert app.theme == kept["view.json"]["theme"]
        assert {box.value for box in app.query(Input)} >= set(kept["order.json"].values())
        shown = {tab.label_text for tab in app.query("Tab") if tab.display}
        assert {"Shop", "Price"} <= shown, "a maker's pages"
        await pilot.press(keys["save"])
        await settle(pilot)
        await pilot.press(keys["inches"])
        await settle(pilot)

    opened(flow)
    (saved,) = home.glob("*.toml")
    brief = tomllib.loads(saved.read_text(encoding="utf-8"))
    wanted = tomllib.loads(held.text("briefs/every-field.toml"))
    wanted["owner"]["climate"] = "salt"
    shares = [tasks.pop("tasks") for tasks in (brief, wanted)]
    assert brief == wanted
    for task, share in shares[1].items():
        assert abs(shares[0][task] / sum(shares[0].values()) - share / sum(shares[1].values())) < 1e-5
    left = {name: json.loads((state / name).read_bytes()) for name in kept}
    assert left["as-left.json"] == kept["as-left.json"]
    assert left["order.json"] == kept["order.json"]
    assert left["view.json"] == kept["view.json"] | {"lengths": "mm"}, "the key that was changed to it, not f4"

"""A rule to fill in, in a pack of the user's own."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from pathlib import Path

from recommender.errors import InputError
from recommender.files import read_file, write_whole
from recommender.packs.located import MAX_BYTES, parse_toml
from recommender.packs.sources import MARK, own_folder
from recommender.packs.written_rules.rule_files import KEY, is_old_form
from recommender.text import clean, shorten

OWN_PACK = "your-rules"
_ID = re.compile(r"^[a-z0-9][a-z0-9._-]{0,59}$")
_LINES = {
    "limit": """metric = "stiffness"   # an example; or field = "design...."; bevelwright metrics lists figures
min = 0.12   # an example: or max, or both
# safety = true   # if it guards people, with a line that is said where somebody switches it off:
# short = "Without it the blade may snap when it is levered."
""",
    "goal": """metric = "stiffness"   # an example: bevelwright metrics lists figures with their units
from = 0.6   # an example: worth nothing
to = 0.15   # an example: worth all
weight = 1.0   # 1 is ordinary, 2 is what the task is about
# of_usual = true   # with from = 1.5 and to = 0.7, say: times what the usual blade for the task has
# Where several tasks want it, each by its own numbers, a row for each instead of tasks, from, to and weight:
# row = [
#   { task = "a-task",       from = 0.6,  to = 0.15, weight = 1.0, title = "Gives along the bones", because = "..." },
#   { task = "another-task", from = 0.15, to = 0.6,  weight = 0.5, title = "Keeps its line",        because = "..." },
# ]
""",
    "lean": """when = { field = "design.parent", eq = "flat" }   # an example: what some blades have and others not
points = 2.0   # for a blade where it holds, below 0 against it; all leans together give 12.5 at most
examples = [
  { facts = { TASKS"design.parent" = "flat" }, fires = true },
  { facts = { TASKS"design.parent" = "convex" }, fires = false },
]
""",
    "caution": """text = "Say what can hurt, and what to do instead."
audience = "everyone"   # or buyer, maker
# safety = true   # if it guards a person from the blade and its use, with the whole warning in a line:
# short = "Say it in at most 76 characters."
""",
    "advice": """text = "Say what is worth knowing."
audience = "buyer"   # or everyone, maker
""",
}
EXAMPLE_NUMBERS: Mapping[str, Mapping[str, object]] = {
    "limit": {"metric": "stiffness", "min": 0.12, "max": None},
    "goal": {"metric": "stiffness", "from_": 0.6, "to": 0.15, "weight": 1.0},
}
"""What templates of a kind have for an effect, until somebody says another."""
_MORE = "   # when = {...} asks for more, on what bevelwright fields lists\n"
BECAUSE = "One or two sentences that a customer can read."
"""What every template says, until somebody says it better."""
TEMPLATE_WORDS = frozenset(
    {
        BECAUSE,
        "Say what can hurt, and what to do instead.",
        "Say what is worth knowing.",
        "Say here what is worth knowing.",
        "Say it in at most 76 characters.",
    }
)
"""Words that stand where somebody has yet to write."""


def new_rule(
    id_: str, kind: str, pack: Path | None, topic: str | None = None, *, tasks: Sequence[str] = ()
) -> tuple[Path, Path]:
    """Write a draft of a rule into a pack, which is made where there is none; gives the file and the pack.

    It is about some tasks, or where none is named about every blade. It goes into the file of a topic, below what
    stands there, or into one of its own. Raises InputError for an id or a topic that is none, or a rule or file that
    is there already.
    """
    for given, expected in ((id_, "such as fillet-knife-flexes"), (topic or id_, "such as stiffness")):
        if not _ID.match(given):
            raise InputError(f"{shorten(given)} is no id", expected=f"lower case with hyphens, {expected}")
    folder = pack or own_folder() / OWN_PACK
    file = folder / "rules" / f"{topic or id_}.toml"
    shown = clean(str(file), one_line=True)
    before = ""
    if os.path.lexists(file):
        before = _before(file, shown, id_) if topic is not None else ""
        if not before:
            raise InputError("is there already", file=shown, expected="a rule of another id, or --topic to add to it")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
    except OSError as cause:
        shown = clean(str(folder), one_line=True)
        raise InputError(f"cannot be made ({cause.strerror})", file=shown, expected="a folder of yours") from None
    if not (folder / MARK).exists():
        write_whole(folder / MARK, _pack(folder.name).encode())
    write_whole(file, (before + _rule(id_, kind, tasks)).encode())
    return file, folder


def _before(file: Path, shown: str, id_: str) -> str:
    """What stands in a topic, to be gone on below. Raises InputError where a rule cannot be added to it."""
    raw = read_file(file, MAX_BYTES, "rules as TOML")
    data = parse_toml(raw, shown)
    if is_old_form(data):
        raise InputError("holds one rule alone, as in 0.1", file=shown, expected="a topic; rules convert makes it one")
    if any(isinstance(rule, dict) and rule.get("id") == id_ for rule in data.get(KEY, ())):
        raise InputError("is there already", file=shown, rule=id_, expected="a rule of another id")
    return raw.decode("utf-8").rstrip() + "\n\n"


def _pack(name: str) -> str:
    id_ = re.sub(r"[^a-z0-9._-]+", "-", name.lower()).strip("-.") or OWN_PACK
    return f'''id = "{id_}"
title = "Rules of my own"
version = "1"
# switch_off = ["an-id"]   # rules of other packs that should not count any more; one that guards people as
#   {{ id = "an-id", because = "Why it may be done without." }}
'''


def _rule(id_: str, kind: str, tasks: Sequence[str]) -> str:
    title = id_.replace("-", " ").capitalize()
    named = ", ".join(f'"{task}"' for task in tasks)
    where = f"tasks = [{named}]" if tasks else "always = true" if kind != "lean" else ""
    facts = f'"brief.tasks" = [{named}], ' if tasks else ""
    lines = _LINES[kind].replace("TASKS", facts)
    return f'''[[rule]]
id = "{id_}"
title = "{title}"
kind = "{kind}"
status = "draft"   # take this line out once it says what you mean: a draft is not loaded
{where + _MORE if where else ""}{lines}because = "{BECAUSE}"
basis = {{ level = "estimate" }}   # or common practice, or published with its citation = "..."
'''

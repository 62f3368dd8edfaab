"""A rule file to fill in, in a pack of the user's own."""

from __future__ import annotations

import os
import re
from pathlib import Path

from recommender.errors import InputError
from recommender.files import write_whole
from recommender.packs.sources import MARK, own_folder
from recommender.text import clean, shorten

OWN_PACK = "your-rules"
_ID = re.compile(r"^[a-z0-9][a-z0-9._-]{0,59}$")
_EFFECTS = {
    "limit": 'effect = { metric = "stiffness", min = 0.12 }   # metric or field; min, max or in = [...]',
    "goal": 'effect = { metric = "stiffness", from = 0.6, to = 0.15, weight = 1.0 }   # worth nothing, worth all',
    "lean": "effect = { points = 1.0 }   # for (or below 0 against) a blade where `when` holds",
    "caution": (
        'effect = { short = "The same in one line, if it guards a person.", '
        'text = "Say what can hurt, and what to do instead.", audience = "everyone" }'
    ),
    "advice": 'effect = { text = "Say what is worth knowing.", audience = "buyer" }   # everyone, buyer or maker',
}


def new_rule(id_: str, kind: str, pack: Path | None) -> tuple[Path, Path]:
    """Write a draft of a rule into a pack, which is made where there is none; gives the file and the pack.

    Raises InputError for an id that is none, or a file that is there already.
    """
    if not _ID.match(id_):
        raise InputError(f"{shorten(id_)} is no id", expected="lower case with hyphens, such as fillet-knife-flexes")
    folder = pack or own_folder() / OWN_PACK
    file = folder / "rules" / f"{id_}.toml"
    if os.path.lexists(file):
        raise InputError("is there already", file=clean(str(file), one_line=True), expected="a rule of another id")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
    except OSError as cause:
        shown = clean(str(folder), one_line=True)
        raise InputError(f"cannot be made ({cause.strerror})", file=shown, expected="a folder of yours") from None
    if not (folder / MARK).exists():
        write_whole(folder / MARK, _pack(folder.name).encode())
    write_whole(file, _rule(id_, kind).encode())
    return file, folder


def _pack(name: str) -> str:
    id_ = re.sub(r"[^a-z0-9._-]+", "-", name.lower()).strip("-.") or OWN_PACK
    return f'''id = "{id_}"
title = "Rules of my own"
version = "1"
# switch_off = ["an-id"]   # rules of other packs that should not count any more
'''


def _rule(id_: str, kind: str) -> str:
    title = id_.replace("-", " ").capitalize()
    return f'''id = "{id_}"
title = "{title}"
kind = "{kind}"
status = "draft"   # active once it says what you mean; a draft is not loaded
when = {{ all = [{{ field = "brief.tasks", has = "fish-filleting" }}] }}   # decides firing
{_EFFECTS[kind]}
because = "One or two sentences that a customer can read."
basis = {{ level = "estimate", citation = "", known = "memory" }}   # or published, common practice
examples = [
  {{ facts = {{ "brief.tasks" = ["fish-filleting"] }}, fires = true }},
  {{ facts = {{ "brief.tasks" = ["prying"] }}, fires = false }},
]
'''

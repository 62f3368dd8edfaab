"""`plugins`: which there are and what they give, whether one keeps its promises, a new one to start from."""

from __future__ import annotations

import argparse
import contextlib
from pathlib import Path
from typing import TYPE_CHECKING

from recommender.commands.common import Commands, page_width, size, strict_argument, write_json, write_text
from recommender.errors import InputError, PackError
from recommender.text import clean

if TYPE_CHECKING:
    from recommender.service import Service

EXIT_FOUND = 1
_KINDS = ("grind", "metric", "pack", "writer")


def add(commands: Commands) -> None:
    """Add the commands of plug-ins."""
    plugins = commands.add_parser("plugins")
    plugins.set_defaults(run=lambda service, args: plugins.error("which of list, check, new is missing; see --help"))
    parts = plugins.add_subparsers(dest="part", metavar="WHAT", parser_class=type(plugins))

    listing = parts.add_parser("list", help="every plug-in: what it gives, what failed, which are blocked")
    listing.set_defaults(run=_list)
    strict_argument(listing)
    listing.add_argument("--json", action="store_true", help="print a JSON list")

    check = parts.add_parser("check", help="whether a plug-in or pack keeps what is relied on, in a process of its own")
    check.set_defaults(run=_check)
    check.add_argument(
        "target",
        nargs="?",
        metavar="NAME | MODULE | PATH",
        help="installed plug-in, module, .py file, folder of a distribution or pack (all installed plug-ins)",
    )
    check.add_argument("--seconds", type=size, metavar="S", help="stop each after so long (120)")
    check.add_argument("--json", action="store_true", help="print a JSON list")

    new = parts.add_parser("new", help="a working distribution to start from, with a test that passes")
    new.set_defaults(run=_new)
    new.add_argument("name", metavar="NAME", help="lower case with hyphens, such as river-knives")
    new.add_argument("--into", default=".", metavar="FOLDER", help="where its folder is made (here)")
    new.add_argument("--kind", choices=_KINDS, default="grind", help="what it gives (a grind)")


def _list(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.rules.plugins_text import plugins_text
    from recommender.service import blocked_file

    with contextlib.suppress(PackError):  # that no pack is left is no reason not to list
        _ = service.knowledge  # what fails of packs shows only when they are read
    if args.json:
        write_json([plugin.as_json() for plugin in service.loaded.plugin_statuses()])
    else:
        shown = clean(str(blocked_file()), one_line=True)
        write_text(plugins_text(service.loaded.plugin_statuses(), shown, width=page_width()))
    return 0


def _check(service: Service, args: argparse.Namespace) -> int:
    from recommender.commands.extensions.check_targets import targets
    from recommender.commands.extensions.sandbox import SECONDS, check_apart
    from recommender.drawing.text.rules.plugins_text import checked_text
    from recommender.service import blocked_names, installed

    seconds = SECONDS if args.seconds is None else args.seconds
    if seconds <= 0:
        raise InputError(f"{seconds:g} is too short", key="--seconds", expected="more than 0")
    blocked = blocked_names()  # read in any case: a list that cannot be read is told of here
    # What is blocked is not imported, not even here, unless it is asked for by name.
    names = [args.target] if args.target else sorted({p.name for p in installed()} - blocked)
    checked = []
    for target in [target for name in names for target in targets(name)]:
        result = check_apart(target, seconds)
        checked.append(result)
        if not args.json:
            found = [str(finding) for finding in result.findings]
            write_text(checked_text(clean(target.name, one_line=True), found, result.seconds, width=page_width()))
    if args.json:
        write_json([result.as_json() for result in checked])
    return EXIT_FOUND if any(result.findings for result in checked) else 0


def _new(service: Service, args: argparse.Namespace) -> int:
    from recommender.service import new_plugin

    folder, *files = new_plugin(args.name, args.kind, Path(args.into))
    shown = clean(str(folder), one_line=True)
    write_text("".join(f"wrote {clean(str(file), one_line=True)}\n" for file in files))
    write_text(
        f"bevelwright plugins check {shown} says whether it is sound; python3 -m pip install -e {shown} installs it\n"
    )
    return 0

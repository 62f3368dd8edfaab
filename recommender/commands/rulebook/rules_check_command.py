"""`rules check`: what is wrong with the rules that are loaded, or with a pack that is being written."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from recommender.commands.common import Commands, packs_argument, page_width, write_json, write_text
from recommender.errors import InputError
from recommender.text import shorten

if TYPE_CHECKING:
    from recommender.service import Service

SCHEMA = "bevelwright.findings/1"


def add(parts: Commands) -> None:
    """Add the command."""
    check = parts.add_parser("check", help="what is wrong with the rules: broken, contradictory, repeated, idle")
    check.set_defaults(run=_check)
    check.add_argument("places", nargs="*", metavar="PATH", help="a pack, or a folder of packs; drafts count too")
    packs_argument(check)
    check.add_argument(
        "--deep",
        action="store_true",
        help="compute blades too: goals that tell none apart, limits that none passes (takes some seconds)",
    )
    check.add_argument("--explain", metavar="ID", help="what a kind of finding means, and how to put it right")
    check.add_argument("--json", action="store_true", help="print one JSON object")


def _check(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.rules.findings_text import findings_text

    if args.explain is not None:
        return _explain(service, args.explain)
    checked = service.rules.check(args.places, deep=args.deep)
    if args.json:
        findings = [finding.data for finding in checked.findings]
        counts = {"passed": checked.passed, "rules": checked.rules, "packs": list(checked.packs), "deep": checked.deep}
        write_json({"schema": SCHEMA, **counts, "findings": findings})
    else:
        write_text(findings_text(checked, page_width()))
    return 0 if checked.passed else 1


def _explain(service: Service, id_: str) -> int:
    from recommender.drawing.text.rules.findings_text import kind_text

    kinds = service.rules.kinds_of_findings()
    if id_ not in kinds:
        problem = f"there is no kind of finding {shorten(id_)}"
        raise InputError(problem, expected=f"one of {', '.join(kinds)}", given=id_, valid=kinds)
    write_text(kind_text(kinds[id_], page_width()))
    return 0

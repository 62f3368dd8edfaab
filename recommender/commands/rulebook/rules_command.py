"""`rules`: what rules are loaded, what one says, why it fired or not, a new one to fill in; reports add themselves."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from recommender.commands.common import (
    Commands,
    brief_arguments,
    load_brief,
    packs_argument,
    page_width,
    write_json,
    write_text,
)
from recommender.commands.rulebook import rules_check_command as rules_check
from recommender.commands.rulebook import rules_reports_command as rules_reports
from recommender.errors import InputError
from recommender.text import clean, shorten

if TYPE_CHECKING:
    from recommender.service import LoadedRule, Service


def add(commands: Commands) -> None:
    """Add the commands of the rules."""
    rules = commands.add_parser("rules")
    rules.set_defaults(run=lambda service, args: rules.error("which of list, show, new, ... is missing; see --help"))
    parts = rules.add_subparsers(dest="part", metavar="WHAT", parser_class=type(rules))

    listing = parts.add_parser("list", help="every rule that is loaded, and what packs overrule")
    listing.set_defaults(run=_list)
    listing.add_argument("words", nargs="*", metavar="WORD", help="that it holds: id, title, kind, reason, source")
    packs_argument(listing)
    listing.add_argument("--json", action="store_true", help="print a JSON list")

    show = parts.add_parser("show", help="one rule: when it fires, what it does, why, by which source")
    show.set_defaults(run=_show)
    show.add_argument("rule", metavar="ID")
    packs_argument(show)
    show.add_argument("--json", action="store_true", help="print one JSON object")

    new = parts.add_parser("new", help="a file to fill in for a rule of your own; makes the pack where there is none")
    new.set_defaults(run=_new)
    new.add_argument("rule", metavar="ID", help="lower case with hyphens, such as fillet-knife-flexes")
    new.add_argument("--kind", choices=("limit", "goal", "lean", "caution", "advice"), default="goal")
    new.add_argument("--pack", metavar="FOLDER", help="the pack (your own: your-rules)")

    why = parts.add_parser("why", help="why a rule fired or not on a brief, condition by condition")
    why.set_defaults(run=_why)
    why.add_argument("rule", metavar="ID")
    brief_arguments(why)
    why.add_argument("--json", action="store_true", help="print one JSON object")

    rules_check.add(parts)
    rules_reports.add(parts)


def _found(service: Service, id_: str) -> LoadedRule:
    rules = service.knowledge.rules
    if id_ not in rules:
        gone = next((o for o in service.knowledge.overruled if o.kind == "rules" and o.id == id_), None)
        if gone is not None:
            raise InputError(f"{id_} is {gone.how} by {gone.by}", expected="a rule that counts")
        raise InputError(f"there is no rule {shorten(id_)}", expected="an id of rules list", given=id_, valid=rules)
    return rules[id_]


def _list(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.rules.rules_text import rules_text

    wanted = [word.casefold() for word in args.words]
    found = [
        loaded
        for _, loaded in sorted(service.knowledge.rules.items())
        if all(word in _description(loaded) for word in wanted)
    ]
    if args.json:
        write_json([_data(loaded) for loaded in found])
    else:
        write_text(rules_text(found, service.knowledge.overruled, service.knowledge.left_out, width=page_width()))
    return 0


def _description(loaded: LoadedRule) -> str:
    rule = loaded.rule
    return " ".join((rule.id, rule.kind, rule.title, rule.because, rule.basis.citation, loaded.pack)).casefold()


def _data(loaded: LoadedRule) -> dict[str, object]:
    return {
        "pack": loaded.pack,
        "file": loaded.file,
        **loaded.rule.model_dump(mode="json", by_alias=True, exclude_none=True),
    }


def _show(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.rules.rule_text import rule_page

    loaded = _found(service, args.rule)
    if args.json:
        write_json(_data(loaded))
    else:
        metrics = {name: stamped.item for name, stamped in service.registry.metrics.items()}
        write_text(rule_page(loaded, metrics, page_width()))
    return 0


def _new(service: Service, args: argparse.Namespace) -> int:
    file, pack = service.rules.new_rule(args.rule, args.kind, Path(args.pack) if args.pack else None)
    write_text(f'wrote {clean(str(file), one_line=True)}, a draft: fill it in, then set status = "active"\n')
    write_text(f"bevelwright rules check {clean(str(pack), one_line=True)} says what is wrong with it\n")
    return 0


def _why(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.rules.rule_text import rule_text

    _found(service, args.rule)
    brief, file = load_brief(service, args)
    answer = service.recommend(brief, file, flips=False)
    ruling = next(r for r in service.briefs.rule_traces(brief, answer) if r.loaded.rule.id == args.rule)
    if args.json:
        tested = [{"asks": t.asks, "found": t.found, "held": t.held, "depth": t.depth} for t in ruling.tested]
        outcome = {"state": ruling.state, "points": ruling.points, "most_points": ruling.most_points}
        write_json({"rule": args.rule, **outcome, "shut_out": ruling.shut_out, "tested": tested})
    else:
        metrics = {name: stamped.item for name, stamped in service.registry.metrics.items()}
        write_text(rule_text(ruling, metrics, page_width()) + "\n")
    return 0

"""`rules`: what rules are loaded, what one says, why it fired or not, a new one to fill in; reports add themselves."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from recommender.commands.common import (
    OLD_FORM,
    Commands,
    brief_arguments,
    load_brief,
    nothing_says,
    packs_argument,
    page_width,
    write_json,
    write_text,
)
from recommender.commands.rulebook import rules_check_command as rules_check
from recommender.commands.rulebook import rules_reports_command as rules_reports
from recommender.errors import InputError
from recommender.text import clean, plural, shorten

if TYPE_CHECKING:
    from recommender.service import LoadedRule, Service


def add(commands: Commands) -> None:
    """Add the commands of the rules."""
    rules = commands.add_parser("rules")
    rules.set_defaults(run=lambda service, args: rules.error("which of list, show, new, ... is missing; see --help"))
    parts = rules.add_subparsers(dest="part", metavar="WHAT", parser_class=type(rules))

    listing = parts.add_parser("list", help="every rule that is loaded, and what packs overrule")
    listing.set_defaults(run=_list)
    listing.add_argument(
        "words", nargs="*", metavar="WORD", help="that it says: in ids, texts, conditions, tasks, metrics"
    )
    packs_argument(listing)
    listing.add_argument("--json", action="store_true", help="print a JSON list")

    show = parts.add_parser("show", help="one rule: when it fires, what it does, why, by which source")
    show.set_defaults(run=_show)
    show.add_argument("rule", metavar="ID", help="of today or formerly; or its title, or a part of either")
    packs_argument(show)
    show.add_argument("--json", action="store_true", help="print one JSON object")

    new = parts.add_parser("new", help="a file to fill in for a rule of your own; makes the pack where there is none")
    new.set_defaults(run=_new)
    new.add_argument("rule", metavar="ID", help="lower case with hyphens, such as fillet-knife-flexes")
    new.add_argument("--kind", choices=("limit", "goal", "lean", "caution", "advice"), default="goal")
    about = new.add_mutually_exclusive_group()
    about.add_argument("--task", action="append", default=[], metavar="TASK", help="it is about; may be repeated")
    about.add_argument("--always", action="store_true", help="it is about every blade, whatever the task")
    new.add_argument("--pack", metavar="FOLDER", help="the pack (your own: your-rules)")
    new.add_argument("--topic", metavar="NAME", help="its file, to which the rule is added (one of its own)")

    convert = parts.add_parser("convert", help="turn a pack of one rule a file, the form of 0.1, into topics")
    convert.set_defaults(run=_convert)
    convert.add_argument("pack", metavar="FOLDER", help="the pack, with a pack.toml in it")

    why = parts.add_parser("why", help="why a rule fired or not on a brief, condition by condition")
    why.set_defaults(run=_why)
    why.add_argument("rule", metavar="ID", help="of today or formerly; or its title, or a part of either")
    brief_arguments(why)
    why.add_argument("--json", action="store_true", help="print one JSON object")

    rules_check.add(parts)
    rules_reports.add(parts)


MOST_NAMED = 8


def _found(service: Service, name: str) -> list[LoadedRule]:
    """The rule that a name means, or every row of one; where it may be several, they are named."""
    found = service.knowledge.rules_named(name)
    if not found:
        gone = next((o for o in service.knowledge.overruled if o.kind == "rules" and o.was(name)), None)
        if gone is not None:
            raise InputError(f"{name} is {gone.how} by {gone.by}", expected="a rule that counts")
        rules = service.knowledge.rules
        titles = (loaded.rule.title for loaded in rules.values())
        raise InputError(
            f"there is no rule {shorten(name)}",
            expected="an id or a title of rules list, or a part of one (rules list WORD searches all that rules say)",
            given=name,
            valid=(*rules, *service.knowledge.renamed, *titles),
        )
    families = {loaded.rule.id.partition("/")[0] for loaded in found}
    if len(families) > 1:
        ids = [loaded.rule.id for loaded in found]
        more = f" and {len(ids) - MOST_NAMED} more" if len(ids) > MOST_NAMED else ""
        raise InputError(f"{shorten(name)} may be {', '.join(ids[:MOST_NAMED])}{more}", expected="one of them")
    return found


def _one(service: Service, name: str) -> LoadedRule:
    found = _found(service, name)
    if len(found) > 1:
        ids = ", ".join(loaded.rule.id for loaded in found)
        raise InputError(f"{shorten(name)} has {len(found)} rows", expected=f"one of {ids}")
    return found[0]


def _list(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.rules.rules_text import rules_text

    called = {id_: " ".join((s.item.label, *s.item.also)) for id_, s in service.registry.metrics.items()}
    named, mentioning = service.knowledge.rules_saying(args.words, called)
    knowledge, asked = service.knowledge, " ".join(args.words)
    meant = service.rules.called(asked)
    if args.json:
        write_json([_data(loaded) for loaded in (*named, *mentioning)])
    elif args.words and not named and not mentioning and not meant:
        raise nothing_says(args.words, (*(r.words for r in knowledge.rules.values()), *called.values()))
    else:
        notes = [*map(str, knowledge.overruled), *(f"left out: {words}" for words in knowledge.left_out)]
        notes += (OLD_FORM.format(pack) for pack in knowledge.of_old_form)
        write_text(rules_text(named, mentioning, notes, asked=asked, meant=meant, width=page_width()))
    return 0


def _data(loaded: LoadedRule) -> dict[str, object]:
    return {
        "pack": loaded.pack,
        "file": loaded.file,
        **loaded.rule.model_dump(mode="json", by_alias=True, exclude_none=True),
    }


def _show(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.rules.rule_text import rule_page

    found = _found(service, args.rule)
    if args.json:
        write_json(_data(found[0]) if len(found) == 1 else [_data(loaded) for loaded in found])
    else:
        metrics = {name: stamped.item for name, stamped in service.registry.metrics.items()}
        write_text("\n\n".join(rule_page(loaded, metrics, page_width()) for loaded in found))
    return 0


def _new(service: Service, args: argparse.Namespace) -> int:
    tasks = service.knowledge.tasks
    expected = f"--always, or --task with one of {', '.join(tasks)}"
    if not args.task and not args.always:
        raise InputError("no task is named", expected=expected)
    for task in args.task:
        if task not in tasks:
            meant = {known.id: known.id for known in service.rules.called(task) if known.kind == "task"}
            valid = {**meant, **dict.fromkeys(tasks)}
            raise InputError(
                f"unknown task {shorten(task)}", expected=expected, given=next(iter(meant), task), valid=valid
            )
    folder = Path(args.pack) if args.pack else None
    file, pack = service.rules.new_rule(args.rule, args.kind, folder, args.topic, tasks=args.task)
    write_text(f"wrote {clean(str(file), one_line=True)}, a draft: fill it in, then take its line with status out\n")
    write_text(f"bevelwright rules check {clean(str(pack), one_line=True)} says what is wrong with it\n")
    return 0


def _convert(service: Service, args: argparse.Namespace) -> int:
    done = service.rules.convert(args.pack)
    if not done.rules:
        write_text("nothing to convert: no file holds one rule alone\n")
        return 0
    write_text(f"{plural(done.rules, 'rule')} of as many files now in {plural(len(done.after), 'topic')}:\n")
    write_text("".join(f"  {clean(name, one_line=True)}\n" for name in done.after))
    write_text("each was read back and says what it said; name the topics as you like\n")
    return 0


def _why(service: Service, args: argparse.Namespace) -> int:
    from recommender.drawing.text.rules.rule_text import rule_text

    id_ = _one(service, args.rule).rule.id
    brief, file = load_brief(service, args)
    answer = service.recommend(brief, file, flips=False)
    ruling = next(r for r in service.briefs.rule_traces(brief, answer) if r.loaded.rule.id == id_)
    if args.json:
        tested = [{"asks": t.asks, "found": t.found, "held": t.held, "depth": t.depth} for t in ruling.tested]
        outcome = {
            "state": ruling.state,
            "points": ruling.points,
            "most_points": ruling.most_points,
            "of_usual": ruling.of_usual,
        }
        write_json({"rule": id_, **outcome, "shut_out": ruling.shut_out, "tested": tested})
    else:
        metrics = {name: stamped.item for name, stamped in service.registry.metrics.items()}
        write_text(rule_text(ruling, metrics, page_width()) + "\n")
    return 0

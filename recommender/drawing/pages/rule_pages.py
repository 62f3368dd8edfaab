"""The page of a rule."""

from __future__ import annotations

from collections.abc import Iterator

from recommender.drawing.documents.document_markdown import escaped
from recommender.drawing.pages.markup import basis_words, bullets, page, part
from recommender.drawing.pages.site import Site, condition_bullets, mentions
from recommender.drawing.text.rules.rule_text import effect_words, revision_words
from recommender.packs.knowledge import LoadedRule


def rule_page(site: Site, loaded: LoadedRule) -> bytes:
    """When it fires, what it does, why, by which source, and with what examples."""
    return page(loaded.rule.title, _blocks(site, loaded))


def _blocks(site: Site, loaded: LoadedRule) -> Iterator[str]:
    rule = loaded.rule
    yield f"{escaped(rule.kind)} “{escaped(rule.id)}” of pack {escaped(loaded.pack)}, {escaped(loaded.file)}"
    yield escaped(effect_words(rule, site.plain_metrics))
    yield f"Because: {escaped(rule.because)}"
    yield f"Basis: {basis_words(rule.basis)}."
    yield "" if rule.numbers is None else f"Basis of its numbers: {basis_words(rule.numbers)}."
    yield "It guards people: who switches it off has to say why." if rule.safety else ""
    yield f"Formerly {escaped(', '.join(rule.formerly))}." if rule.formerly else ""
    yield from part("How its numbers came about", bullets(escaped(revision_words(each)) for each in rule.history))
    yield from part("Fires where", condition_bullets(rule))
    examples = (
        f"{'fires' if example.fires else 'silent'}: {escaped(_facts(example.facts))}" for example in rule.examples
    )
    yield from part("Examples", bullets(examples))
    yield from part("Speaks of", bullets(site.link(folder, id_) for folder, id_ in mentions(rule)))


def _facts(facts: dict[str, object]) -> str:
    return ", ".join(f"{name} = {_value(value)}" for name, value in facts.items()) or "nothing given"


def _value(value: object) -> str:
    return ", ".join(map(str, value)) or "none" if isinstance(value, (list, tuple)) else str(value)

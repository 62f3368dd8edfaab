"""Pages of what packs' tables say: tasks, steels, gear, cut materials."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from recommender.drawing.documents.document_markdown import escaped
from recommender.drawing.lengths import Lengths, angle
from recommender.drawing.pages.markup import basis_words, bullets, page, part, table
from recommender.drawing.pages.numbers import numbers
from recommender.drawing.pages.site import Site, path
from recommender.drawing.text.answer.parameters_text import behind_edge
from recommender.models.answer.proposal import Proposal
from recommender.models.knowledge.tables import Gear, Material, Steel, Task, UsualBlade

_COMPOSITION = frozenset({"composition"})


def task_page(site: Site, task: Task) -> bytes:
    """What a task asks of a blade, what is proposed for it, and the rules that speak of it."""

    def blocks() -> Iterator[str]:
        yield _whence(site, "tasks", task.id)
        yield escaped(task.meaning)
        yield _also(task.words)
        yield f"Cuts {site.link('materials', task.material)}. Basis: {basis_words(task.basis)}."
        if task.id in site.answers:
            yield from _proposed(site, task.id, site.answers[task.id][0])
        if task.usual_blade is not None:
            yield from part("The usual blade, against which goals measure others", _usual(site, task.usual_blade))
        yield from part("Rules that speak of it", bullets(site.rule_lines("tasks", task.id)))
        yield from part("Figures", numbers(task))

    return page(task.label, blocks())


def _usual(site: Site, usual: UsualBlade) -> str:
    """What it is in words; its numbers stand among the figures."""
    gear = " and ".join(site.link("gear", id_) for id_ in usual.gear)
    grind = site.link("grinds", usual.grind)
    return f"{grind}, of {site.link('steels', usual.steel)}, sharpened with {gear} in practised hands."


def _proposed(site: Site, task: str, blade: Proposal) -> Iterator[str]:
    yield "## Proposed where all else is left open"
    yield f"![Its section, edge left]({path('tasks', task, 'svg').rpartition('/')[2]})"
    edge = angle(blade.edge_angle_per_side_deg, blade.edge_angle_included_deg)
    yield (
        f"{site.link('grinds', blade.grind)}: {escaped(edge)}, {behind_edge(blade, Lengths())}, grind line "
        f"{blade.grind_line_mm:g} mm above the edge, {blade.stock_thickness_mm:g} mm stock, "
        f"{blade.blade_height_mm:g} mm high, {blade.blade_length_mm:g} mm long."
    )


def steel_page(site: Site, steel: Steel) -> bytes:
    """A steel's numbers with band and basis, what it is usual for, and the rules that name it."""

    def blocks() -> Iterator[str]:
        yield _whence(site, "steels", steel.id)
        yield escaped(steel.about)
        yield _also(name for name in steel.names if name != steel.label)
        yield f"Family: {escaped(steel.family)}."
        usual = (task for task in sorted(site.knowledge.tasks) if site.knowledge.usual_steel(task) == steel.id)
        yield from part("Usual for, where a brief names no steel", bullets(site.link("tasks", task) for task in usual))
        yield from part("Rules that name it", bullets(site.rule_lines("steels", steel.id)))
        yield from part("Figures", numbers(steel, but=_COMPOSITION))
        rows = ((escaped(element), f"{low:g}", f"{high:g}") for element, (low, high) in steel.composition.items())
        yield from part("Composition", table(("element", "least, %", "most, %"), rows))
        yield f"Basis of the composition: {basis_words(steel.composition_basis)}."

    return page(steel.label, blocks())


def gear_page(site: Site, gear: Gear) -> bytes:
    """What sharpening gear works and how, and the rules that speak of it."""

    def blocks() -> Iterator[str]:
        yield _whence(site, "gear", gear.id)
        yield escaped(gear.meaning)
        yield _also(gear.words)
        works = ", ".join(gear.surfaces) or "no surface of an edge"
        yield f"Works: {escaped(works)}. Basis: {basis_words(gear.basis)}."
        able = (id_ for id_, s in site.grinds.items() if gear.surfaces and s.item.surfaces <= set(gear.surfaces))
        yield from part("Grinds that it sharpens", bullets(site.link("grinds", id_) for id_ in able))
        yield from part("Rules that speak of it", bullets(site.rule_lines("gear", gear.id)))
        yield from part("Figures", numbers(gear))

    return page(gear.label, blocks())


def material_page(site: Site, material: Material) -> bytes:
    """The figures of a cut material, and the tasks that cut it."""

    def blocks() -> Iterator[str]:
        yield _whence(site, "materials", material.id)
        yield escaped(material.about)
        cutting = (task.id for _, task in sorted(site.knowledge.tasks.items()) if task.material == material.id)
        yield from part("Tasks that cut it", bullets(site.link("tasks", task) for task in cutting))
        yield from part("Figures", numbers(material))

    return page(material.label, blocks())


def _whence(site: Site, folder: str, id_: str) -> str:
    return f"{escaped(id_)}, of pack {escaped(site.knowledge.pack_of[folder, id_])}. [Everything](../index.md)"


def _also(names: Iterable[str]) -> str:
    other_names = ", ".join(names)
    return f"Also: {escaped(other_names)}." if other_names else ""

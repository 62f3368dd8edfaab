"""All pages together: path -> content."""

from __future__ import annotations

from collections.abc import Iterator

from recommender.drawing.documents.document_markdown import escaped
from recommender.drawing.pages.markup import bullets, heading, link, page
from recommender.drawing.pages.plugin_pages import grind_page, metric_page
from recommender.drawing.pages.rule_pages import rule_page
from recommender.drawing.pages.section_picture import section_picture
from recommender.drawing.pages.site import FOLDERS, Site, path
from recommender.drawing.pages.table_pages import gear_page, material_page, steel_page, task_page
from recommender.models.knowledge.rule import KINDS
from recommender.text import capital, plural

INDEX = "index.md"


def book(site: Site) -> dict[str, bytes]:
    """Every page and picture by its path, which is relative to the folder of all; the same for the same site."""
    knowledge = site.knowledge
    out = {INDEX: page("The rulebook", _index(site))}
    out |= {path("rules", id_): rule_page(site, loaded) for id_, loaded in knowledge.rules.items()}
    out |= {path("tasks", id_): task_page(site, task) for id_, task in knowledge.tasks.items()}
    out |= {path("steels", id_): steel_page(site, steel) for id_, steel in knowledge.steels.items()}
    out |= {path("gear", id_): gear_page(site, gear) for id_, gear in knowledge.gear.items()}
    out |= {path("materials", id_): material_page(site, material) for id_, material in knowledge.materials.items()}
    out |= {path("grinds", id_): grind_page(site, stamped) for id_, stamped in site.grinds.items()}
    out |= {path("metrics", id_): metric_page(site, stamped) for id_, stamped in site.metrics.items()}
    out |= {path("findings", id_): page(title, map(escaped, texts)) for id_, (title, texts) in site.findings.items()}
    for id_, drawn in site.drawn_grinds.items():
        out[path("grinds", id_, "svg")] = section_picture(site.labels["grinds", id_], drawn)
    for id_, (_, drawn) in site.answers.items():
        out[path("tasks", id_, "svg")] = section_picture(site.labels["tasks", id_], drawn)
    return dict(sorted(out.items()))


def _index(site: Site) -> Iterator[str]:
    knowledge = site.knowledge
    yield f"{plural(len(knowledge.rules), 'rule')} and what they speak of, as loaded:"
    yield bullets(
        f"{escaped(pack.title)} (pack {escaped(pack.id)}, version {escaped(pack.version)})" for pack in knowledge.packs
    )
    yield bullets(
        escaped(words) for words in (*map(str, knowledge.overruled), *(f"left out: {w}" for w in knowledge.left_out))
    )
    for folder in FOLDERS[1:]:
        ids = sorted(id_ for of, id_ in site.labels if of == folder)
        if ids:
            yield heading(capital(folder))
            yield bullets(_entry(site, folder, id_) for id_ in ids)
    for kind in KINDS:
        ids = sorted(loaded.rule.id for loaded in knowledge.of_kind(kind))
        if ids:
            yield heading(f"Rules: {kind} ({len(ids)})")
            yield bullets(_entry(site, "rules", id_) for id_ in ids)


def _entry(site: Site, folder: str, id_: str) -> str:
    label = site.labels[folder, id_]
    more = f" ({escaped(id_)})" if label.lower() != id_ else ""
    return link(label, path(folder, id_)) + more

"""The pages: Markdown by an independent reader, every link to something, hostile words shown, ours alone touched."""

from __future__ import annotations

import json
import re
import tomllib
import xml.etree.ElementTree as ET
from pathlib import Path, PurePosixPath
from types import SimpleNamespace

import bevelwright_rules
import pytest
from markdown_it import MarkdownIt
from markdown_it.token import Token

from recommender.commands.rulebook.page_folder import write_pages
from recommender.drawing.pages.markup import MARK
from recommender.drawing.pages.page_set import book
from recommender.drawing.pages.site import FOLDERS, Site, path
from recommender.errors import InputError
from recommender.plugin.api import API_VERSION, Metric
from recommender.plugin.hooks import hookimpl
from recommender.service import Service
from recommender.units import Unit

CORE = Path(bevelwright_rules.__file__).parent / "core"
READER = MarkdownIt("commonmark").enable("table")
HOSTILE = '</h1><script>alert(1)</script> [x](javascript:alert(1)) ![y](http://z/) *b* `c` | # \\ &lt; "q"'


def tokens(page: bytes) -> list[Token]:
    found = READER.parse(page.decode())
    return [t for token in found for t in (token, *(token.children or ()))]


def targets(page: bytes) -> list[str]:
    """What a page links to or shows."""
    return [str(t.attrs.get("href") or t.attrs.get("src")) for t in tokens(page) if t.type in ("link_open", "image")]


def undrawn(service: Service) -> dict[str, bytes]:
    return book(Site(service.knowledge, service.registry.grinds, service.registry.metrics))


@pytest.fixture(scope="module")
def pages(service: Service) -> dict[str, bytes]:
    return service.drawings.pages()


def test_everything_has_a_page_and_what_is_drawn_a_picture(service: Service, pages: dict[str, bytes]) -> None:
    knowledge = service.knowledge
    for folder, ids in (
        ("rules", knowledge.rules),
        ("tasks", knowledge.tasks),
        ("steels", knowledge.steels),
        ("gear", knowledge.gear),
        ("materials", knowledge.materials),
        ("grinds", service.grinds),
        ("metrics", service.registry.metrics),
    ):
        assert {path(folder, id_) for id_ in ids} == {name for name in pages if re.match(rf"{folder}/.*\.md$", name)}
    assert {f"grinds/{id_}.svg" for id_ in service.grinds} <= set(pages)
    assert {f"tasks/{id_}.svg" for id_ in knowledge.tasks} <= set(pages)


def test_every_link_leads_somewhere_and_everything_is_linked(pages: dict[str, bytes]) -> None:
    linked = {"index.md"}
    for name, page in pages.items():
        if name.endswith(".md"):
            for target in targets(page):
                parts: list[str] = []
                for part in (PurePosixPath(name).parent / target).parts:
                    parts = parts[:-1] if part == ".." else [*parts, part]
                assert "/".join(parts) in pages, (name, target)
                linked.add("/".join(parts))
    assert linked == set(pages)


def test_every_page_is_headed_once_and_holds_no_html(pages: dict[str, bytes]) -> None:
    for name, page in pages.items():
        assert page.startswith(MARK.encode() + b"\n")
        if name.endswith(".md"):
            found = tokens(page)
            assert [t.content.strip() for t in found if t.type in ("html_block", "html_inline")] == [MARK], name
            assert sum(t.type == "heading_open" and t.tag == "h1" for t in found) == 1, name
            assert not any(t.type in ("code_block", "fence", "hr", "blockquote_open") for t in found), name


def test_every_table_is_one(pages: dict[str, bytes]) -> None:
    """A cell that held a bar or a line's end would leave rows of unlike length, or no table at all."""
    for name, page in pages.items():
        for block in page.decode().split("\n\n"):
            if block.startswith("| "):
                rows = re.findall(r"<tr>(.*?)</tr>", READER.render(block), flags=re.DOTALL)
                assert len({row.count("<t") for row in rows}) == 1, name
                assert len(rows) == len(block.splitlines()) - 1, name


def test_pictures_are_svg(pages: dict[str, bytes]) -> None:
    for name, page in pages.items():
        if name.endswith(".svg"):
            root = ET.fromstring(page)
            assert root.tag == "{http://www.w3.org/2000/svg}svg"
            assert root.findall(".//{http://www.w3.org/2000/svg}path"), name


def test_a_task_lists_the_rules_that_name_it_and_a_metric_what_is_on_it(
    service: Service, pages: dict[str, bytes]
) -> None:
    """Read off the shipped files as data."""
    shown = {name: targets(page) for name, page in pages.items() if name.startswith(("tasks/", "metrics/"))}
    for file in sorted(CORE.glob("rules/*.toml")):
        for written in tomllib.loads(file.read_text(encoding="utf-8"))["rule"]:
            for row in written.get("row", [{}]):
                here = f"../{path('rules', '/'.join([written['id'], *([row['task']] if row else [])]))}"
                asked = json.dumps([row.get("task"), written.get("tasks"), row.get("when"), written.get("when")])
                for task in service.knowledge.tasks:
                    assert (here in shown[f"tasks/{task}.md"]) is (f'"{task}"' in asked), (here, task)
                if "metric" in written:
                    assert here in shown[f"metrics/{written['metric']}.md"]


def test_they_are_the_same_again(pages: dict[str, bytes]) -> None:
    """By another service, without the pages that are drawn on, which take long, and those that list what is there."""
    left_out = ("tasks/", "grinds/", "findings/", "index.md")
    again = undrawn(Service(strict=True))
    plain = [name for name in again if not name.startswith(left_out)]
    assert plain == [name for name in pages if not name.startswith(left_out)]
    assert all(again[name] == pages[name] for name in plain)


def hostile_pack(folder: Path) -> str:
    shown = HOSTILE.replace("\\", "\\\\").replace('"', '\\"')
    (folder / "rules").mkdir(parents=True)
    (folder / "pack.toml").write_text(f'id = "hostile"\ntitle = "{shown}"\nversion = "{shown}"\n', encoding="utf-8")
    (folder / "rules" / "hostile.toml").write_text(
        f'id = "hostile"\ntitle = "{shown}"\nkind = "caution"\nstatus = "active"\n'
        f'when = {{ field = "brief.tasks", has = "prying" }}\neffect = {{ text = "{shown}" }}\nbecause = "- {shown}"\n'
        f'basis = {{ level = "published", citation = "{shown}" }}\n'
        'examples = [{ facts = {"brief.tasks" = ["prying"]}, fires = true }, { facts = {}, fires = false }]\n',
        encoding="utf-8",
    )
    return str(folder)


def test_hostile_words_are_shown_and_never_obeyed(tmp_path: Path) -> None:
    metric = Metric("hostile-metric", HOSTILE, Unit.MM, "either", HOSTILE, False, compute=lambda s, c: None)
    plugin = SimpleNamespace(BEVELWRIGHT_API=API_VERSION, metrics=hookimpl(lambda: [metric]))
    service = Service(plugins={HOSTILE: plugin}, packs=[hostile_pack(tmp_path / "hostile")])
    pages = undrawn(service)
    for name, page in pages.items():
        assert ".." not in name
        if name.endswith(".md"):
            found = tokens(page)
            assert [t.content.strip() for t in found if t.type in ("html_block", "html_inline")] == [MARK], name
            assert not any(t.startswith(("javascript:", "http")) for t in targets(page)), name
            assert not any(t.type in ("code_inline", "em_open", "hr") for t in found), name
    rule = tokens(pages["rules/hostile.md"])
    heading = next(rule[k + 1] for k, t in enumerate(rule) if t.type == "heading_open")
    assert "".join(c.content for c in heading.children or ()) == HOSTILE
    assert path("metrics", metric.id) in pages


def test_kinds_of_findings_get_pages_where_they_are_given(service: Service) -> None:
    registry = service.registry
    told = {"no-source": ("A rule without a source", (HOSTILE, "Name one."))}
    pages = book(Site(service.knowledge, registry.grinds, registry.metrics, findings=told))
    assert "findings/no-source.md" in targets(pages["index.md"])
    texts = [t.content for t in READER.parse(pages["findings/no-source.md"].decode()) if t.type == "inline"]
    assert texts[0] == "A rule without a source"
    assert texts[-1] == "Name one."


def test_ids_that_are_no_file_names_stay_apart() -> None:
    odd = ["../x", "..", "", "A", "a b", "a/b", "con\x00", "x" * 100, "x" * 101, "é"]
    paths = {path("metrics", id_) for id_ in odd}
    assert len(paths) == len(odd)
    assert all(re.fullmatch(r"metrics/[a-z0-9][a-z0-9-]*\.md", one) for one in paths), paths


PAGES = {"index.md": f"{MARK}\n\n# A\n".encode(), "rules/a.md": f"{MARK}\n\n# B\n".encode()}


def test_a_folder_is_written_and_what_is_no_more_is_removed(tmp_path: Path) -> None:
    folder = tmp_path / "pages"
    assert write_pages(folder, PAGES, MARK, FOLDERS) == (2, 0)
    mine = folder / "rules" / "mine.md"
    mine.write_text("# Mine\n", encoding="utf-8")
    (folder / "rules" / "notes.txt").write_text(MARK, encoding="utf-8")
    less = {"index.md": PAGES["index.md"] + b"more\n"}
    assert write_pages(folder, less, MARK, FOLDERS) == (1, 1)
    assert sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()) == [
        "index.md",
        "rules/mine.md",
        "rules/notes.txt",
    ]
    assert (folder / "index.md").read_bytes() == less["index.md"]
    assert write_pages(folder, less, MARK, FOLDERS) == (0, 0)


@pytest.mark.parametrize("how", ["file", "link", "folder", "linked folder", "file for a folder"])
def test_what_is_not_ours_is_never_written_over(tmp_path: Path, how: str) -> None:
    folder, other = tmp_path / "pages", tmp_path / "other"
    folder.mkdir()
    other.mkdir()
    (other / "a.md").write_bytes(PAGES["rules/a.md"])
    target = folder / "rules" / "a.md"
    if how == "linked folder":
        target.parent.symlink_to(other)
    elif how == "file for a folder":
        target.parent.write_text("mine", encoding="utf-8")
    else:
        target.parent.mkdir()
        if how == "file":
            target.write_text("# Mine\n", encoding="utf-8")
        elif how == "link":
            target.symlink_to(other / "a.md")
        else:
            target.mkdir()
    before = sorted(p.as_posix() for p in tmp_path.rglob("*"))
    with pytest.raises(InputError, match="in the way and not ours"):
        write_pages(folder, PAGES, MARK, FOLDERS)
    assert sorted(p.as_posix() for p in tmp_path.rglob("*")) == before

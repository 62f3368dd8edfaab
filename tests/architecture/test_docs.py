"""Documents say what the program does."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

from recommender.drawing.text.answer.one_screen import screen_text
from recommender.service import Service, read_brief

ROOT = Path(__file__).parents[2]
BRIEF = ROOT / "scenarios" / "left-handed-hunter.toml"


def block(document: str, kind: str) -> list[str]:
    text = (ROOT / document).read_text(encoding="utf-8")
    return re.findall(rf"```{kind}\n(.*?)```", text, flags=re.DOTALL)


def test_the_answer_in_the_readme_is_the_programs_own(service: Service) -> None:
    brief = read_brief(BRIEF.read_bytes(), "brief")
    answer = service.recommend(brief)
    (shown,) = block("README.md", "text")
    assert "\n".join(screen_text(answer, service.drawings.outline_of(answer), audience="buyer")) == shown


def test_the_picture_is_the_programs_own(service: Service) -> None:
    brief = read_brief(BRIEF.read_bytes(), "brief")
    answer = service.recommend(brief, flips=False)
    drawn = service.drawings.document(answer, "svg")
    assert (ROOT / "scenarios" / "pictures" / "left-handed-hunter.svg").read_bytes() == drawn


def test_the_brief_in_the_readme_is_a_brief(service: Service) -> None:
    (shown,) = block("README.md", "toml")
    assert service.recommend(read_brief(shown.encode(), "README.md"), flips=False).proposal is not None


def test_the_readme_opens_with_the_job_and_two_commands() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    first, second = block("README.md", "sh")[:2]
    assert text.index("how it should be ground") < text.index(first) < text.index(second)
    assert "recommend scenarios/" in first
    assert "pytest" in second


def test_the_rule_in_the_guide_is_a_rule_of_the_pack() -> None:
    rule = next(b for b in block("DEVELOPERS.md", "toml") if b.startswith("[[rule]]"))
    shipped = ROOT / "rules/bevelwright_rules/core/rules/cutting.toml"
    assert re.sub(r"[ ]+#.*", "", rule) in shipped.read_text(encoding="utf-8")


def test_every_path_in_the_guide_is_there() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, timeout=60, check=True)
    files = listed.stdout.split()
    folders = {folder.as_posix() for file in files for folder in Path(file).parents}
    named = re.findall(r"`([\w./-]+(?:\.(?:py|toml|tsv)|/))`", (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))
    assert len(named) > 50

    def stands(name: str) -> bool:
        return any(f"/{path}".endswith(f"/{name.rstrip('/')}") for path in (folders if name.endswith("/") else files))

    users = {"shop.toml", "keys.toml", "pack.toml", "pyproject.toml"}
    assert [name for name in named if name not in users and not stands(name)] == []


def test_the_tree_in_the_guide_shows_every_folder_of_the_program() -> None:
    tree = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("## The house")[1].split("```")[1]
    shown = set(re.findall(r"(\w+)/", tree))
    folders = {init.parent.name for init in (ROOT / "recommender").rglob("__init__.py")}
    assert folders - shown == set()

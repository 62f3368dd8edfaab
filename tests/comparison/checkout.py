"""The files of one commit in a folder of their own, and how a process imports exactly those."""

from __future__ import annotations

import io
import os
import shutil
import subprocess
import tarfile
import tomllib
from dataclasses import dataclass
from pathlib import Path

REPOSITORY = Path(__file__).parents[2]
WORKING_TREE = "."
"""How the files as they lie in the working tree are asked for, in place of a commit."""


class ComparisonError(Exception):
    """What keeps two commits from being compared, in one line."""


@dataclass(frozen=True)
class Checkout:
    """A commit's files, with the folders that Python finds its packages in."""

    label: str
    """What it is called in the summary."""
    commit: str
    """Its hash; empty for the working tree."""
    folder: Path
    search_path: tuple[Path, ...]
    packages: tuple[str, ...]
    """Top-level packages that must come from here and from nowhere else."""

    @property
    def scenarios(self) -> Path:
        """The folder of its shipped briefs."""
        return self.folder / "scenarios"


def check_out(revision: str, into: Path) -> Checkout:
    """Write the files of a commit, or of the working tree, below a new folder. Raises ComparisonError."""
    folder = into / "files"
    folder.mkdir(parents=True)
    if revision == WORKING_TREE:
        # A copy, so that what is edited during a run does not come into it.
        for name in _git("ls-files", "-z", "--cached", "--others", "--exclude-standard").split(b"\0"):
            source = REPOSITORY / os.fsdecode(name)
            if name and source.is_file():
                target = folder / os.fsdecode(name)
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(source, target)
        commit, label = "", "working tree"
    else:
        commit = _git("rev-parse", "--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}").decode().strip()
        label = _git("log", "-1", "--format=%h %s", commit).decode().strip()
        with tarfile.open(fileobj=io.BytesIO(_git("archive", commit))) as archive:
            archive.extractall(folder, filter="data")
    roots = _import_roots(folder)
    return Checkout(label, commit, folder, (_describe(folder, into), *roots), _packages(roots))


def _git(*arguments: str) -> bytes:
    done = subprocess.run(("git", "-C", REPOSITORY, *arguments), capture_output=True)
    if done.returncode:
        words = done.stderr.decode(errors="replace").strip() or f"there is no commit {arguments[-1]}"
        raise ComparisonError(f"git {arguments[0]}: {words}")
    return done.stdout


def _project(folder: Path) -> dict[str, object]:
    with (folder / "pyproject.toml").open("rb") as handle:
        return tomllib.load(handle)


def _import_roots(folder: Path) -> tuple[Path, ...]:
    data = _project(folder)
    found = data.get("tool", {}).get("setuptools", {}).get("packages", {}).get("find", {}).get("where", ["."])
    return tuple((folder / where).resolve() for where in found)


def _packages(roots: tuple[Path, ...]) -> tuple[str, ...]:
    return tuple(sorted(init.parent.name for root in roots for init in root.glob("*/__init__.py")))


def _describe(folder: Path, into: Path) -> Path:
    """Write what an installation would say of this commit: its plug-ins are found by its own entry points.

    The environment has another commit installed, whose entry points may name modules that are not in this one.
    """
    project = _project(folder)["project"]
    place = into / "description"
    information = place / f"{project['name']}-{project['version']}.dist-info"
    information.mkdir(parents=True)
    words = f"Metadata-Version: 2.1\nName: {project['name']}\nVersion: {project['version']}\n"
    (information / "METADATA").write_text(words)
    groups = {"console_scripts": project.get("scripts", {}), **project.get("entry-points", {})}
    lines = [
        line for group, points in groups.items() for line in (f"[{group}]", *(f"{k} = {v}" for k, v in points.items()))
    ]
    (information / "entry_points.txt").write_text("\n".join(lines) + "\n")
    return place

"""House rules on the files: what stands at the top, what each module offers, what DEVELOPERS.md maps."""

from __future__ import annotations

import ast
import importlib
import pkgutil
import re
from pathlib import Path
from types import ModuleType

import pytest

PACKAGES = ("api", "fem", "meshing")
TOP = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "api",
    "fem",
    "meshing",
    "tests",
    "cases",
    "LICENSE",
    ".gitignore",
    ".ci",
    "start",
}


def modules() -> list[str]:
    """Every module of the three packages, by its dotted name."""
    names = list(PACKAGES)
    for package in PACKAGES:
        names += [
            found.name for found in pkgutil.walk_packages(importlib.import_module(package).__path__, f"{package}.")
        ]
    return names


def is_public_here(module: ModuleType, name: str) -> bool:
    """Whether a name without underscore was made in this module: a function or a class, no import and no constant."""
    return not name.startswith("_") and getattr(getattr(module, name), "__module__", None) == module.__name__


def test_top_level_is_what_the_project_says(project: Path) -> None:
    ignored = {line.strip("/") for line in (project / ".gitignore").read_text().splitlines()} | {".git"}
    assert {entry.name for entry in project.iterdir()} - ignored == TOP


def test_three_packages_are_typed(project: Path) -> None:
    for package in PACKAGES:
        assert (project / package / "py.typed").is_file()


@pytest.mark.parametrize("name", modules())
def test_all_is_true(name: str) -> None:
    module = importlib.import_module(name)
    assert module.__doc__, "a file opens with what it does"
    offered = set(getattr(module, "__all__", ()))
    assert {entry for entry in offered if not hasattr(module, entry)} == set(), "offered, but not there"
    assert {entry for entry in vars(module) if is_public_here(module, entry)} - offered == set(), (
        "there, but not offered"
    )


@pytest.mark.parametrize("name", [name for name in modules() if name not in PACKAGES])
def test_map_of_the_code_says_what_every_file_says_of_itself(name: str, project: Path) -> None:
    path = project.joinpath(*name.split("."))
    source = path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
    first = (ast.get_docstring(ast.parse(source.read_text())) or "").splitlines()[0].replace("|", "\\|")
    shown = f"{path.relative_to(project)}/" if path.is_dir() else f"{source.relative_to(project)}"
    assert f"| `{shown}` | {first} |" in (project / "DEVELOPERS.md").read_text().splitlines()


def test_map_of_the_code_names_no_file_that_is_gone(project: Path) -> None:
    for shown in re.findall(
        r"^\| `([a-z_/]+(?:\.py|/))` \|", (project / "DEVELOPERS.md").read_text(), flags=re.MULTILINE
    ):
        assert (project / shown).exists(), shown


def test_every_page_that_is_named_is_here(project: Path) -> None:
    for folder in (*PACKAGES, "tests", "cases"):
        for path in (*(project / folder).rglob("*.py"), *(project / folder).rglob("*.toml")):
            for named in re.findall(r"\b[A-Za-z_]+\.md\b", path.read_text()):
                assert (project / named).is_file(), f"{path.name} names {named}"

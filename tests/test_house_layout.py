"""House rules on the files: what stands at the top, what each module offers, what DEVELOPERS.md maps."""

from __future__ import annotations

import importlib
import pkgutil
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
def test_map_of_the_code_names_every_module(name: str, project: Path) -> None:
    path = name.replace(".", "/")
    listed = f"{path}.py" if (project / f"{path}.py").is_file() else f"{path}/"
    assert f"`{listed}`" in (project / "DEVELOPERS.md").read_text(), "DEVELOPERS.md, map of the code"

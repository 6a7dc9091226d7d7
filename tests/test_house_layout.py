"""House rules on the files: what stands at the top, what each module offers, what DEVELOPERS.md maps."""

from __future__ import annotations

import ast
import importlib
import importlib.util
import pkgutil
import re
from pathlib import Path

import pytest

PACKAGES = ("api", "fem", "meshing")
NAMED = r"\b[A-Za-z_]+\.md\b|\b(?:tests|api|fem|meshing)/[\w/-]+\.(?:py|toml)\b"
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


def imports_from_ours(source: Path) -> list[tuple[str, str]]:
    """Each (module, name) that a file takes from a module of the three packages."""
    statements = (node for node in ast.walk(ast.parse(source.read_text())) if isinstance(node, ast.ImportFrom))
    ours = [node for node in statements if (node.module or "").split(".")[0] in PACKAGES]
    return [(str(node.module), alias.name) for node in ours for alias in node.names]


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
    assert [entry for entry in getattr(module, "__all__", ()) if not hasattr(module, entry)] == []


def is_offered(module: str, name: str) -> bool:
    """Whether a module names it in `__all__`; a package also offers its modules."""
    if name in getattr(importlib.import_module(module), "__all__", ()):
        return True
    return hasattr(importlib.import_module(module), "__path__") and bool(importlib.util.find_spec(f"{module}.{name}"))


def test_only_what_is_offered_is_imported(project: Path) -> None:
    sources = [source for package in (*PACKAGES, "tests") for source in (project / package).rglob("*.py")]
    taken = {(source.name, *taken) for source in sources for taken in imports_from_ours(source)}
    assert sorted(entry for entry in taken if not is_offered(*entry[1:])) == []


@pytest.mark.parametrize("name", [name for name in modules() if name not in PACKAGES])
def test_map_of_the_code_says_what_every_file_says_of_itself(name: str, project: Path) -> None:
    path = project.joinpath(*name.split("."))
    source = path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
    first = (ast.get_docstring(ast.parse(source.read_text())) or "").splitlines()[0].replace("|", "\\|")
    shown = f"{path.relative_to(project)}/" if path.is_dir() else f"{source.relative_to(project)}"
    row = f"| `{shown}` | {first} |"
    told = row in (project / "DEVELOPERS.md").read_text().splitlines()
    assert told, f"DEVELOPERS.md, map of the code, lacks this row:\n{row}"


def test_map_of_the_code_names_no_file_that_is_gone(project: Path) -> None:
    for shown in re.findall(
        r"^\| `([a-z_/]+(?:\.py|/))` \|", (project / "DEVELOPERS.md").read_text(), flags=re.MULTILINE
    ):
        assert (project / shown).exists(), shown


def test_every_page_and_program_that_is_named_is_here(project: Path) -> None:
    texts = [path for folder in (*PACKAGES, "tests", "cases") for path in (project / folder).rglob("*.*")]
    named = {
        (path.name, page)
        for path in (*texts, *project.glob("*.md"))
        if path.suffix in (".py", ".toml", ".md")
        for page in re.findall(NAMED, path.read_text())
    }
    assert {entry for entry in named if not (project / entry[1]).is_file()} == set()

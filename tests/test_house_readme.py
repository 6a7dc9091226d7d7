"""README.md is true: its commands exist, its cases solve, its links lead somewhere, its requests are served."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from api.case import read_case
from api.server import create_app
from api.solve import solve_case

README = Path(__file__).parents[1] / "README.md"


def blocks(language: str) -> list[str]:
    """The fenced blocks of README.md in a language."""
    return re.findall(rf"^```{language}\n(.*?)^```", README.read_text(), flags=re.MULTILINE | re.DOTALL)


def commands() -> list[list[str]]:
    """Every line of the shell blocks, in words."""
    return [shlex.split(line, comments=True) for block in blocks("sh") for line in block.splitlines() if line]


def program(*words: str) -> str:
    """What `tensionlay WORDS` prints; it must end well."""
    call = [sys.executable, "-c", "from api.command import main; main()", *words]
    return subprocess.run(call, cwd=README.parent, capture_output=True, text=True, check=True, timeout=60).stdout


def test_first_commands_are_the_two_of_the_set_up() -> None:
    assert commands()[:2] == [["sh", "start"], ["sh", "start", "test"]]


@pytest.mark.parametrize("words", [words for words in commands() if words[0] == "tensionlay"], ids=" ".join)
def test_command_and_its_options_exist(words: list[str]) -> None:
    told = program(words[1], "--help")
    for option in (word for word in words if word.startswith("--")):
        assert re.search(rf"{option}\b", told), option
    for path in (word for word in words if word.startswith("cases")):
        assert (README.parent / path).exists()


@pytest.mark.parametrize("text", blocks("toml"), ids=lambda text: tomllib.loads(text)["title"])
def test_cases_of_the_readme_solve(text: str) -> None:
    # What would help is tried, and tested, elsewhere.
    answer = solve_case(read_case(tomllib.loads(text), None), advice=False).answer
    assert all(stage["equilibrium_residual"] < 1e-9 for stage in answer["stages"] if stage["status"] != "tips")
    assert answer["stages"][-1]["status"] != "tips", "a reader's first case should stand"


def test_links_lead_somewhere() -> None:
    for target in re.findall(r"\]\(([^)]+)\)", README.read_text()):
        if not target.startswith(("#", "http")):
            assert (README.parent / target).is_file(), target


def test_requests_of_the_readme_are_served() -> None:
    told = re.findall(r"^\| `(GET|POST|DELETE) ([^`?]+)", README.read_text(), flags=re.MULTILINE)
    assert told
    nameless = {
        (method.upper(), re.sub(r"\{[^}]*\}", "{}", path))
        for path, methods in create_app().openapi()["paths"].items()
        for method in methods
    }
    for method, path in told:
        assert (method, re.sub(r"\{[^}]*\}", "{}", path)) in nameless

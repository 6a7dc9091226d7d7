"""House rules that tools hold: style, types and the direction of imports."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

BESIDE_PYTHON = Path(sys.executable).parent


@pytest.mark.parametrize(
    "command",
    [
        pytest.param([sys.executable, "-m", "ruff", "check", "."], id="ruff check"),
        pytest.param([sys.executable, "-m", "ruff", "format", "--check", "."], id="ruff format"),
        pytest.param([sys.executable, "-m", "mypy"], id="mypy"),
        pytest.param([str(BESIDE_PYTHON / "lint-imports"), "--no-logo"], id="imports"),
    ],
)
def test_tool_finds_nothing(command: list[str], project: Path) -> None:
    done = subprocess.run(command, cwd=project, capture_output=True, text=True, check=False)
    assert done.returncode == 0, f"{done.stdout}\n{done.stderr}"


def test_exceptions_from_warnings_are_narrow(project: Path) -> None:
    settings = tomllib.loads((project / "pyproject.toml").read_text())
    first, *others = settings["tool"]["pytest"]["ini_options"]["filterwarnings"]
    assert first == "error"
    for entry in others:
        action, message, category, *module = entry.split(":")
        assert action == "ignore"
        assert message or module, entry
        assert category not in ("", "Warning"), entry

"""The wheel: three typed packages, the cases inside; it works from a folder that has packages of the same names."""

from __future__ import annotations

import os
import subprocess
import sys
import sysconfig
import venv
import zipfile
from pathlib import Path

import pytest


def run(command: list[str], folder: Path) -> subprocess.CompletedProcess[str]:
    """Run in a folder, without any of the settings by which Python would look elsewhere."""
    environment = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)


@pytest.fixture(scope="module")
def wheel(project: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built with the build tool of this environment: nothing comes over the network."""
    folder = tmp_path_factory.mktemp("wheel")
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check"]
    done = run([*pip, "wheel", "--quiet", "--no-deps", "--no-build-isolation", "-w", str(folder), str(project)], folder)
    assert done.returncode == 0, done.stderr
    (built,) = folder.glob("tensionlay-*.whl")
    return built


@pytest.fixture(scope="module")
def elsewhere(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with its own `api`, `fem` and `meshing`, and beside it a new environment with the wheel installed.

    What the wheel depends on is lent by this environment: its folder comes after the new one's own, and an editable
    project in it stays unseen.
    """
    folder = tmp_path_factory.mktemp("elsewhere")
    venv.create(folder.parent / "installed", with_pip=False)
    python = str(folder.parent / "installed" / "bin" / "python")
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check", "--python", python]
    done = run([*pip, "install", "--quiet", "--no-deps", "--no-index", str(wheel)], folder)
    assert done.returncode == 0, done.stderr
    (site,) = (folder.parent / "installed").glob("lib/python*/site-packages")
    (site / "lent.pth").write_text(sysconfig.get_path("purelib") + "\n")
    for package in ("api", "fem", "meshing"):
        (folder / package).mkdir()
        (folder / package / "__init__.py").write_text("raise SystemExit('a stranger was imported')\n")
    return folder


def installed(folder: Path, program: str) -> str:
    """Path of a program of the new environment."""
    return str(folder.parent / "installed" / "bin" / program)


def test_wheel_holds_packages_types_cases_and_licence(wheel: Path, project: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    for package in ("api", "fem", "meshing"):
        assert f"{package}/py.typed" in names
        assert f"{package}/__init__.py" in names
    cases = {f"api/{path.relative_to(project)}" for path in (project / "cases").glob("*.toml")}
    assert cases
    assert cases <= set(names)
    assert {"api/steel/table.toml", "api/report/report.typ"} <= set(names)
    assert [name for name in names if name.endswith("licenses/LICENSE")]
    assert {name.split("/")[0] for name in names if ".dist-info" not in name} == {"api", "fem", "meshing"}


def test_installed_program_solves_and_draws_beside_strangers(elsewhere: Path) -> None:
    where = "from api import examples; print(examples.__file__); print(examples.cases_folder())"
    done = run([installed(elsewhere, "python"), "-P", "-c", where], elsewhere)
    assert done.returncode == 0, done.stderr
    code, cases = done.stdout.splitlines()
    assert str(elsewhere.parent / "installed") in code
    assert str(elsewhere.parent / "installed") in cases

    case = f"{cases}/l-island-with-sink.toml"
    done = run([installed(elsewhere, "tensionlay"), "solve", case, "--out", "out"], elsewhere)
    assert done.returncode in (0, 1), f"{done.stdout}\n{done.stderr}"
    assert "stranger" not in done.stdout + done.stderr
    assert (elsewhere / "out" / "result.json").is_file()
    pictures = list((elsewhere / "out" / "maps").glob("*.png"))
    assert pictures
    assert all(picture.read_bytes().startswith(b"\x89PNG") for picture in pictures)

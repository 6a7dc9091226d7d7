"""The set-up commands, run with stand-ins for Python, pip and apt-get: what is asked of whom, and what a person reads.

The real thing, on a bare machine, is what integration runs.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

TOOLS = "cat cksum cp dirname env mkdir mv rm sh tail"

# Each stand-in writes what it was asked into the file named by $ASKED.
PYTHON = """#!/bin/sh
case $1 in
-c) case $2 in *ensurepip*) exit "${UNUSABLE:-0}" ;; *) echo 3.11 ;; esac ;;
-) cat >/dev/null; [ -f installed ] || printf '%s\\n' ${MISSING:-} ;;
-m)
    echo "python $*" >>"$ASKED"
    mkdir -p .venv/bin
    cp "$STAND_INS/environment-python" .venv/bin/python
    cp "$STAND_INS/tensionlay" .venv/bin/tensionlay
    ;;
esac
"""
ENVIRONMENT_PYTHON = """#!/bin/sh
echo "environment $*" >>"$ASKED"
case $2 in
pip) [ -z "${PIP_FAILS:-}" ] || { echo "ERROR: no route to the registry" >&2; exit 1; } ;;
esac
"""
TENSIONLAY = """#!/bin/sh
echo "tensionlay $*" >>"$ASKED"
[ -n "${DIES:-}" ] || { mkdir -p "$4"; : >"$4/result.json"; }
exit "${VERDICT:-0}"
"""
APT = """#!/bin/sh
echo "apt-get $*" >>"$ASKED"
[ -z "${APT_FAILS:-}" ] || { echo "E: Unable to locate package" >&2; exit 100; }
: >installed
"""


class Machine:
    """A folder with the set-up file and pyproject.toml, and a PATH that holds stand-ins only."""

    def __init__(self, project: Path, folder: Path) -> None:
        self.slab = folder / "slab"
        self.bin = folder / "bin"
        self.asked = folder / "asked"
        self.slab.mkdir()
        self.bin.mkdir()
        shutil.copy(project / "start", self.slab)
        shutil.copy(project / "pyproject.toml", self.slab)
        for tool in TOOLS.split():
            (self.bin / tool).symlink_to(str(shutil.which(tool)))
        self.put("python3", PYTHON)
        self.put("environment-python", ENVIRONMENT_PYTHON)
        self.put("tensionlay", TENSIONLAY)
        self.put("uname", "#!/bin/sh\necho Linux\n")
        self.put("id", "#!/bin/sh\necho ${USER_ID:-0}\n")

    def put(self, name: str, text: str) -> None:
        """Write one stand-in."""
        (self.bin / name).write_text(text)
        (self.bin / name).chmod(0o755)

    def start(self, *words: str, **more: str) -> subprocess.CompletedProcess[str]:
        """Run `sh start` and forget what was asked before it."""
        self.asked.write_text("")
        environment = {"PATH": str(self.bin), "ASKED": str(self.asked), "STAND_INS": str(self.bin), "HOME": "/", **more}
        return subprocess.run(
            [str(self.bin / "sh"), "start", *words],
            cwd=self.slab,
            env=environment,
            capture_output=True,
            text=True,
            check=False,
            stdin=subprocess.DEVNULL,
        )

    @property
    def log(self) -> list[str]:
        """What the stand-ins were asked in the last run, in order."""
        return self.asked.read_text().splitlines()


@pytest.fixture
def machine(project: Path, tmp_path: Path) -> Machine:
    """A machine where nothing is missing and nothing is set up yet."""
    return Machine(project, tmp_path)


SOLVE = "tensionlay solve cases/l-island-with-sink.toml --out out/l-island-with-sink"
PIP = "environment -m pip install --quiet --disable-pip-version-check --editable"


def test_first_run_sets_up_and_solves_and_says_where_to_look(machine: Machine) -> None:
    done = machine.start()
    assert done.returncode == 0, done.stderr
    assert machine.log == ["python -m venv .venv", f"{PIP} .", SOLVE]
    assert "out/l-island-with-sink/maps" in done.stdout


def test_second_run_only_solves(machine: Machine) -> None:
    machine.start()
    assert machine.start().returncode == 0
    assert machine.log == [SOLVE]


@pytest.mark.parametrize(("verdict", "code"), [("0", 0), ("1", 0), ("2", 2), ("3", 3)])
def test_a_slab_that_cracks_is_a_run_that_worked(machine: Machine, verdict: str, code: int) -> None:
    done = machine.start(VERDICT=verdict)
    assert done.returncode == code
    assert ("Done." in done.stdout) == (code == 0)


def test_a_program_that_dies_is_no_verdict(machine: Machine) -> None:
    machine.start()
    done = machine.start(VERDICT="1", DIES="yes")
    assert done.returncode == 1
    assert "The run failed" in done.stderr
    assert "Done." not in done.stdout, "the result of the run before does not count"


def test_tests_are_set_up_once_and_get_the_arguments(machine: Machine) -> None:
    machine.start("test", "-k", "two words")
    assert machine.log == ["python -m venv .venv", f"{PIP} .[test]", "environment -m pytest -k two words"]
    machine.start("test")
    assert machine.log == ["environment -m pytest"]
    machine.start()
    assert machine.log == [SOLVE], "what serves the tests serves the solve"


def test_after_a_solve_the_tests_only_add_their_extras(machine: Machine) -> None:
    machine.start()
    machine.start("test")
    assert machine.log == [f"{PIP} .[test]", "environment -m pytest"]


def test_new_settings_are_installed_into_the_same_environment(machine: Machine) -> None:
    machine.start("test")
    with (machine.slab / "pyproject.toml").open("a") as settings:
        settings.write("# changed\n")
    machine.start()
    assert machine.log == [f"{PIP} .", SOLVE]
    machine.start("test")
    assert machine.log == [f"{PIP} .[test]", "environment -m pytest"]


def test_failing_pip_shows_its_reason_and_the_next_run_begins_anew(machine: Machine) -> None:
    done = machine.start(PIP_FAILS="yes")
    assert done.returncode == 1
    assert "no route to the registry" in done.stderr
    assert "pip could not install" in done.stderr
    assert SOLVE not in machine.log
    machine.start()
    assert machine.log == ["python -m venv .venv", f"{PIP} .", SOLVE]


def test_another_place_makes_the_environment_anew(machine: Machine) -> None:
    machine.start()
    machine.slab = machine.slab.rename(machine.slab.with_name("moved"))
    machine.start()
    assert machine.log == ["python -m venv .venv", f"{PIP} .", SOLVE]


def test_root_installs_exactly_what_is_missing(machine: Machine) -> None:
    machine.put("apt-get", APT)
    done = machine.start(MISSING="libglu1-mesa libegl1")
    assert done.returncode == 0, done.stderr
    assert machine.log[0].endswith("update")
    assert machine.log[1].endswith("install -y --no-install-recommends libglu1-mesa libegl1")


def test_apt_that_fails_is_told_with_the_command_to_type(machine: Machine) -> None:
    machine.put("apt-get", APT)
    done = machine.start(MISSING="libegl1", APT_FAILS="yes")
    assert done.returncode == 1
    assert "Unable to locate package" in done.stderr
    assert "could not be installed: libegl1" in done.stderr
    assert "apt-get update && apt-get install -y --no-install-recommends libegl1" in done.stderr


def test_without_root_and_sudo_the_command_to_type_is_named(machine: Machine) -> None:
    machine.put("apt-get", APT)
    done = machine.start(MISSING="libgl1 libxft2", USER_ID="1000")
    assert done.returncode == 1
    assert machine.log == []
    assert "apt-get install -y --no-install-recommends libgl1 libxft2" in done.stderr


def test_with_sudo_it_is_asked(machine: Machine) -> None:
    machine.put("apt-get", APT)
    machine.put("sudo", '#!/bin/sh\necho "sudo $*" >>"$ASKED"\nshift\nexec "$@"\n')
    machine.start(MISSING="libgl1", USER_ID="1000")
    assert machine.log[0].startswith("sudo -n env DEBIAN_FRONTEND=noninteractive apt-get")
    assert SOLVE in machine.log


def test_without_apt_the_packages_are_named(machine: Machine) -> None:
    done = machine.start(MISSING="libgomp1")
    assert done.returncode == 1
    assert "libgomp1" in done.stderr
    assert "no apt-get here" in done.stderr


def test_python_that_was_named_but_does_not_serve(machine: Machine) -> None:
    done = machine.start(PYTHON="python3", UNUSABLE="1")
    assert done.returncode == 1
    assert "PYTHON=python3 is no Python 3.11 to 3.14" in done.stderr


def test_unknown_word_shows_the_usage(machine: Machine) -> None:
    done = machine.start("tset")
    assert done.returncode == 2
    assert "sh start test" in done.stderr
    assert machine.start("help").returncode == 0


@pytest.mark.parametrize("shell", [name for name in ("sh", "dash", "bash") if shutil.which(name)])
def test_every_shell_reads_it(project: Path, shell: str) -> None:
    subprocess.run([shell, "-n", str(project / "start")], check=True)


def test_integration_runs_the_same_command(project: Path) -> None:
    lines = (project / ".ci" / "run").read_text().splitlines()
    assert lines[-1] == "exec sh start test"
    assert os.access(project / ".ci" / "run", os.X_OK)

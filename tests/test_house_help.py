"""`tensionlay --help` is quick: it loads nothing heavy. What is loaded is counted, not the time, which varies."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

HEAVY = (
    "numpy scipy shapely pint pydantic gmsh meshio pyvista vtkmodules matplotlib fastapi starlette uvicorn fem meshing"
)

SCRIPT = f"""
import sys
from api.command import main

sys.argv = ["tensionlay", "--help"]
try:
    main()
except SystemExit as end:
    assert not end.code, end.code
print(" ".join(["LOADED", *sorted(set("{HEAVY}".split()) & set(sys.modules))]))
"""


def test_help_loads_nothing_heavy(project: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT], cwd=project, capture_output=True, text=True, check=True, timeout=60
    )
    for command in ("solve", "judge", "batch", "schema", "serve"):
        assert f"  {command}" in done.stdout
    assert done.stdout.splitlines()[-1] == "LOADED", done.stdout

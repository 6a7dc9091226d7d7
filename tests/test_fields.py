"""The field files: everything that was solved, read back as another program would read it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import meshio
import numpy as np
import pytest

from api.fields import write_fields
from tests.maps_samples import example, tipping


def test_a_stage_is_read_back_whole(tmp_path: Path, project: Path) -> None:
    _, piece, analysis = example(project)
    file = tmp_path / "carry.vtu"
    write_fields(file, piece, analysis, 2)
    mesh = meshio.read(file)
    result, stage = analysis.stages[2], piece.stages[2]

    assert mesh.points[:, :2] == pytest.approx(analysis.grid.points)
    assert np.all(mesh.points[:, 2] == 0)
    assert np.array_equal(mesh.cells_dict["triangle"], analysis.grid.triangles)
    data = mesh.point_data
    assert data["moment averaged over one thickness [N m/m]"] == pytest.approx(result.moment)
    assert data["moment of the field itself [N m/m]"] == pytest.approx(result.local_moment)
    assert data["deflection, with gravity [m]"] == pytest.approx(result.w)
    assert result.peaks is not None
    for face, peak in result.peaks.items():
        tension = data[f"{face}: principal tension, averaged [Pa]"]
        assert tension.max() == pytest.approx(peak.tension.tension)
        share = data[f"{face}: share of allowed strength [-]"]
        assert share == pytest.approx(np.maximum(tension, 0) / stage.allowed)
        assert data[f"{face}: share of cracking strength [-]"] == pytest.approx(share * stage.allowed / stage.cracking)


def test_the_direction_is_that_of_the_pull(tmp_path: Path, project: Path) -> None:
    _, piece, analysis = example(project)
    file = tmp_path / "turn.vtu"
    write_fields(file, piece, analysis, 1)
    data = meshio.read(file).point_data
    along = data["underside: direction of the pull [-]"]
    mx, my, mxy = data["moment averaged over one thickness [N m/m]"].T
    # A positive moment pulls the underside: 6 m / t2 along the direction is the principal tension.
    across = mx * along[:, 0] ** 2 + my * along[:, 1] ** 2 + 2 * mxy * along[:, 0] * along[:, 1]
    tension = data["underside: principal tension, averaged [Pa]"]
    assert 6 * across / piece.plate.thickness**2 == pytest.approx(tension, abs=1e-6 * np.abs(tension).max())
    assert np.hypot(along[:, 0], along[:, 1]) == pytest.approx(1)


def test_a_stage_that_tips_has_the_grid_alone(tmp_path: Path, project: Path) -> None:
    _, piece, analysis = example(project)
    stages = (tipping(piece), *analysis.stages[1:])
    file = tmp_path / "tips.vtu"
    write_fields(file, piece, replace(analysis, stages=stages), 0)
    mesh = meshio.read(file)
    assert len(mesh.points) == len(analysis.grid.points)
    assert mesh.point_data == {}

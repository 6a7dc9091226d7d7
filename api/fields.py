"""A stage's fields as a VTU file, for whoever wants to look closer than a picture allows.

SI throughout; each field's name carries its unit. Points are those of the case, as seen looking at the show face.
"""

from __future__ import annotations

from pathlib import Path

import meshio
import numpy as np
import numpy.typing as npt

from api.translate import Piece
from fem.plate.analysis import Analysis
from fem.plate.model import Face, Stage, StageResult
from fem.plate.principal import face_stress, principal_tension

__all__ = ["stage_fields", "write_fields"]

FloatArray = npt.NDArray[np.float64]
FACES: tuple[Face, Face] = ("show", "underside")


def write_fields(path: Path, piece: Piece, analysis: Analysis, stage_index: int) -> None:
    """Write one stage's fields on the display grid; a stage that tips has the grid alone."""
    grid = analysis.grid
    points = np.column_stack([grid.points, np.zeros(len(grid.points))])
    fields = stage_fields(piece.stages[stage_index], analysis.stages[stage_index], piece.plate.thickness)
    mesh = meshio.Mesh(points, [("triangle", grid.triangles)], point_data=fields)
    meshio.write(path, mesh, file_format="vtu")


def stage_fields(stage: Stage, result: StageResult, thickness: float) -> dict[str, FloatArray]:
    """Fields by name, each (p,) or (p, 3); none if the stage tips.

    Moments are (mx, my, mxy) and pull the underside where positive. The larger principal stress of a face is negative
    where nothing is pulled; its direction is a unit vector without a sense. Shares are 0 where nothing is pulled.
    """
    if result.tips is not None:
        return {}
    fields = {
        "deflection, with gravity [m]": result.w,
        "moment averaged over one thickness [N m/m]": result.moment,
        "moment of the field itself [N m/m]": result.local_moment,
    }
    for face in FACES:
        for name, moment in (("averaged", result.moment), ("local", result.local_moment)):
            tension, angle = principal_tension(face_stress(moment, thickness, face))
            fields[f"{face}: principal tension, {name} [Pa]"] = tension
            if name == "averaged":
                pulled = np.maximum(tension, 0.0)
                fields[f"{face}: direction of the pull [-]"] = _unit_vectors(angle)
                fields[f"{face}: share of allowed strength [-]"] = pulled / stage.allowed
                fields[f"{face}: share of cracking strength [-]"] = pulled / stage.cracking
    return fields


def _unit_vectors(angle: FloatArray) -> FloatArray:
    """Unit vectors (p, 3) in the plane at angles (p,) [degrees] from +x."""
    radian = np.radians(angle)
    return np.column_stack([np.cos(radian), np.sin(radian), np.zeros(len(radian))])

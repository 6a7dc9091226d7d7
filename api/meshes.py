"""The triangles of a piece: the mesh follows its shape, the borders of its regions and of what bows."""

from __future__ import annotations

from api.errors import CaseError, Problem
from api.translate import Piece
from fem.plate.bow import bow_borders
from fem.plate.depth import depth_borders
from meshing.mesh import Mesh
from meshing.triangulate import MeshingError, triangulate

__all__ = ["mesh_of"]


def mesh_of(piece: Piece) -> Mesh:
    """Triangles of the piece; CaseError if its shape cannot be divided into them."""
    try:
        borders = (*depth_borders(piece.plate), *bow_borders(piece.stages))
        return triangulate(piece.shape, piece.plate.thickness, borders=borders)
    except MeshingError as error:
        fix = "leave out detail that is small against the thickness, or say what the slab really is in fewer corners"
        raise CaseError((Problem("slab", str(error), fix),)) from error

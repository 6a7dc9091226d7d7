"""A shape becomes triangles, by gmsh. Nothing of gmsh is seen outside this file.

gmsh is one global state in a process: it is started and ended for each mesh, off its signal handlers and behind one
lock, so that the same shape gives the same mesh whatever came before it, and that a worker process and a server's
thread may both call. The boundary is divided here, not by gmsh, so that every boundary node is known to lie on its
true curve.
"""

from __future__ import annotations

import contextlib
import ctypes
import itertools
import os
import signal
import threading
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import gmsh
import numpy as np
import numpy.typing as npt
import shapely

from meshing.mesh import Mesh
from meshing.shape import Shape
from meshing.sizing import Fineness, SizeMap, curve_parameters, size_map

__all__ = ["MeshingError", "triangulate"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_LOCK = threading.Lock()
_FRONTAL_DELAUNAY = 6
_MOST_BOUNDARY_NODES = 6000


class MeshingError(ValueError):
    """The shape could not be divided into triangles."""


class _Boundary(NamedTuple):
    """Boundary nodes (k, 2) in a chain round each loop; side j runs from node first[j] to second[j] along its curve."""

    nodes: FloatArray
    first: IntArray
    second: IntArray
    loop: IntArray
    curve: IntArray
    s: FloatArray


def triangulate(
    shape: Shape, thickness: float, fineness: Fineness | None = None, borders: Sequence[FloatArray] = ()
) -> Mesh:
    """Triangles for a slab of this thickness [m], graded to its corners and openings; the same input, the same mesh.

    borders: polylines (k_i, 2) [m] across which depth or bow changes; inside the slab, sides of triangles follow them.
    MeshingError if the mesher gives up, the boundary would need too many nodes or crosses itself.
    """
    fineness = fineness or Fineness()
    size = size_map(shape, thickness, fineness, borders)
    boundary = _divide(shape, size, fineness.segments)
    if len(boundary.nodes) > _MOST_BOUNDARY_NODES:
        raise MeshingError(f"the edges need {len(boundary.nodes)} nodes; at most {_MOST_BOUNDARY_NODES} are allowed")
    if not _is_simple(boundary):
        # gmsh would look for the crossing for ever.
        raise MeshingError("the edges of the slab, or of an opening in it, cross or touch")
    with _LOCK:
        nodes, triangles = _run_gmsh(boundary, size)
    return _assemble(shape, boundary, nodes, triangles, size)


def _divide(shape: Shape, size: SizeMap, segments: float) -> _Boundary:
    nodes: list[FloatArray] = []
    rows: list[tuple[int, int, int, int, float, float]] = []
    count = 0
    for number, loop in enumerate(shape.loops):
        first_of_loop = count
        for index, curve in enumerate(loop.curves):
            s = curve_parameters(curve, size, segments)
            nodes.append(curve.point(s[:-1]))
            rows += [(count + k, count + k + 1, number, index, s[k], s[k + 1]) for k in range(len(s) - 1)]
            count += len(s) - 1
        rows[-1] = (rows[-1][0], first_of_loop, *rows[-1][2:])
    table = np.asarray(rows)
    whole = table[:, :4].astype(np.int64)
    return _Boundary(np.concatenate(nodes), whole[:, 0], whole[:, 1], whole[:, 2], whole[:, 3], table[:, 4:])


def _is_simple(boundary: _Boundary) -> bool:
    """Whether the divided boundary is one outline with separate openings inside it."""
    outline, *openings = (boundary.nodes[boundary.first[boundary.loop == k]] for k in range(boundary.loop.max() + 1))
    return bool(shapely.Polygon(outline, openings).is_valid)


def _run_gmsh(boundary: _Boundary, size: SizeMap) -> tuple[FloatArray, IntArray]:
    """Nodes (n, 2), the boundary's first and in their order, and triangles (e, 3) counter-clockwise."""
    # Started anew each time: what it remembers of a large mesh changes the next one.
    with _signals_kept():
        gmsh.initialize(readConfigFiles=False, interruptible=False)
    for option, value in (
        ("General.Terminal", 0),
        ("General.NumThreads", 1),
        ("Mesh.Algorithm", _FRONTAL_DELAUNAY),
        ("Mesh.MeshSizeExtendFromBoundary", 0),
        ("Mesh.MeshSizeFromPoints", 0),
        ("Mesh.MeshSizeFromCurvature", 0),
        ("Mesh.Smoothing", 5),
    ):
        gmsh.option.setNumber(option, value)
    gmsh.model.add("slab")
    try:
        # gmsh works in absolute tolerances: a slab 10 km from the origin is meshed about its own centre.
        middle = boundary.nodes.mean(axis=0)
        _describe(boundary, size, middle)
        gmsh.model.mesh.generate(2)
        return _collect(boundary, middle)
    except MeshingError:
        raise
    except Exception as error:  # gmsh raises bare Exception
        raise MeshingError(f"the mesher gave up: {error}") from error
    finally:
        gmsh.finalize()


@contextlib.contextmanager
def _signals_kept() -> Iterator[None]:
    """Undo what gmsh does to the process's signals as it starts: SIGTERM would end us with half-written results.

    By the C library, because Python lets only the main thread touch handlers.
    """
    if os.name != "posix":
        yield
        return
    sigaction = ctypes.CDLL(None).sigaction
    numbers = sorted(signal.valid_signals() - {signal.SIGKILL, signal.SIGSTOP})
    # Room for any system's struct sigaction, whose fields do not matter here.
    kept = {number: ctypes.create_string_buffer(512) for number in numbers}
    known = [number for number in numbers if sigaction(int(number), None, kept[number]) == 0]
    try:
        yield
    finally:
        for number in known:
            sigaction(int(number), kept[number], None)


def _describe(boundary: _Boundary, size: SizeMap, middle: FloatArray) -> None:
    geo = gmsh.model.geo
    for tag, (x, y) in enumerate(boundary.nodes - middle, start=1):
        geo.addPoint(x, y, 0.0, tag=tag)
    for tag, (a, b) in enumerate(zip(boundary.first, boundary.second, strict=True), start=1):
        geo.addLine(a + 1, b + 1, tag=tag)
    loops = [
        geo.addCurveLoop((np.flatnonzero(boundary.loop == number) + 1).tolist())
        for number in range(int(boundary.loop.max()) + 1)
    ]
    surface = geo.addPlaneSurface(loops)
    lines = _describe_borders(boundary, size, middle)
    geo.synchronize()
    for tag in (*range(1, len(boundary.first) + 1), *lines):
        gmsh.model.mesh.setTransfiniteCurve(tag, 2)
    if lines:
        gmsh.model.mesh.embed(1, lines, 2, surface)

    field = gmsh.model.mesh.field
    tags = []
    for x, y, radius, finest in size.cones:
        away = f"sqrt((x-({x - middle[0]:.9g}))^2+(y-({y - middle[1]:.9g}))^2)"
        tags.append(field.add("MathEval"))
        field.setString(tags[-1], "F", f"{finest:.9g}+{size.growth:.9g}*abs({away}-{radius:.9g})")
    tags.append(field.add("MathEval"))
    field.setString(tags[-1], "F", f"{size.field:.9g}")
    if lines:
        away, rising = field.add("Distance"), field.add("Threshold")
        reach = max(size.field - size.borders.size, 1e-6) / size.growth
        field.setNumbers(away, "CurvesList", lines)
        field.setNumber(away, "Sampling", 4)
        for name, value in (
            ("InField", away),
            ("SizeMin", size.borders.size),
            ("SizeMax", max(size.field, size.borders.size)),
            ("DistMin", 0.0),
            ("DistMax", reach),
        ):
            field.setNumber(rising, name, value)
        tags.append(rising)
    least = field.add("Min")
    field.setNumbers(least, "FieldsList", tags)
    field.setAsBackgroundMesh(least)


def _describe_borders(boundary: _Boundary, size: SizeMap, middle: FloatArray) -> list[int]:
    """Lines along the borders inside the slab, by tag; chains that meet share the point."""
    geo = gmsh.model.geo
    known: dict[tuple[float, float], int] = {}
    point, line = len(boundary.nodes), len(boundary.first)
    tags = []
    for chain in size.borders.chains:
        along = []
        for x, y in (chain - middle).tolist():
            key = round(x, 9), round(y, 9)
            if key not in known:
                point += 1
                known[key] = geo.addPoint(x, y, 0.0, tag=point)
            along.append(known[key])
        for a, b in itertools.pairwise(along):
            line += 1
            tags.append(geo.addLine(a, b, tag=line))
    return tags


def _collect(boundary: _Boundary, middle: FloatArray) -> tuple[FloatArray, IntArray]:
    tags, coordinates, _ = gmsh.model.mesh.getNodes()
    kinds, _, connections = gmsh.model.mesh.getElements(2)
    if list(kinds) != [2]:
        raise MeshingError("the mesher made no triangles of this shape")
    row = np.zeros(int(tags.max()) + 1, dtype=np.int64)
    order = np.argsort(tags)
    row[tags[order]] = np.arange(len(tags))
    nodes = coordinates.reshape(-1, 3)[order, :2] + middle
    k = len(boundary.nodes)
    if not np.allclose(nodes[:k], boundary.nodes, rtol=0, atol=1e-7):
        raise MeshingError("the mesher moved the nodes of the edge")
    nodes[:k] = boundary.nodes
    triangles = row[np.asarray(connections[0], dtype=np.int64).reshape(-1, 3)]
    a, b, c = (nodes[triangles[:, i]] for i in range(3))
    area = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    flipped = area < 0
    triangles[flipped] = triangles[flipped][:, ::-1]
    return nodes, triangles


def _assemble(shape: Shape, boundary: _Boundary, nodes: FloatArray, triangles: IntArray, size: SizeMap) -> Mesh:
    """Match every boundary side with its triangle; the outline is walked as the loop runs, an opening against it."""
    start, end = triangles, np.roll(triangles, -1, axis=1)
    key = (start * len(nodes) + end).ravel()
    order = np.argsort(key)
    forward = boundary.first * len(nodes) + boundary.second
    backward = boundary.second * len(nodes) + boundary.first
    outline = boundary.loop == 0
    wanted = np.where(outline, forward, backward)
    place = np.searchsorted(key[order], wanted)
    place = np.minimum(place, len(key) - 1)
    found = order[place]
    if not np.array_equal(key[found], wanted):
        raise MeshingError("the mesher changed the edges of the slab")
    s = np.where(outline[:, None], boundary.s, boundary.s[:, ::-1])
    return Mesh(
        shape, nodes, triangles, found // 3, found % 3, boundary.loop, boundary.curve, s, size.field, size.coarsened
    )

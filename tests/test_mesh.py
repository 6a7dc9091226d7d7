"""The mesh: the same each time, on the true arcs, made in any thread or process, and bounded for hostile shapes."""

from __future__ import annotations

import contextlib
import math
import multiprocessing
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

from meshing.mesh import Mesh
from meshing.shape import Arc, Line, Shape, ellipse, polygon, rectangle
from meshing.sizing import Fineness, narrow_places
from meshing.triangulate import MeshingError, triangulate

FloatArray = npt.NDArray[np.float64]

THICKNESS = 0.04
L_CORNERS = np.array([[0.0, 0], [2.0, 0], [2.0, 0.6], [0.65, 0.6], [0.65, 1.5], [0, 1.5]])
SHAPES: dict[str, Shape] = {
    "rectangle": Shape(rectangle((0.6, 0.3), (1.2, 0.6))),
    "angle with a sink": Shape(polygon(L_CORNERS), (rectangle((1.3, 0.3), (0.5, 0.35), 0.04),)),
    "rounded angle": Shape(polygon(L_CORNERS, np.array([0.0, 0.1, 0.1, 0.02, 0.05, 0.0]))),
    "round table": Shape(ellipse((0, 0), (1.2, 1.2)), (ellipse((0.1, 0.0), (0.05, 0.05)),)),
    "oval with an oval": Shape(ellipse((0, 0), (1.6, 0.9), 0.3), (ellipse((0.1, 0.05), (0.45, 0.32), 1.0),)),
    "triangle": Shape(polygon(np.array([[0.0, 0.0], [1.2, 0.0], [0.3, 0.9]]))),
}


@pytest.fixture(scope="module")
def meshes() -> dict[str, Mesh]:
    return {name: triangulate(shape, THICKNESS) for name, shape in SHAPES.items()}


def same(a: Mesh, b: Mesh) -> bool:
    return np.array_equal(a.nodes, b.nodes) and np.array_equal(a.triangles, b.triangles)


@pytest.mark.parametrize("name", SHAPES)
def test_no_angle_is_small(meshes: dict[str, Mesh], name: str) -> None:
    assert meshes[name].smallest_angle > 20
    assert not meshes[name].coarsened


@pytest.mark.parametrize("name", SHAPES)
def test_triangles_fill_the_shape(meshes: dict[str, Mesh], name: str) -> None:
    mesh = meshes[name]
    a, b, c = mesh.corners.transpose(1, 0, 2)
    area = ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]) / 2
    assert (area > 0).all()
    chords = [mesh.corners[mesh.side_triangle, (mesh.side_corner + k) % 3] for k in (0, 1)]
    by_rim = (chords[0][:, 0] * chords[1][:, 1] - chords[0][:, 1] * chords[1][:, 0]).sum() / 2
    assert area.sum() == pytest.approx(by_rim, rel=1e-12)
    # Chords of an eighth of a quarter turn leave out (angle)2 / 6 of the arc's own share: 2 % at most here.
    assert area.sum() == pytest.approx(SHAPES[name].region().area, rel=0.02)
    edges, _ = mesh.edges
    assert len(mesh.nodes) - len(edges) + len(mesh.triangles) == 1 - len(SHAPES[name].openings)
    assert (mesh.neighbours < 0).sum() == len(mesh.side_triangle)


@pytest.mark.parametrize("name", SHAPES)
def test_boundary_nodes_lie_on_the_true_curves(meshes: dict[str, Mesh], name: str) -> None:
    mesh = meshes[name]
    for k in range(len(mesh.side_triangle)):
        curve = SHAPES[name].loops[mesh.side_loop[k]].curves[mesh.side_curve[k]]
        corners = mesh.triangles[mesh.side_triangle[k]]
        ends = mesh.nodes[[corners[mesh.side_corner[k]], corners[(mesh.side_corner[k] + 1) % 3]]]
        # Nodes are made on the curve, so that only round-off is between them.
        assert np.abs(ends - curve.point(mesh.side_s[k])).max() < 1e-9


def test_the_same_shape_gives_the_same_mesh(meshes: dict[str, Mesh]) -> None:
    name = "angle with a sink"
    assert same(triangulate(SHAPES[name], THICKNESS), meshes[name])
    # What the mesher keeps of a large mesh must not change the next one.
    triangulate(*HOSTILE["a floor"])
    assert same(triangulate(SHAPES["triangle"], THICKNESS), meshes["triangle"])
    with ThreadPoolExecutor(2) as pool:
        names = [name, "round table", name, "triangle"]
        found = list(pool.map(lambda name: triangulate(SHAPES[name], THICKNESS), names))
    for one, name in zip(found, names, strict=True):
        assert same(one, meshes[name])


def test_another_process_makes_the_same_mesh(meshes: dict[str, Mesh]) -> None:
    name = "round table"
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        assert same(pool.apply(triangulate, (SHAPES[name], THICKNESS)), meshes[name])


def comb(teeth: int) -> Shape:
    x = 0.05 * np.arange(2 * teeth + 1)
    top = [(float(a), 0.5 if k % 2 else 0.1) for k in range(2 * teeth) for a in (x[k], x[k + 1])]
    return Shape(polygon(np.array([(0.0, 0.0), (float(x[2 * teeth]), 0.0), *top[::-1]])))


HOSTILE: dict[str, tuple[Shape, float]] = {
    "needle": (Shape(polygon(np.array([[0.0, 0.0], [2.0, 0.0], [0.0, 0.02]]))), THICKNESS),
    "comb": (comb(40), THICKNESS),
    "forty openings": (
        Shape(
            rectangle((1.0, 0.5), (2.0, 1.0)),
            tuple(ellipse((0.1 + 0.2 * (k % 10), 0.125 + 0.25 * (k // 10)), (0.08, 0.08)) for k in range(40)),
        ),
        THICKNESS,
    ),
    "radius of half a millimetre": (
        Shape(polygon(L_CORNERS, np.full(6, 5e-4)), (rectangle((1.3, 0.3), (0.5, 0.3), 5e-4),)),
        THICKNESS,
    ),
    "a floor": (Shape(rectangle((6.0, 6.0), (12.0, 12.0))), 0.025),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_shape_has_a_mesh_or_a_reason_in_time(name: str) -> None:
    shape, thickness = HOSTILE[name]
    start = time.monotonic()
    with contextlib.suppress(MeshingError):
        mesh = triangulate(shape, thickness)
        # The bound is on the field; a boundary of many corners adds to it.
        assert len(mesh.triangles) < 3 * Fineness().most_triangles
        assert mesh.smallest_angle > 0
        assert mesh.coarsened is (name == "a floor")
    assert time.monotonic() - start < 10


def test_too_many_nodes_on_the_edges_are_refused() -> None:
    with pytest.raises(MeshingError, match=r"the edges need .* nodes; at most 6000"):
        triangulate(SHAPES["round table"], THICKNESS, Fineness(segments=2000))


def test_a_boundary_that_crosses_itself_is_refused_and_the_mesher_goes_on(meshes: dict[str, Mesh]) -> None:
    crossed = Shape(polygon(np.array([[0.0, 0.0], [1.0, 1.0], [1.2, 0.0], [0.0, 0.7]])))
    with pytest.raises(MeshingError, match="cross or touch"):
        triangulate(crossed, THICKNESS)
    assert same(triangulate(SHAPES["triangle"], THICKNESS), meshes["triangle"])


@pytest.mark.parametrize("name", SHAPES)
def test_locate_finds_what_brute_force_finds(meshes: dict[str, Mesh], name: str) -> None:
    mesh = meshes[name]
    random = np.random.default_rng(3)
    element = random.integers(0, len(mesh.triangles), 300)
    points = np.einsum("kc,kcd->kd", random.dirichlet(np.ones(3), 300), mesh.corners[element])
    found = mesh.locate(points)
    a, b, c = mesh.corners[found].transpose(1, 0, 2)

    def left(p: FloatArray, q: FloatArray) -> FloatArray:
        return np.asarray((q - p)[:, 0] * (points - p)[:, 1] - (q - p)[:, 1] * (points - p)[:, 0])

    assert min(side.min() for side in (left(a, b), left(b, c), left(c, a))) > -1e-12
    # Random points never lie on a side, so that the triangle is the very one they were made in.
    assert np.array_equal(found, element)


def test_locate_walks_round_an_opening_and_takes_the_nearest_off_the_mesh(meshes: dict[str, Mesh]) -> None:
    mesh = meshes["angle with a sink"]
    nodes = mesh.locate(mesh.nodes)
    assert all(k in mesh.triangles[e] for k, e in enumerate(nodes))
    off = np.array([[1.3, 0.3], [-0.01, 0.3], [2.5, 0.3]])
    middle = mesh.corners[mesh.locate(off)].mean(axis=1)
    assert np.hypot(*(middle - off).T)[1] < 0.1


def test_narrow_places_are_where_the_slab_is_narrow() -> None:
    shape = Shape(rectangle((1.0, 0.3), (2.0, 0.6)), (rectangle((1.0, 0.33), (0.5, 0.44)),))
    places = narrow_places(shape, 0.12)
    assert len(places)
    x, y, width, direction = places.T
    # Rails of 110 mm in front of the opening and 50 mm behind it; stations are 1e-2 of the reach off their edge.
    front, back = y < 0.3, y > 0.3
    assert width[front] == pytest.approx(np.full(front.sum(), 0.11), rel=1e-6)
    assert width[back] == pytest.approx(np.full(back.sum(), 0.05), rel=1e-6)
    assert ((x > 0.75) & (x < 1.25)).all()
    assert np.abs(np.cos(direction)).max() < 1e-9
    assert y[front] == pytest.approx(np.full(front.sum(), 0.055), abs=1e-6)
    assert not len(narrow_places(shape, 0.04))


def test_finer_at_sharp_corners_and_small_radii() -> None:
    mesh = triangulate(SHAPES["angle with a sink"], THICKNESS)
    side = np.roll(mesh.corners, -1, axis=1) - mesh.corners
    size = np.hypot(side[..., 0], side[..., 1]).max(axis=1)
    away = np.hypot(*(mesh.corners.mean(axis=1) - [0.65, 0.6]).T)
    assert size[away < 0.01].max() < 0.2 * THICKNESS
    # The least at the corner is 0.03 thicknesses and it grows from there.
    assert size.max() < 2 * mesh.field_size


@pytest.mark.parametrize(("radii", "corner"), [([0.4, 0.4, 0, 0], "[01]"), ([0, 0, 1.1, 0], "[123]")])
def test_a_radius_that_does_not_fit_is_refused(radii: list[float], corner: str) -> None:
    with pytest.raises(ValueError, match=f"corner radius .* m does not fit at corner {corner}"):
        polygon(np.array([[0.0, 0.0], [0.7, 0.0], [0.7, 1.0], [0.0, 1.0]]), np.array(radii))


def test_loops_run_counter_clockwise_and_keep_their_arcs() -> None:
    clockwise = np.array([[0.0, 0.0], [0.0, 1.0], [1.0, 1.0], [1.0, 0.0]])
    loop = polygon(clockwise, np.array([0.1, 0.0, 0.0, 0.0]))
    assert loop.length == pytest.approx(4 - 0.2 + math.pi / 2 * 0.1, rel=1e-12)
    assert sum(isinstance(curve, Arc) for curve in loop.curves) == 1
    assert sum(isinstance(curve, Line) for curve in loop.curves) == 4
    assert Shape(loop).region().exterior.is_ccw
    for before, after in zip(loop.curves, (*loop.curves[1:], loop.curves[0]), strict=True):
        assert math.dist(before.end, after.start) < 1e-12


HANDLED = """
import os, signal, sys, threading
from meshing.shape import Shape, rectangle
from meshing.triangulate import triangulate
heard = []
signal.signal(signal.SIGTERM, lambda number, frame: heard.append(number))
signal.signal(signal.SIGINT, lambda number, frame: heard.append(number))
mesh = lambda: triangulate(Shape(rectangle((0.5, 0.3), (1.0, 0.6))), 0.04)
if sys.argv[1] == "thread":
    one = threading.Thread(target=mesh)
    one.start()
    one.join()
else:
    mesh()
os.kill(os.getpid(), signal.SIGTERM)
os.kill(os.getpid(), signal.SIGINT)
sys.exit(0 if heard == [signal.SIGTERM, signal.SIGINT] else 1)
"""


@pytest.mark.parametrize("where", ["main", "thread"])
def test_the_process_keeps_its_signal_handlers(where: str, project: Path) -> None:
    assert subprocess.run([sys.executable, "-c", HANDLED, where], cwd=project, timeout=60).returncode == 0

"""Bell's triangle on crooked patches and true arcs: what a conforming quintic owes, apart from any published plate."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from scipy.spatial import Delaunay

from fem.plate.bell import EXPONENTS, BellPlate, bending_rigidity, monomials
from fem.plate.footing import Site, footing
from fem.plate.free_plate import FreePlate
from fem.plate.model import EdgePlace
from meshing.mesh import Mesh
from meshing.shape import Shape, ellipse, polygon, rectangle
from meshing.sizing import Fineness
from meshing.triangulate import triangulate

FloatArray = npt.NDArray[np.float64]

ORDER = np.array([0, 1, 1, 2, 2, 2])
DERIVATIVES = ((0, 0), (1, 0), (0, 1), (2, 0), (1, 1), (0, 2))
PATCHES = (1, 3, 4)  # whose smallest angles are 18 to 23 degrees
FAR = np.array([7.3e3, -6.9e3])  # 10 km from the origin


def crooked(seed: int, shift: FloatArray | None = None) -> Mesh:
    """The unit square with uneven nodes on its sides and at random inside: no two triangles alike."""
    random = np.random.default_rng(seed)
    along = [np.concatenate([[0.0], np.sort(random.uniform(0.15, 0.85, 2))]) for _ in range(4)]
    corners = np.array([[0.0, 0], [1, 0], [1, 1], [0, 1]])
    sides = np.roll(corners, -1, axis=0) - corners
    rim = np.concatenate([corners[k] + s[:, None] * sides[k] for k, s in enumerate(along)])
    even = np.stack(np.meshgrid([0.25, 0.5, 0.75], [0.25, 0.5, 0.75]), axis=-1).reshape(-1, 2)
    nodes = np.concatenate([rim, even + random.uniform(-0.09, 0.09, (9, 2))])
    triangles = np.asarray(Delaunay(nodes).simplices, dtype=np.int64)
    a, b, c = (nodes[triangles[:, k]] for k in range(3))
    area = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    triangles = np.where(area[:, None] < 0, triangles[:, ::-1], triangles)[np.abs(area) > 1e-9]
    # Side j of the rim runs from node j to the next; find the triangle that owns it.
    k = len(rim)
    start, end = triangles, np.roll(triangles, -1, axis=1)
    owner = [np.argwhere((start == j) & (end == (j + 1) % k))[0] for j in range(k)]
    ends = [np.append(s, 1.0) for s in along]
    moved = np.zeros(2) if shift is None else shift
    return Mesh(
        Shape(polygon(corners + moved)),
        nodes + moved,
        triangles,
        np.array([e for e, _ in owner]),
        np.array([corner for _, corner in owner]),
        np.zeros(k, dtype=np.int64),
        np.repeat(np.arange(4), 3),
        np.concatenate([np.stack([s[:-1], s[1:]], axis=1) for s in ends]),
        0.3,
    )


def interpolated(bell: BellPlate, polynomial: FloatArray) -> FloatArray:
    """Scaled freedoms (6 n,) of a polynomial (21,) in the plain coordinates."""
    value = monomials(bell.mesh.nodes, *DERIVATIVES) @ polynomial
    return np.asarray((value * bell.node_length[:, None] ** ORDER).ravel())


def random_polynomial(degree: int, seed: int) -> FloatArray:
    whole = np.random.default_rng(seed).uniform(-1, 1, 21)
    return np.where(EXPONENTS.sum(axis=1) <= degree, whole, 0.0)


def inside(mesh: Mesh, seed: int) -> tuple[npt.NDArray[np.int64], FloatArray]:
    """Points at random in every triangle, four each, and whose they are."""
    share = np.random.default_rng(seed).dirichlet(np.ones(3), (len(mesh.triangles), 4))
    points = np.einsum("egk,ekd->egd", share, mesh.corners)
    return np.repeat(np.arange(len(mesh.triangles)), 4), points.reshape(-1, 2)


# Patch test: a field of constant curvature has constant moments, which no node inside has to balance.
@pytest.mark.parametrize("seed", PATCHES)
def test_constant_curvature_leaves_nodes_inside_alone(seed: int) -> None:
    mesh = crooked(seed)
    bell = BellPlate(mesh)
    K = bell.stiffness(bending_rigidity(12.0, 0.2, 1.0))
    u = interpolated(bell, random_polynomial(2, seed))
    residual = np.abs(K @ u)[6 * 12 :]
    # Round-off is judged against the sum of sizes that cancel.
    assert (residual <= 1e-10 * (abs(K) @ np.abs(u))[6 * 12 :]).all()
    energy = u @ (K @ u)
    kappa = -2 * random_polynomial(2, seed)[[3, 5, 4]]
    assert energy == pytest.approx(kappa @ bending_rigidity(12.0, 0.2, 1.0) @ kappa, rel=1e-9)


@pytest.mark.parametrize("seed", PATCHES)
def test_a_quartic_is_reproduced_and_a_quintic_is_not(seed: int) -> None:
    mesh = crooked(seed)
    bell = BellPlate(mesh)
    element, points = inside(mesh, seed)

    def miss(degree: int) -> float:
        p = random_polynomial(degree, seed)
        coefficients = bell.element_coefficients(interpolated(bell, p)[:, None])
        found = bell.evaluate(coefficients, element, points, *DERIVATIVES)[..., 0]
        return float(np.abs(found - monomials(points, *DERIVATIVES) @ p).max())

    # The inverse, and second derivatives by 1 / h2, lose five digits of sixteen.
    assert miss(4) < 1e-9
    assert miss(5) > 1e-4


@pytest.mark.parametrize("shift", [np.zeros(2), FAR], ids=["origin", "10 km away"])
def test_rigid_motions_cost_nothing(shift: FloatArray) -> None:
    plate = FreePlate(crooked(1, shift), 1.0, 0.2)
    K = plate.bell.stiffness(plate.rigidity)
    motions = plate.rigid_motions
    about = motions - motions[:, :1] * np.append(0.0, shift)
    # Coordinates of 1e4 m keep 2e-12 m, a two-hundredth of a billionth of the sides; the inverse costs five digits.
    limit = 1e-10 if not shift.any() else 1e-6
    assert np.abs(K @ about).max() <= limit * (abs(K) @ np.abs(about)).max()
    assert np.abs((K - K.T).toarray()).max() <= 1e-12 * abs(K).max()


def test_area_and_first_moments_are_those_of_the_true_arcs() -> None:
    shape = Shape(
        rectangle((1.0, 0.5), (2.0, 1.0), 0.12),
        (ellipse((0.5, 0.5), (0.4, 0.4)), ellipse((1.4, 0.4), (0.6, 0.3), 0.4)),
    )
    plate = FreePlate(triangulate(shape, 0.04), 0.04, 0.2)
    whole, circle, oval = 2 - (4 - np.pi) * 0.12**2, np.pi * 0.2**2, np.pi * 0.3 * 0.15
    expected = [whole - circle - oval, whole - 0.5 * circle - 1.4 * oval, 0.5 * whole - 0.5 * circle - 0.4 * oval]
    # Four Gauss points on a sixth of a quarter turn: (pi / 24)^8 / 8! is 1e-12; an oval's tip turns faster.
    assert plate.bell.body_load @ plate.rigid_motions == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("seed", PATCHES)
def test_slope_is_continuous_across_sides_and_curvature_at_nodes(seed: int) -> None:
    mesh = crooked(seed)
    bell = BellPlate(mesh)
    u = np.random.default_rng(seed).standard_normal((bell.size, 1))
    coefficients = bell.element_coefficients(u)
    first, corner = np.nonzero(mesh.neighbours >= 0)
    second = mesh.neighbours[first, corner]
    a, b = mesh.corners[first, corner], mesh.corners[first, (corner + 1) % 3]
    for s in (0.1, 0.37, 0.5, 0.8):
        at = a + s * (b - a)
        here, there = (bell.evaluate(coefficients, e, at, (0, 0), (1, 0), (0, 1)) for e in (first, second))
        assert np.abs(here - there).max() < 1e-8 * np.abs(here).max()
    here, there = (bell.evaluate(coefficients, e, a, *DERIVATIVES[3:]) for e in (first, second))
    assert np.abs(here - there).max() < 1e-8 * np.abs(here).max()


# A ring bent by an even moment M on its outer rim: m_r = C (1 - a2/r2), m_t = C (1 + a2/r2), C = M b2 / (b2 - a2).
# Timoshenko & Woinowsky-Krieger (1959), art. 17. No support and no pressure: the plate alone is measured.
def test_moments_converge_on_a_ring() -> None:
    a, b, t, nu = 0.2, 0.5, 0.1, 0.3
    shape = Shape(ellipse((0, 0), (2 * b, 2 * b)), (ellipse((0, 0), (2 * a, 2 * a)),))
    C = b**2 / (b**2 - a**2)
    size, error = [], []
    for halving in (1.0, 0.65, 0.42):
        mesh = triangulate(shape, t, Fineness(field=1.2 * halving, segments=3 / halving, growth=0.5))
        plate = FreePlate(mesh, t, nu)
        bell = plate.bell
        rim = footing(Site.of(mesh, t), EdgePlace(0, 0.0, shape.outline.length), clamp=True, concentrated=False)
        column = bell.functionals(rim.points, rim.weight, rim.contact, rim.size, rim.normal)
        u = plate.solve(column @ np.where(rim.slope, -rim.tributary, 0.0)[:, None])
        kappa = -u.reshape(-1, 6)[:, [3, 5, 4]] / bell.node_length[:, None] ** 2 * [1, 1, 2]
        m = kappa @ plate.rigidity.T
        x, y = mesh.nodes.T
        r2 = x**2 + y**2
        exact = C * np.stack([1 - a**2 * (x * x - y * y) / r2**2, 1 - a**2 * (y * y - x * x) / r2**2], axis=1)
        size.append(len(mesh.nodes) ** -0.5)
        error.append(float(np.sqrt(np.mean((m[:, :2] - exact) ** 2))))
    # A quintic that holds all quartics has moments good to h3 (3.2 to 3.5 measured).
    assert np.polyfit(np.log(size), np.log(error), 1)[0] > 2.5
    assert error[-1] < 1e-3 * 2 * C


@pytest.mark.parametrize(("E", "nu", "t"), [(0.0, 0.2, 1.0), (1.0, 0.51, 1.0), (1.0, -1.0, 1.0), (1.0, 0.2, 0.0)])
def test_no_such_plate(E: float, nu: float, t: float) -> None:
    with pytest.raises(ValueError, match="no such plate: E = "):
        bending_rigidity(E, nu, t)


def test_rigidity_is_cubic_in_thickness_and_isotropic() -> None:
    assert bending_rigidity(3.0, 0.2, 0.04) == pytest.approx(8 * bending_rigidity(3.0, 0.2, 0.02), rel=1e-14)
    D = bending_rigidity(3.0, 0.2, 0.04)
    # Turned by 45 degrees a pure twist is a saddle: D11 - D12 = 2 D33.
    assert D[0, 0] - D[0, 1] == pytest.approx(2 * D[2, 2], rel=1e-14)

"""Slabs in their plane against published elasticity solutions and against another finite element library."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import skfem
from numpy.testing import assert_allclose
from skfem.helpers import ddot, eye, sym_grad, trace

from fem.plane.standing import stand
from fem.plate.model import EdgePlace, Point, PointPlace
from meshing.shape import Shape, ellipse, polygon, rectangle
from meshing.sizing import Fineness
from tests.plane_slabs import Slab, edge_load, size_of, slab
from tests.plates import FloatArray, side

DOWN: Point = (0.0, -1.0)
RIGID, FOAM = np.inf, 1e5


def kirsch(points: FloatArray, a: float) -> FloatArray:
    """Stresses (k, 3) beside a round hole of radius a in an endless plate pulled along x with 1 Pa.

    Source: Kirsch (1898), as in Timoshenko & Goodier, Theory of Elasticity, 3rd ed. (1970), art. 35, eq. 61.
    """
    x, y = points.T
    r, angle = np.hypot(x, y), np.arctan2(y, x)
    q = (a / r) ** 2
    radial = (1 - q) / 2 + (1 + 3 * q**2 - 4 * q) / 2 * np.cos(2 * angle)
    hoop = (1 + q) / 2 - (1 + 3 * q**2) / 2 * np.cos(2 * angle)
    shear = -(1 - 3 * q**2 + 2 * q) / 2 * np.sin(2 * angle)
    c, s = np.cos(angle), np.sin(angle)
    return np.stack(
        [
            radial * c * c + hoop * s * s - 2 * shear * s * c,
            radial * s * s + hoop * c * c + 2 * shear * s * c,
            (radial - hoop) * s * c + shear * (c * c - s * s),
        ],
        axis=1,
    )


def kirsch_mean(points: FloatArray, radius: float, a: float, half: float) -> FloatArray:
    """The same averaged over the slab's part of discs about points (k, 2), by a sum over 60 x 96 spots of each."""
    r, angle = (np.arange(60) + 0.5) / 60 * radius, (np.arange(96) + 0.5) / 96 * 2 * np.pi
    spots = (r[:, None, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)).reshape(-1, 2)
    at = points[:, None] + spots
    weight = np.repeat(r, 96) * ((np.hypot(at[..., 0], at[..., 1]) > a) & (np.abs(at) < half).all(axis=-1))
    stress = kirsch(at.reshape(-1, 2), a).reshape(*at.shape[:2], 3)
    return np.asarray(np.einsum("kr,krc->kc", weight, stress) / weight.sum(axis=1)[:, None])


T = 0.05


def pulled(a: float, finer: float, half: float = 0.5) -> tuple[Slab, FloatArray, FloatArray, FloatArray, FloatArray]:
    """A square with a hole under Kirsch's own pull at its edges: slab, local, mean and their error bars."""
    shape = Shape(rectangle((0, 0), (2 * half, 2 * half)), (ellipse((0, 0), (2 * a, 2 * a)),))
    piece = slab(shape, T, 0.2, fineness=Fineness(field=1.6 / finer, segments=8 * finer))
    plate = piece.plate
    outer = np.hypot(*plate.grid.nodes.T) > a * (1 + 1e-6)
    load, at = edge_load(plate, lambda x: kirsch(x, a) * (np.hypot(*x.T) > 1.01 * a)[:, None])
    u = plate.solve(load[:, None])[:, 0]
    local, local_error, error = piece.reading.local(u, at & outer)
    return piece, local, piece.reading.mean(u), local_error, error


@pytest.mark.parametrize("a", [0.2, 0.05])
def test_round_hole_triples_the_pull(a: float) -> None:
    # 3.0 at the hole's rim across the pull, -1.0 along it: Timoshenko & Goodier (1970), art. 35. A user's mesh.
    piece, local, mean, local_error, error = pulled(a, 1)
    top, right = piece.near((0, a)), piece.near((a, 0))
    assert local[top, 0] == pytest.approx(3.0, rel=5e-3)
    assert local[right, 1] == pytest.approx(-1.0, rel=0.02)
    assert local_error[top] < 0.15
    exact = kirsch_mean(piece.plate.grid.nodes, T / 2, a, 0.5)
    assert mean[top, 0] == pytest.approx(exact[top, 0], rel=2e-3)
    off = size_of(mean - exact)
    assert off.max() < 0.015
    # Error bars hold nearly everywhere, and are no idle ones.
    assert np.mean(off <= error) > 0.97
    assert np.mean(size_of(local - kirsch(piece.plate.grid.nodes, a)) <= local_error) > 0.97
    assert np.median(error) < 0.05


def test_error_beside_a_hole_falls_at_its_rate() -> None:
    # Stress of quadratic triangles: h2 in the mean square at best; 1.3 to 1.6 seen, as meshes are no halves.
    error, peak, means = [], [], []
    for finer in (1, 1.5, 2):
        piece, local, mean, *_ = pulled(0.12, finer, 0.3)
        error.append(np.sqrt(np.mean(size_of(local - kirsch(piece.plate.grid.nodes, 0.12)) ** 2)))
        means.append(np.sqrt(np.mean(size_of(mean - kirsch_mean(piece.plate.grid.nodes, T / 2, 0.12, 0.3)) ** 2)))
        peak.append(abs(local[piece.near((0, 0.12)), 0] - 3))
    rate = -np.polyfit(np.log([1, 1.5, 2]), np.log(error), 1)[0]
    assert rate > 1.2
    assert means[2] < means[0] / 3
    assert peak[2] < 1.5e-3


def board(length: float, depth: float, nu: float = 0.2) -> Slab:
    shape = Shape(rectangle((0, 0), (length, depth)))
    return slab(shape, 0.05, nu, spots=tuple((0.0, float(y)) for y in np.linspace(-0.45, 0.45, 7) * depth))


# A deep board on two narrow supports under its lower edge, four or five times as long as deep: Timoshenko & Goodier,
# Theory of Elasticity, 3rd ed. (1970), art. 22, sx = M y / I + q / (2 I) (2/3 y3 - 2/5 c2 y), y downwards, I = 2 c3 / 3
# per unit thickness. For the own weight, q = 2 c times the weight, sx and sxy are the same and
# sy = q / (2 I) (c2 y - y3 / 3) - weight y (worked out by us: balanced, compatible, zero at both edges). M by statics.
# Beam theory alone misses the bracket. The supports are foam, whose pressure is even; a rigid hand bears at its edge.
@pytest.mark.parametrize(("length", "support"), [(2.0, 0.9), (2.4, 0.3 * 2.4)], ids=["at its ends", "at 0.2 L"])
def test_deep_board_on_two_supports(length: float, support: float) -> None:
    depth, w = 0.5, 1000.0
    piece, c = board(length, depth), depth / 2
    place = [PointPlace((x, -c), 0.04) for x in (-support, support)]
    found = stand(piece.plate, piece.reading, w, DOWN, place, [FOAM, FOAM])
    t, inertia = piece.plate.thickness, 2 * c**3 / 3
    q = 2 * c * w / t
    M = q * length / 2 * support - q * length**2 / 8
    y = -piece.sample.points[piece.spots, 1]
    bracket = q / (2 * inertia) * (2 / 3 * y**3 - 2 / 5 * c**2 * y)
    sx, sy, sxy = found.local[piece.spots].T
    largest = max(np.abs(M * y / inertia + bracket).max(), np.abs(M * y / inertia).max())
    assert_allclose(found.forces, np.full(2, w * length * depth / 2), rtol=1e-3)
    assert_allclose(sx, M * y / inertia + bracket, atol=0.01 * largest)
    assert_allclose(sy, q / (2 * inertia) * (c**2 * y - y**3 / 3) - w / t * y, atol=0.01 * largest)
    assert_allclose(sxy, 0, atol=0.01 * largest)


# A slender board with hands at 0.2 L: M = 0.025 w L2 in the middle, -0.02 w L2 over the hands (statics), stress
# 6 M / (t b2) on its edges; beam theory, common practice, no source. Across from a narrow hand pushing
# R, 0.133 R / (t c) less: Timoshenko & Goodier (1970), art. 40, the beam under a concentrated load, from memory.
def test_slender_board_on_edge_at_a_fifth_is_a_beam() -> None:
    length, depth, w = 4.0, 0.25, 1000.0
    piece = board(length, depth)
    place = [PointPlace((x, -depth / 2), 0.04) for x in (-0.3 * length, 0.3 * length)]
    found = stand(piece.plate, piece.reading, w, DOWN, place, [FOAM, FOAM])
    modulus = piece.plate.thickness * depth**2 / 6
    line = w * depth * length**2
    middle = found.local[piece.near((0, -depth / 2)), 0]
    over = found.local[piece.near((0.3 * length, depth / 2)), 0]
    assert middle == pytest.approx(0.025 * line / modulus, rel=0.01)
    near_hand = 0.133 * found.forces[1] / (piece.plate.thickness * depth / 2)
    assert over == pytest.approx(0.02 * line / modulus - near_hand, rel=0.015)


# A slender board on two rigid ends and a spring under its middle:
# R (1 / k + L3 / 48 EI + L / 4 GA) = 5 w L4 / 384 EI + w L2 / 8 GA, A being 5/6 of the section; beam theory with shear,
# common practice, no source. The spring is about as soft as the board, so that a factor of two in either shows.
@pytest.mark.parametrize("modulus", [5e9, 40e9])
@pytest.mark.parametrize("times", [0.5, 1.0, 2.0])
def test_spring_under_the_middle_of_a_board(modulus: float, times: float) -> None:
    depth, w, half = 0.25, 1000.0, 1.9
    piece = board(4.0, depth)
    t, span, line = piece.plate.thickness, 2 * half, w * depth
    bending = modulus * t * depth**3 / 12
    shearing = modulus / (2 * 1.2) * 5 / 6 * t * depth
    own = span**3 / (48 * bending) + span / (4 * shearing)
    sag = 5 * line * span**4 / (384 * bending) + line * span**2 / (8 * shearing)
    places = [PointPlace((x, -depth / 2), 0.0) for x in (-half, 0.0, half)]
    found = stand(piece.plate, piece.reading, w, DOWN, places, [RIGID, times / own, RIGID], modulus)
    assert found.forces[1] == pytest.approx(sag / (own + own / times), rel=0.02)


# Leaning 30 degrees from upright, the part in the plane is cos 30 of that on edge: superposition.
def test_leaning_part_in_the_plane() -> None:
    piece = board(2.0, 0.5)
    place = [PointPlace((x, -0.25), 0.04) for x in (-0.6, 0.6)]
    upright = stand(piece.plate, piece.reading, 1000.0, DOWN, place, [RIGID, RIGID])
    leaning = stand(piece.plate, piece.reading, 1000.0 * np.cos(np.radians(30)), DOWN, place, [RIGID, RIGID])
    assert_allclose(leaning.mean, upright.mean * np.sqrt(3) / 2, atol=1e-9 * size_of(upright.mean).max())


# Another library, scikit-fem: the same nodes, its own element, assembly and edge terms. An odd piece with a crooked
# opening stands on two stretches of foam, pressed everywhere, which there is a term of Winkler's on the edge.
OUTLINE = [[0, 0], [0.3, 0], [0.5, 0.06], [1.4, 0.06], [1.5, 0], [1.9, 0], [1.9, 0.7], [0.8, 0.7], [0.5, 1.2], [0, 1.1]]
OPENING = [[0.7, 0.25], [1.3, 0.2], [1.2, 0.5], [0.8, 0.45]]
ODD = Shape(polygon(np.array(OUTLINE)), (polygon(np.array(OPENING)),))
BED, E, NU, WEIGHT = 2e6, 20e9, 0.3, 900.0
SPOTS = ((0.25, 0.5), (1.0, 0.12), (1.0, 0.6), (1.6, 0.35), (0.55, 0.3), (0.3, 0.9))


def stressed(strain: FloatArray) -> FloatArray:
    """Plane stress for 1 Pa (2, 2, ...)."""
    return (strain + NU / (1 - NU) * np.asarray(eye(trace(strain), 2))) / (1 + NU)


@cache
def theirs() -> tuple[FloatArray, FloatArray]:
    """(forces (2,), stresses (k, 3) at SPOTS)."""
    ours = slab(ODD, 0.04, NU, SPOTS).plate.mesh
    mesh = skfem.MeshTri(np.array(ours.nodes.T), np.array(ours.triangles.T))
    element = skfem.ElementVector(skfem.ElementTriP2())
    basis = skfem.Basis(mesh, element, intorder=4)
    K = skfem.BilinearForm(lambda u, v, _: 0.04 * E * ddot(stressed(sym_grad(u)), sym_grad(v))).assemble(basis)
    load = skfem.LinearForm(lambda v, _: -WEIGHT * v[1]).assemble(basis)
    forms, feet = skfem.BilinearForm(lambda u, v, _: BED * u[1] * v[1]), []
    for x0, x1 in ((0, 0.3), (1.5, 1.9)):

        def under(x: FloatArray, x0: float = x0, x1: float = x1) -> FloatArray:
            return np.asarray((np.abs(x[1]) < 1e-9) & (x[0] > x0) & (x[0] < x1))

        feet.append(
            skfem.FacetBasis(mesh, element, facets=mesh.facets_satisfying(under, boundaries_only=True), intorder=4)
        )
        K = K + forms.assemble(feet[-1])
    aside = basis.get_dofs(lambda x: (np.abs(x[1]) < 1e-9) & (np.abs(x[0]) < 1e-9)).all(["u^1"])
    u = skfem.solve(*skfem.condense(K, load, D=aside[:1]))
    force = [-BED * skfem.Functional(lambda w: w["u"][1]).assemble(foot, u=foot.interpolate(u)) for foot in feet]
    points = np.array(SPOTS).T
    cells = mesh.element_finder()(*points)
    local = basis.mapping.invF(points[:, :, None], tind=cells)
    strain = np.zeros((2, 2, len(SPOTS)))
    for i in range(basis.Nbfun):
        grad = basis.elem.gbasis(basis.mapping, local, i, tind=cells)[0].grad[..., 0]
        strain += (grad + grad.transpose(1, 0, 2)) / 2 * u[basis.element_dofs[i, cells]]
    sigma = E * stressed(strain)
    return np.array(force), np.stack([sigma[0, 0], sigma[1, 1], sigma[0, 1]], axis=1)


def test_odd_piece_on_foam_agrees_with_another_library() -> None:
    piece = slab(ODD, 0.04, NU, SPOTS)
    feet: list[EdgePlace] = [side(ODD, 0), side(ODD, 4)]
    # Their pressure is quadratic along a side, ours straight between contacts: 2e-4 of the forces.
    found = stand(piece.plate, piece.reading, WEIGHT, DOWN, feet, [BED, BED], modulus=E)
    force, sigma = theirs()
    assert_allclose(found.forces, force, rtol=5e-4)
    assert np.abs(found.local[piece.spots] - sigma).max() < 1e-3 * np.abs(sigma).max()

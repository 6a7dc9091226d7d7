"""Laws that every answer obeys, whatever the slab: balance, symmetry, linearity, and what a support or load must do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
import shapely

from fem.plate.analysis import Analysis, analyse
from fem.plate.averaging import disc_mean
from fem.plate.bell import BellPlate
from fem.plate.model import (
    Action,
    AreaPlace,
    EdgePlace,
    Face,
    LinePlace,
    Load,
    PlateCase,
    Point,
    PointPlace,
    Probe,
    Stage,
    StageResult,
    Support,
)
from fem.plate.reading import FACES
from meshing.mesh import Mesh
from meshing.shape import Loop, Shape, polygon, rectangle
from meshing.sizing import Fineness
from meshing.triangulate import triangulate

FloatArray = npt.NDArray[np.float64]
Place = PointPlace | LinePlace | EdgePlace | AreaPlace

THICKNESS = 0.04
CASE = PlateCase(THICKNESS, 2400.0, 0.2)
MODULUS = 3e10
PRESSURE = CASE.density * CASE.gravity * CASE.thickness
# Laws hold on any mesh: coarse ones are quick.
COARSE = Fineness(field=2.5, segments=3, corner=0.2)

CORNERS = np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 0.6], [0.65, 0.6], [0.65, 1.5], [0.0, 1.5]])
RADII = np.array([0.0, 0.03, 0.0, 0.02, 0.0, 0.05])
SINK = ((1.35, 0.3), (0.5, 0.34), 0.04)
ANGLED = Shape(polygon(CORNERS, RADII), (rectangle(*SINK),))
STRIP = Shape(rectangle((1.0, 0.3), (2.0, 0.6)))
_MESHES: dict[tuple[Shape, Fineness], Mesh] = {}


def mesh_of(shape: Shape, fineness: Fineness = COARSE) -> Mesh:
    key = shape, fineness
    if key not in _MESHES:
        _MESHES[key] = triangulate(shape, THICKNESS, fineness)
    return _MESHES[key]


def stage(
    supports: Sequence[Support],
    loads: Sequence[Load] = (),
    up: Face = "show",
    multiplier: float = 1.0,
    modulus: float = MODULUS,
    name: str = "test",
) -> Stage:
    return Stage(name, up, multiplier, modulus, 3e6, 2e6, tuple(supports), tuple(loads))


def solve(
    shape: Shape,
    stages: Stage | Sequence[Stage],
    spots: Sequence[Point] = (),
    case: PlateCase = CASE,
    fineness: Fineness = COARSE,
) -> Analysis:
    wanted = [stages] if isinstance(stages, Stage) else stages
    return analyse(mesh_of(shape, fineness), case, wanted, [Probe(f"{k}", at) for k, at in enumerate(spots)])


def only(analysis: Analysis) -> StageResult:
    (result,) = analysis.stages
    return result


def forces(result: StageResult) -> FloatArray:
    return np.array([support.force for support in result.supports])


def probe_w(result: StageResult, k: int = 0) -> float:
    w = result.probes[k].w
    assert w is not None
    return w


def rest(place: Place, gap: float = 0.0, action: Action = "rest") -> Support:
    return Support("support", place, action, gap)


def line(*points: Point) -> LinePlace:
    return LinePlace(points)


def point(x: float, y: float) -> PointPlace:
    return PointPlace((x, y), 0.05)


MIXED = [
    rest(line((0.1, 0.05), (0.1, 1.45))),
    rest(line((1.9, 0.05), (1.9, 0.55)), gap=1e-3),
    rest(point(0.5, 0.3)),
    rest(AreaPlace(((0.7, 0.02), (0.9, 0.02), (0.9, 0.1), (0.7, 0.1)))),
]


def random_supports(random: np.random.Generator) -> list[Support]:
    """Three sound rests and one or two more of any kind, with gaps, springs, holds and clamps."""
    x = random.uniform(0.05, 0.6, 3)
    out = [
        rest(line((x[0], 0.1), (0.3, 0.5))),
        rest(point(1.9, random.uniform(0.05, 0.55))),
        rest(point(x[1], random.uniform(1.1, 1.45))),
    ]
    places: list[Place] = [
        line((0.9, 0.05), (1.7, 0.55)),
        EdgePlace(0, float(random.uniform(0, 2)), float(random.uniform(2.5, 5))),
        AreaPlace(((0.05, 0.05), (0.4, 0.05), (0.3, 0.7))),
        point(x[2], 1.0),
        EdgePlace(1, 0.1, 0.6),
    ]
    for k in random.choice(len(places), int(random.integers(1, 3)), replace=False):
        action: Action = random.choice(["rest", "rest", "hold", "clamp"])
        if isinstance(places[k], AreaPlace):
            action = "rest"
        stiffness = float(random.choice([np.inf, 3e6]))
        out.append(Support("more", places[k], action, float(random.choice([0.0, 5e-4, -2e-4])), stiffness))
    return out


def random_loads(random: np.random.Generator) -> list[Load]:
    kinds: list[Load] = [
        Load("hand", point(0.4, 0.3), 300.0),
        Load("rail", line((0.2, 0.2), (0.5, 1.3)), 400.0),
        Load("water", AreaPlace(((0.8, 0.0), (1.9, 0.0), (1.9, 0.6), (0.8, 0.6))), 500.0),
        Load("edge", EdgePlace(0, 0.2, 1.8), 200.0),
        Load("even", AreaPlace(), 250.0),
    ]
    return [kinds[k] for k in random.choice(len(kinds), 2, replace=False)]


def total_load(loads: Sequence[Load], area: float) -> float:
    sizes = {"hand": 1.0, "rail": float(np.hypot(0.3, 1.1)), "edge": 1.6, "even": area}
    box = shapely.box(0.8, 0.0, 1.9, 0.6)
    sizes["water"] = shapely.intersection(ANGLED.region(), box).area
    return sum(load.amount * sizes[load.name] for load in loads)


@pytest.mark.parametrize("group", range(4))
def test_forces_balance_the_loads(group: int) -> None:
    random = np.random.default_rng(group)
    stages = [
        stage(random_supports(random), random_loads(random), up=random.choice(["show", "underside"])) for _ in range(5)
    ]
    analysis = solve(ANGLED, stages)
    for asked, result in zip(stages, analysis.stages, strict=True):
        assert result.status != "tips"
        assert result.converged
        assert result.equilibrium_residual is not None
        assert result.equilibrium_residual <= 1e-9
        area = analysis.weight / PRESSURE
        # The region's chords keep 0.02 mm to the rounded corners: 1e-6 of the area under water.
        expected = analysis.weight + total_load(asked.loads, area)
        assert forces(result).sum() == pytest.approx(expected, rel=1e-5)
        for support, answer in zip(asked.supports, result.supports, strict=True):
            if support.action == "rest":
                assert answer.force >= 0.0
                assert answer.lifted is (answer.force == 0.0)
            assert (answer.moment is not None) is (support.action == "clamp")
            assert 0.0 <= answer.contact_share <= 1.0


def test_weight_and_centre_of_gravity_are_the_shapes() -> None:
    analysis = solve(STRIP, stage([rest(point(0.2, 0.3))]))
    assert analysis.weight == pytest.approx(PRESSURE * 1.2, rel=1e-12)
    assert analysis.center_of_gravity == pytest.approx((1.0, 0.3), rel=1e-12)


# Three points that carry forces known from statics, in a slab of any shape.
def test_three_points_carry_what_statics_says() -> None:
    places = np.array([[0.1, 0.1], [1.9, 0.2], [0.3, 1.4]])
    analysis = solve(ANGLED, stage([rest(point(x, y)) for x, y in places]))
    x, y = analysis.center_of_gravity
    expected = np.linalg.solve(np.vstack([np.ones(3), places.T]), analysis.weight * np.array([1.0, x, y]))
    # Every spot's spread keeps its middle; a quadrature of 84 points does too, to 1e-12.
    assert forces(only(analysis)) == pytest.approx(expected, rel=1e-9)


def test_a_symmetric_slab_answers_symmetrically() -> None:
    supports = [rest(line((0.3, 0.1), (0.3, 0.5))), rest(line((1.7, 0.1), (1.7, 0.5))), rest(point(1.0, 0.3))]
    spots = [(0.6, 0.2), (1.4, 0.2), (1.4, 0.4)]
    result = only(solve(STRIP, stage(supports), spots))
    assert forces(result)[0] == pytest.approx(forces(result)[1], rel=2e-3)
    for k in (1, 2):
        one, other = result.probes[0], result.probes[k]
        assert one.w == pytest.approx(other.w, rel=5e-3)
        assert one.moment is not None
        assert other.moment is not None
        sign = np.array([1, 1, -1 if k == 1 else 1])
        # The mesh is not symmetric; the moments of a coarse one are good to half a per cent of the largest.
        scale = max(abs(m) for m in one.moment)
        assert np.abs(np.array(one.moment) - sign * other.moment).max() < 0.01 * scale


def moved(turn: float, mirror: bool, shift: Point) -> tuple[FloatArray, FloatArray]:
    """Matrix and offset of a motion x -> A x + b."""
    c, s = np.cos(turn), np.sin(turn)
    A = np.array([[c, -s], [s, c]]) @ (np.diag([-1.0, 1.0]) if mirror else np.eye(2))
    return A, np.asarray(shift)


def carried(A: FloatArray, b: FloatArray, points: Sequence[Point]) -> list[Point]:
    return [(float(x), float(y)) for x, y in np.asarray(points) @ A.T + b]


# The moved slab gets another mesh, so that it answers as well as a mesh does: 2e-3 of forces and sag, 1e-2 of the
# averaged peaks at default settings, whose own error bars are about that.
@pytest.mark.parametrize(
    ("turn", "mirror", "shift"),
    [(0.0, True, (0.0, 0.0)), (np.radians(37), False, (-7.3, 4.1)), (1.1, True, (9e3, -4e3))],
    ids=["mirrored", "turned and shifted", "all three, 10 km away"],
)
def test_a_moved_slab_gives_a_moved_answer(turn: float, mirror: bool, shift: Point) -> None:
    A, b = moved(turn, mirror, shift)
    spots: list[Point] = [(0.3, 0.6), (1.0, 0.05)]

    def answer(A: FloatArray, b: FloatArray) -> tuple[Analysis, StageResult]:
        def at(*points: Point) -> tuple[Point, ...]:
            return tuple(carried(A, b, points))

        def loop(corners: FloatArray, radii: FloatArray) -> Loop:
            return polygon(corners @ A.T + b, radii)

        half = np.array([[-0.25, -0.17], [0.25, -0.17], [0.25, 0.17], [-0.25, 0.17]]) + SINK[0]
        shape = Shape(loop(CORNERS, RADII), (loop(half, np.full(4, SINK[2])),))
        supports = [
            rest(LinePlace(at((0.1, 0.05), (0.1, 1.45)))),
            rest(LinePlace(at((1.9, 0.05), (1.9, 0.55)))),
            rest(PointPlace(at((0.5, 0.3))[0])),
        ]
        loads = [
            Load("hand", PointPlace(at((1.0, 0.5))[0], 0.1), 200.0),
            Load("water", AreaPlace(at((1.2, 0.0), (1.8, 0.0), (1.8, 0.3))), 400.0),
        ]
        analysis = solve(shape, stage(supports, loads), carried(A, b, spots), fineness=Fineness())
        return analysis, only(analysis)

    here, before = answer(np.eye(2), np.zeros(2))
    there, after = answer(A, b)
    # A radius of 9 km keeps 1e-12 m of a slab of 2 m.
    assert there.weight == pytest.approx(here.weight, rel=1e-8)
    assert there.center_of_gravity == pytest.approx(carried(A, b, [here.center_of_gravity])[0], rel=1e-10, abs=1e-8)
    assert forces(after) == pytest.approx(forces(before), rel=2e-3)
    assert after.deflection == pytest.approx(before.deflection, rel=2e-3)
    assert before.peaks is not None
    assert after.peaks is not None
    for face in before.peaks:
        old, new = before.peaks[face], after.peaks[face]
        assert new.tension.tension == pytest.approx(old.tension.tension, rel=1e-2)
    for old_probe, new_probe in zip(before.probes, after.probes, strict=True):
        assert old_probe.moment is not None
        assert new_probe.moment is not None
        mx, my, mxy = old_probe.moment
        turned = A @ np.array([[mx, mxy], [mxy, my]]) @ A.T
        scale = max(abs(m) for m in old_probe.moment)
        found = np.array(new_probe.moment)
        assert np.abs(found - [turned[0, 0], turned[1, 1], turned[0, 1]]).max() < 1e-2 * scale
        assert new_probe.show is not None
        assert old_probe.show is not None
        pull = A @ [np.cos(np.radians(old_probe.show.angle)), np.sin(np.radians(old_probe.show.angle))]
        again = np.radians(new_probe.show.angle)
        # Directions along one line agree but for their sense; a degree is what 1e-2 of the moments can turn them.
        assert abs(pull @ [np.cos(again), np.sin(again)]) == pytest.approx(1.0, abs=2e-3)


def test_turned_over_its_faces_swap() -> None:
    spots = [(0.3, 0.3), (1.0, 0.05)]
    loads = [Load("hand", point(1.0, 0.5), 200.0)]
    show, under = solve(ANGLED, [stage(MIXED, loads), stage(MIXED, loads, up="underside")], spots).stages
    # Both are solved in one block, but not in the same columns of it: round-off of the largest value.
    for found, expected in (
        (under.w, show.w),
        (under.moment, -show.moment),
        (under.local_moment, -show.local_moment),
    ):
        assert np.abs(found - expected).max() <= 1e-8 * np.abs(expected).max()
    assert show.peaks is not None
    assert under.peaks is not None
    for here, there in zip(FACES, FACES[::-1], strict=True):
        one, other = show.peaks[here], under.peaks[there]
        assert one.at == other.at
        assert one.tension.tension == pytest.approx(other.tension.tension, rel=1e-7)
        assert one.tension.angle == pytest.approx(other.tension.angle, abs=1e-4)
    for a, b in zip(show.probes, under.probes, strict=True):
        assert a.show is not None
        assert b.underside is not None
        assert a.show.tension == pytest.approx(b.underside.tension, rel=1e-6)
        assert a.w == pytest.approx(b.w, rel=1e-7)


HELD = [
    rest(line((0.1, 0.05), (0.1, 1.45)), action="hold"),
    rest(line((1.9, 0.05), (1.9, 0.55)), action="clamp"),
    rest(point(0.5, 0.3), action="hold"),
]


# With all supports held and no gaps nothing is one-sided, so that answers add.
def test_held_slabs_add_up() -> None:
    hand, water = Load("hand", point(1.0, 0.5), 200.0), Load("water", AreaPlace(((0, 0), (0.6, 0), (0.6, 1))), 700.0)
    none, one, other, both, more = solve(
        ANGLED,
        [
            stage(HELD),
            stage(HELD, [hand]),
            stage(HELD, [water]),
            stage(HELD, [hand, water]),
            stage(HELD, [replace(hand, amount=600.0), replace(water, amount=2100.0)], multiplier=3.0),
        ],
    ).stages
    # Sums of forces that partly cancel: 1e-9 of the largest.
    for field in ("w", "moment", "local_moment"):
        a, b, c, d, e = (getattr(result, field) for result in (none, one, other, both, more))
        scale = np.abs(d).max()
        assert np.abs(b + c - a - d).max() < 1e-8 * scale
        assert np.abs(3 * d - e).max() < 1e-8 * scale
    assert forces(more) == pytest.approx(3 * forces(both), rel=1e-8)


def test_one_sided_slabs_scale() -> None:
    once, thrice = solve(ANGLED, [stage(HELD[:1] + MIXED[2:]), stage(HELD[:1] + MIXED[2:], multiplier=3.0)]).stages
    assert forces(thrice) == pytest.approx(3 * forces(once), rel=1e-8)


def test_the_modulus_scales_deflections_alone() -> None:
    supports = [replace(support, gap=0.0) for support in MIXED]
    stiff, soft = solve(ANGLED, [stage(supports), stage(supports, modulus=MODULUS / 5)]).stages
    assert np.abs(soft.w - 5 * stiff.w).max() < 1e-8 * np.abs(soft.w).max()
    assert np.abs(soft.moment - stiff.moment).max() < 1e-8 * np.abs(stiff.moment).max()
    assert forces(soft) == pytest.approx(forces(stiff), rel=1e-7)


def same(a: StageResult, b: StageResult) -> None:
    # Columns are solved in other blocks, so that round-off differs.
    assert forces(a) == pytest.approx(forces(b), rel=1e-7, abs=1e-7 * np.abs(forces(b)).max())
    assert np.abs(a.w - b.w).max() <= 1e-8 * np.abs(b.w).max()
    assert np.abs(a.moment - b.moment).max() <= 1e-7 * np.abs(b.moment).max()
    assert a.status == b.status


def test_order_and_repetition_of_stages_do_not_matter() -> None:
    first = stage(MIXED, name="first")
    second = stage(HELD, [Load("hand", point(1.0, 0.5), 900.0)], up="underside", name="second")
    third = stage([MIXED[0], MIXED[2], HELD[1]], name="third")
    tips = stage([MIXED[2]], name="tips")
    one = solve(ANGLED, [first, second, third]).stages
    other = solve(ANGLED, [third, tips, first, second, first]).stages
    alone = only(solve(ANGLED, third))
    assert other[1].status == "tips"
    for a, b in ((one[0], other[2]), (one[0], other[4]), (one[1], other[3]), (one[2], other[0]), (one[2], alone)):
        same(a, b)


# One support's place may serve in a stage as a rest and in another as a hold, with and without a gap.
def test_a_place_serves_in_several_stages() -> None:
    rail = line((1.0, 0.05), (1.0, 0.55))
    ends = [rest(line((0.1, 0.05), (0.1, 0.55))), rest(line((1.9, 0.05), (1.9, 0.55)))]
    up, low, held = solve(
        STRIP,
        [stage([*ends, rest(rail)]), stage([*ends, rest(rail, gap=0.01)]), stage([*ends, rest(rail, 1e-3, "hold")])],
    ).stages
    assert up.supports[2].force > 0
    # 1 cm is more than the slab sags: the rail in the middle bears nothing.
    assert low.supports[2].lifted
    assert low.supports[2].force == 0.0
    assert held.supports[2].force < up.supports[2].force


# Beam theory: a strip of width b clamped along its left end carries w L2 / 2 there; a face of width is 5 % aside as
# the clamp also holds the strip's anticlastic bending, which no moment of the support's total feels: statics is exact.
@pytest.mark.parametrize("end", ["left", "right", "front"])
def test_a_clamp_reports_the_moment_it_gives(end: str) -> None:
    place, arm, outward = {
        "left": (EdgePlace(0, 4.6, 5.2), 1.0, (1.0, 0.0)),
        "right": (EdgePlace(0, 2.0, 2.6), 1.0, (-1.0, 0.0)),
        "front": (EdgePlace(0, 0.0, 2.0), 0.3, (0.0, 1.0)),
    }[end]
    analysis = solve(STRIP, stage([rest(place, action="clamp")]), [(1.0, 0.3)])
    result = only(analysis)
    (support,) = result.supports
    assert support.force == pytest.approx(analysis.weight, rel=1e-9)
    assert support.moment is not None
    # About x first (what lifts the side of greater y), then what lifts the side of greater x.
    expected = analysis.weight * arm * np.array([outward[1], outward[0]])
    assert support.moment == pytest.approx(expected, rel=1e-6, abs=1e-6 * analysis.weight)
    probe = result.probes[0]
    assert probe.show is not None
    assert probe.underside is not None
    # The face that looks up is pulled (common practice, no source); across the strip next to nothing is.
    assert probe.show.tension > 0
    assert probe.underside.tension < 0.2 * probe.show.tension


# The disc's mean by integrating slopes round its rim, against plain sums of second derivatives over its area.
def test_the_average_is_that_over_the_area() -> None:
    mesh = mesh_of(ANGLED)
    bell = BellPlate(mesh)
    region = ANGLED.region()
    random = np.random.default_rng(5)
    x, y = mesh.nodes.T
    # A smooth field with curvature of every kind, interpolated: 1e-3 is what its own jumps leave.
    s, c = np.sin(3 * x + 2 * y), np.cos(3 * x + 2 * y)
    values = np.stack([s, 3 * c, 2 * c, -9 * s, -6 * s, -4 * s], axis=1)
    u = (values * bell.node_length[:, None] ** [0, 1, 1, 2, 2, 2]).reshape(-1, 1)
    coefficients = bell.element_coefficients(u)
    points = np.concatenate([[[0.3, 0.8], [0.0, 0.7], [2.0 - 0.005, 0.6 - 0.005], [1.1, 0.31]], mesh.nodes[40:44]])
    radius = THICKNESS / 2
    found = disc_mean(bell, points, radius, region)(u)[..., 0]
    for at, mean in zip(points, found, strict=True):
        r, angle = radius * np.sqrt(random.uniform(size=20000)), random.uniform(0, 2 * np.pi, 20000)
        spots = at + np.stack([r * np.cos(angle), r * np.sin(angle)], axis=1)
        spots = spots[shapely.contains_xy(region, spots[:, 0], spots[:, 1])]
        element = mesh.locate(spots)
        second = bell.evaluate(coefficients, element, spots, (2, 0), (0, 2), (1, 1))[..., 0]
        plain = (second * [-1, -1, -2]).mean(axis=0)
        # 20000 random points leave 1e-2 of what the field varies over the disc, itself 1e-1 of its size; the rim of a
        # disc that an edge cuts is a chain of straight pieces, good to 1e-2.
        assert np.abs(mean - plain).max() < 1e-2 * 12


def test_foam_settles_by_load_over_stiffness() -> None:
    foam = Support("foam", AreaPlace(), "rest", 0.0, 2e6)
    result = only(solve(STRIP, stage([foam]), [(0.1, 0.1), (1.0, 0.3)]))
    # An even pressure on an even bed bends nothing.
    assert result.w == pytest.approx(np.full(len(result.w), PRESSURE / 2e6), rel=1e-4)
    assert np.abs(result.moment).max() < 1e-3 * PRESSURE * 0.6**2
    block = replace(foam, place=AreaPlace(((0.5, 0.0), (1.5, 0.0), (1.5, 0.6), (0.5, 0.6))))
    half = only(solve(STRIP, stage([block], modulus=1e16)))
    # A rigid slab on half the foam sinks twice as deep.
    assert half.w.mean() == pytest.approx(2 * PRESSURE / 2e6, rel=1e-4)
    assert half.supports[0].contact_share == pytest.approx(1.0, rel=1e-9)


def test_springs_add_their_own_settlement() -> None:
    places = [line((0.1, 0.05), (0.1, 0.55)), line((1.9, 0.05), (1.9, 0.55))]
    rigid = [rest(place) for place in places]
    soft = [replace(support, stiffness=1e7) for support in rigid]
    hard, sunk = solve(STRIP, [stage(rigid, modulus=1e16), stage(soft, modulus=1e16)], [(1.0, 0.3)]).stages
    # A slab that does not bend: each line carries half the weight on 0.5 m of 1e7 N/m2.
    settled = PRESSURE * 1.2 / 2 / 0.5 / 1e7
    assert probe_w(sunk) - probe_w(hard) == pytest.approx(settled, rel=1e-5)


def test_a_line_through_an_opening_bears_on_both_sides_of_it() -> None:
    across = rest(line((1.35, 0.0), (1.35, 0.6)))
    result = only(solve(ANGLED, stage([across, rest(line((0.1, 0.05), (0.1, 1.45)))]), [(1.35, 0.065), (1.35, 0.535)]))
    assert result.converged
    assert result.supports[0].force > 0
    # Both rails of slab are on the line: neither sags there by more than the spread lets it, 1e-2 of the whole.
    assert result.deflection is not None
    for k in (0, 1):
        assert abs(probe_w(result, k)) < 0.05 * result.deflection


def ring_load(moment: float) -> Load:
    return Load("rim", EdgePlace(1, 0.0, ANGLED.openings[0].length), 0.0, moment)


# Positive is what pulls the underside, on the rim of an opening as on the outline and whichever face looks up.
@pytest.mark.parametrize("up", ["show", "underside"])
def test_a_moment_on_an_openings_rim_pulls_the_face_it_says(up: Face) -> None:
    # The middle of the rim's front side: the moment across it there is the one applied.
    spot = (1.35, 0.3 - 0.17 - 0.004)
    with_it, against = solve(
        ANGLED, [stage(MIXED, [ring_load(m)], up=up, multiplier=0.0) for m in (100.0, -100.0)], [spot]
    ).stages
    for result, sign in ((with_it, 1.0), (against, -1.0)):
        probe = result.probes[0]
        assert probe.moment is not None
        # 4 mm inside the rim the moment has already lost a little.
        assert probe.moment[1] == pytest.approx(sign * 100.0, rel=0.15)
        assert probe.show is not None
        assert probe.underside is not None
        # Across the front rail, which is what the moment pulls; along it the ring bends the other way.
        pulled = probe.underside if sign > 0 else probe.show
        assert pulled.angle == pytest.approx(90.0, abs=3.0)
        assert pulled.tension > 0


# A plate under an even edge moment all round bends into a cap: mx = my = M everywhere. Timoshenko &
# Woinowsky-Krieger (1959), art. 10.
@pytest.mark.parametrize("up", ["show", "underside"])
def test_a_moment_on_the_whole_outline_is_pure_bending(up: Face) -> None:
    around = Load("edge", EdgePlace(0, 0.0, STRIP.outline.length), 0.0, 100.0)
    corners = [rest(PointPlace(at)) for at in ((0.0, 0.0), (2.0, 0.0), (1.0, 0.6))]
    result = only(solve(STRIP, stage(corners, [around], up=up, multiplier=0.0), [(1.0, 0.3), (0.4, 0.5)]))
    # The field is a quadratic, which the elements hold; the hats' quadrature is exact.
    assert result.local_moment == pytest.approx(np.tile([100.0, 100.0, 0.0], (len(result.w), 1)), rel=1e-6, abs=1e-4)
    assert result.moment == pytest.approx(np.tile([100.0, 100.0, 0.0], (len(result.w), 1)), rel=1e-6, abs=1e-4)


def test_probes_answer_in_their_order_and_off_the_nodes() -> None:
    spots = [(0.31, 0.77), (1.9, 0.3), (0.031, 0.021)]
    result = only(solve(ANGLED, stage(MIXED), spots))
    backwards = only(solve(ANGLED, stage(MIXED), spots[::-1]))
    assert [probe.at for probe in result.probes] == spots
    for a, b in zip(result.probes, backwards.probes[::-1], strict=True):
        assert a.w == pytest.approx(b.w, rel=1e-9)
    # At a node of the display grid a probe reads what the grid has.
    analysis = solve(ANGLED, stage(MIXED))
    k = int(np.argmin(np.hypot(*(analysis.grid.points - [0.3, 0.7]).T)))
    at = analysis.grid.points[k]
    probe = only(solve(ANGLED, stage(MIXED), [(float(at[0]), float(at[1]))])).probes[0]
    assert probe.w == pytest.approx(only(analysis).w[k], rel=1e-9)
    assert probe.moment == pytest.approx(only(analysis).local_moment[k], rel=1e-6, abs=1e-3)


def test_beside_a_bare_support_the_field_has_no_bound_and_the_average_stands() -> None:
    result = only(solve(ANGLED, stage(HELD), [(0.1, 0.05)]))
    probe = result.probes[0]
    assert probe.moment is None
    assert probe.why_null is not None
    assert "no bound" in probe.why_null
    assert probe.show is not None
    assert probe.show.local is None
    assert np.isfinite(probe.show.tension)

"""Random slabs that owe steel on both faces, each from its own number: shape, supports, loads, wire and rules.

Invented, SI. The moments are those of the plate itself, in use with a person on it and in handling; loads are scaled
so that the most that is owed is a share of what the densest runs carry.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely

from fem.plate.directions import pulled
from fem.plate.model import LinePlace, Load, PlateCase, PointPlace, Stage, Support
from fem.plate.prepared import Prepared, prepare
from fem.steel.capacity import FACES, arm
from fem.steel.check import Checked, check_runs
from fem.steel.demand import Factored, demand_of
from fem.steel.detailing import layer_depth, layers_that_fit
from fem.steel.edges import along_edges
from fem.steel.model import Code, Concrete, Covers, Demand, Face, Plan, Rules, Run, Steel
from fem.steel.planning import plan_near
from fem.steel.proving import Proven, edge_strip, plan_points, prove
from fem.steel.rails import least_runs
from fem.steel.section import run_strength
from meshing.shape import Loop, Shape, ellipse, polygon, rectangle
from meshing.sizing import Fineness
from meshing.triangulate import triangulate

__all__ = ["ANGLES", "SteelSlab", "steel_slab"]

FloatArray = npt.NDArray[np.float64]
Point = tuple[float, float]

ANGLES = np.arange(36) * np.pi / 36
CODE: Code = "ACI 318-19"
CONCRETE = Concrete(40e6, 3.9e6, 6.3e6, 30e9)
WIRES = (
    Steel("9 gauge", "wire", 0.00376, 0.00376, 11.1e-6, 485e6, 550e6, 200e9),
    Steel("3/16 wire", "wire", 0.00476, 0.00476, 17.8e-6, 485e6, 550e6, 200e9),
)
OWED_ABOVE = 0.2
#: Between the points of a plan the pull may be a little more: the plan leaves less to the concrete than the check.
IN_HAND = 0.85


@dataclass(frozen=True, eq=False)
class SteelSlab:
    """A slab with the factored stages that ask for steel, and the rules by which it is to be laid."""

    number: int
    shape: Shape
    thickness: float
    prepared: Prepared
    factored: tuple[Factored, ...]
    steel: Steel
    covers: Covers
    rules: Rules

    @cached_property
    def region(self) -> shapely.Polygon:
        """The slab as a polygon."""
        return self.shape.region(1e-4)

    def demand(self, points: FloatArray, angles: FloatArray, kept: float = 1.0) -> Demand:
        """What is owed at points, the floor that is left to the concrete times a share kept in hand.

        In a direction that is pulled by less than the floor nothing is owed, and beside an edge only the pull along it.
        """
        factored = [replace(one, floor=kept * one.floor) for one in self.factored]
        found = demand_of(self.prepared, factored, points, angles)
        floor = np.array([one.floor for one in factored])
        needed = {face: np.where(owed > floor[found.governs[face]], owed, 0.0) for face, owed in found.needed.items()}
        return along_edges(replace(found, needed=needed), self.region, self.thickness)

    @property
    def layers(self) -> int:
        """How many layers fit."""
        return layers_that_fit(self.thickness, self.covers, self.steel)

    def worth(self, steel: Steel, at: float) -> float:
        """Design strength [N m] of one run by its arm [m]."""
        return run_strength(steel, at, self.rules.pitch, CONCRETE, CODE)

    def depth(self, face: Face, layer: int) -> float:
        """Depth of a layer [m]."""
        return layer_depth(self.thickness, self.covers, self.steel, face, layer)

    def proven(self, count: int, directions: int, rounds: int = 6, seconds: float = 1.0) -> Proven:
        """A plan with its rails, proven by the independent check against the plate's own moments at each point."""
        always = least_runs(self.region, self.steel, self.covers, self.rules, self.depth, self.layers)

        laid: list[Plan] = []

        def lay(demand: Demand) -> Plan:
            given = (
                self.region,
                self.thickness,
                demand,
                self.steel,
                self.covers,
                CONCRETE,
                CODE,
                self.rules,
                always.runs,
            )
            again = laid[-1] if laid else None
            laid.append(plan_near(*given, diagonals=False, seconds=seconds, again=again))
            return laid[-1]

        def owed(points: FloatArray) -> Demand:
            return self.demand(points, ANGLES, IN_HAND)

        def check(found: Plan, turn: int) -> Checked:
            return self.check(found.runs, count, directions, turn)

        return prove(lay, owed, check, plan_points(self.region, self.thickness, 0.7 * self.thickness), rounds)

    def check(self, runs: tuple[Run, ...], count: int, directions: int, seed: int) -> Checked:
        """The independent check of runs."""
        pulls = {
            face: np.array([self.worth(run.steel, arm(run.depth, self.thickness, face)) for run in runs])
            for face in FACES
        }

        def needed(points: FloatArray, angles: FloatArray) -> Mapping[Face, FloatArray]:
            return self.demand(points, angles).needed

        return check_runs(
            runs,
            self.region,
            self.rules,
            pulls,
            needed,
            count=count,
            directions=directions,
            seed=1000 * self.number + seed,
            inset=edge_strip(self.thickness),
        )


def steel_slab(number: int, small: bool = True, diagonals: bool = True) -> SteelSlab:
    """The slab of this number; small ones are laid quickly, without diagonals in a fraction of a second."""
    rng = np.random.default_rng([4, number])
    thickness = float(rng.uniform(0.036, 0.055))
    shape, lines, hands = _shape(rng, 0.6 if small else 1.0)
    steel = WIRES[int(rng.integers(len(WIRES)))]
    covers = Covers(0.0127, 0.0095, 0.0127, 0.0127)
    turns = tuple(k * np.pi / 4 for k in range(4))
    rules = Rules(thickness, 3 * thickness, turns[:: 1 if diagonals else 2], 0.0095, float(rng.uniform(0.1, 0.2)), 0.3)
    mesh = triangulate(shape, thickness, Fineness(field=2.0, segments=4, corner=0.2) if small else Fineness())
    prepared = prepare(mesh, PlateCase(thickness, 2350.0, 0.2))
    stages = _stages(rng, shape.region(1e-4), lines, hands)
    densest = run_strength(steel, thickness - covers.show - steel.outside, rules.pitch, CONCRETE, CODE) / rules.pitch
    scaled = tuple(_scaled(prepared, stage, float(rng.uniform(0.2, 0.5)) * densest, thickness) for stage in stages)
    return SteelSlab(number, shape, thickness, prepared, scaled, steel, covers, rules)


def _scaled(prepared: Prepared, stage: Stage, most: float, thickness: float) -> Factored:
    """The stage with its loads as large as makes the hardest pull most [N m/m]."""
    (found,) = pulled(prepared, [stage], None, ANGLES)
    assert found.moment is not None, found.why
    times = most / float(found.moment.max())
    loads = tuple(replace(load, amount=times * load.amount) for load in stage.loads)
    grown = replace(stage, multiplier=times * stage.multiplier, loads=loads)
    return Factored(grown, stage.name, 1.0, OWED_ABOVE * CONCRETE.cracking * thickness**2 / 6)


def _shape(rng: np.random.Generator, size: float) -> tuple[Shape, list[list[Point]], list[list[Point]]]:
    """A shape, the lines it rests on in use, and those it is carried by."""
    w, d = float(rng.uniform(1.6, 2.6)) * size, float(rng.uniform(0.6, 0.9)) * size
    kind = str(rng.choice(["box", "sink", "L", "L sink", "skew", "round"]))
    if kind in ("L", "L sink"):
        h = d + float(rng.uniform(0.5, 0.9)) * size
        radius = float(rng.choice([0.0, 0.025]))
        outline = polygon([(0, 0), (w, 0), (w, d), (d, d), (d, h), (0, h)], [0, 0, 0, radius, 0, 0])
        lines = [
            [(0.05, 0.02), (0.05, h - 0.05)],
            [(0.55 * w, 0.02), (0.55 * w, d - 0.02)],
            [(w - 0.05, 0.02), (w - 0.05, d - 0.02)],
        ]
        hands = [
            [(0.02, 0.8 * h), (d - 0.02, 0.8 * h)],
            [(d, 0.02), (d, d - 0.05)],
            [(0.85 * w, 0.02), (0.85 * w, d - 0.02)],
        ]
        holes = [_sink(rng, 0.5 * (d + w) + 0.02, d / 2, 0.45 * (w - d), 0.5 * d)] if kind == "L sink" else []
        return Shape(outline, tuple(holes)), lines, hands
    if kind == "round":
        outline = ellipse((w / 2, d), (w, 2 * d * 0.8))
        lines = [[(x * w, d - 0.25 * d), (x * w, d + 0.25 * d)] for x in (0.2, 0.8)]
        hands = [[(x * w, d - 0.4 * d), (x * w, d + 0.4 * d)] for x in (0.4, 0.6)]
        return Shape(outline), lines, hands
    s = float(rng.uniform(-0.3, 0.3)) * size if kind == "skew" else 0.0
    outline = polygon([(0, 0), (w, 0), (w + s, d), (s, d)])
    ends = [0.05, w - 0.05] if rng.random() < 0.5 else [0.05, 0.5 * w, w - 0.05]
    lines = [[(x + 0.03 * s, 0.03 * d), (x + 0.97 * s, 0.97 * d)] for x in ends]
    hands = [[(x * w + 0.03 * s, 0.03 * d), (x * w + 0.97 * s, 0.97 * d)] for x in rng.uniform((0.2, 0.6), (0.4, 0.8))]
    holes = [_sink(rng, 0.5 * w, 0.48 * d, 0.35 * w, 0.55 * d)] if kind == "sink" else []
    return Shape(outline, tuple(holes)), lines, hands


def _sink(rng: np.random.Generator, x: float, y: float, width: float, depth: float) -> Loop:
    return rectangle((x, y), (width, depth), float(rng.uniform(0.1, 0.3)) * depth)


def _stages(
    rng: np.random.Generator, region: shapely.Polygon, lines: list[list[Point]], hands: list[list[Point]]
) -> tuple[Stage, Stage]:
    """In use with a person somewhere between the supports; turned over and carried."""
    middle = shapely.intersection(
        shapely.convex_hull(shapely.union_all([shapely.LineString(line) for line in lines])),
        shapely.buffer(region, -0.06),
    )
    x0, y0, x1, y1 = middle.bounds
    spots = rng.uniform((x0, y0), (x1, y1), (200, 2))
    at = spots[shapely.contains_xy(middle, spots[:, 0], spots[:, 1])][0]
    foot = Load("foot", PointPlace((float(at[0]), float(at[1])), 0.1), 500.0)
    return (
        Stage("use", "show", 1.2, 28e9, 3.9e6, 2.6e6, _rests(lines), (foot,)),
        Stage("carry", "show" if rng.random() < 0.5 else "underside", 1.5, 25e9, 3e6, 2e6, _rests(hands), ()),
    )


def _rests(lines: list[list[Point]]) -> tuple[Support, ...]:
    return tuple(Support(f"line {k}", LinePlace(tuple(line)), "hold") for k, line in enumerate(lines))

"""All that a plan is chosen from: where runs may lie, what each gives at every point, what is owed there.

It follows from slab, steel and demand, and serves every stacking of directions.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp
import shapely

from fem.steel.capacity import FACES, Bars, Worth, arm, bars_of, beside, in_directions, shares, strength_tensor
from fem.steel.covering import Covering, Lain
from fem.steel.detailing import layer_depth, layers_that_fit
from fem.steel.field import Field, clashes_of, together
from fem.steel.ground import Ground, ground_of
from fem.steel.lines import candidates, main_directions
from fem.steel.model import Code, Concrete, Covers, Demand, Face, Rules, Run, Steel
from fem.steel.section import run_strength
from fem.steel.stacking import Bed, Stacking, reordered, stackings

__all__ = ["Site", "site_of"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

#: Where all runs together fall short, a plan gives this share of what they could: the last tenth would lay them all.
REACHED = 0.9
_SAME = 1e-3
_COUNTS = 0.1


@dataclass(frozen=True, eq=False)
class Site:
    """A slab [m] with what is owed in it, and the steel and rules that are to carry it.

    owed (2, q, a) [N m/m] at the points of the ground and at angles (a,), margin (a share) included. fixed are runs
    that are laid in any case. far: whether a run counts for the face that it does not lie near, too.
    """

    region: shapely.Polygon
    thickness: float
    ground: Ground
    angles: FloatArray
    owed: FloatArray
    margin: float
    steel: Steel
    covers: Covers
    concrete: Concrete
    code: Code
    rules: Rules
    fixed: tuple[Run, ...]
    far: bool = True

    @cached_property
    def main(self) -> tuple[float, ...]:
        """The directions that the slab's edges run along."""
        return main_directions(self.region, self.rules.directions)

    @cached_property
    def layers(self) -> int:
        """How many layers fit, both faces together."""
        return layers_that_fit(self.thickness, self.covers, self.steel)

    @cached_property
    def bars(self) -> dict[float, Bars]:
        """Candidates of every direction."""
        return {
            angle: candidates(self.region, angle, self.steel, self.covers, self.rules, angle not in self.main)
            for angle in self.rules.directions
        }

    @cached_property
    def _shares(self) -> dict[float, sp.csr_matrix]:
        return {angle: shares(self.ground, bars, self.rules) for angle, bars in self.bars.items()}

    @cached_property
    def _beside(self) -> dict[float, sp.csr_matrix]:
        return {angle: beside(self.ground, bars, self.rules) for angle, bars in self.bars.items()}

    @cached_property
    def _pulls(self) -> IntArray:
        """Points and angles, by number, of the strongest pull on a face and, if it counts, that square to it (m, 2)."""
        point = np.arange(self.owed.shape[1])
        found = []
        for owed in self.owed:
            first = owed.argmax(axis=1)
            away = abs((self.angles - self.angles[first, None]) % np.pi - np.pi / 2)
            for angle in (first, away.argmin(axis=1)):
                here = owed[point, angle] > np.maximum(_COUNTS * owed[point, first], 0.0)
                found.append(np.stack([point[here], angle[here]], axis=1))
        return np.unique(np.concatenate(found), axis=0)

    @cached_property
    def worth(self) -> Worth:
        """Design strength [N m] of one run by its arm [m], beside its nearest neighbours: the pitch apart."""

        @cache
        def worth(steel: Steel, arm: float) -> float:
            return run_strength(steel, arm, self.rules.pitch, self.concrete, self.code)

        return worth

    def depth(self, face: Face, layer: int) -> float:
        """Depth of a layer's axis from the show face [m]."""
        return layer_depth(self.thickness, self.covers, self.steel, face, layer)

    def stackings(self, angles: tuple[float, ...], most: int = 99) -> list[Stacking]:
        """One stacking of at most so many layers for every share-out of these directions.

        If there are any in which all fixed runs have a layer, those alone.
        """
        asked = {(run.face, angle) for run in self.fixed if (angle := _known(run, angles)) is not None}
        return stackings(angles, min(self.layers, most), self.rules.most_directions, self.depth, self._wanted, asked)

    def reordered(self, stacking: Stacking) -> list[Stacking]:
        """The same directions near the same faces in every other order."""
        return reordered(stacking, self.depth)

    def stacking_of(self, runs: Sequence[Run]) -> Stacking:
        """The layers in which straight runs lie."""
        beds: dict[tuple[Face, int], Bed] = {}
        for run in sorted(runs, key=lambda run: run.why != "pull"):
            angle = _known(run, self.rules.directions)
            if angle is not None and (run.face, run.layer) not in beds:
                beds[run.face, run.layer] = Bed(run.face, run.layer, angle, self.depth(run.face, run.layer))
        return tuple(beds[place] for place in sorted(beds))

    def attainable(self, stacking: Stacking) -> FloatArray:
        """The share of what is owed that all runs of a stacking together give: (2, q, a), inf where nothing is owed."""
        kept = self._kept(stacking)
        given = self._carried(kept).copy()
        if kept:
            free = [self._free(bed, kept) for bed in stacking]
            parts = [self._working(bed.angle, k) for bed, k in zip(stacking, free, strict=True)]
        else:
            parts = [self._all_working[bed.angle] for bed in stacking]
        for bed, working in zip(stacking, parts, strict=True):
            turn = np.cos(self.angles - bed.angle) ** 2
            worth = self._bed_worth[bed.face, bed.layer]
            given += np.multiply.outer([worth[face] for face in FACES], np.multiply.outer(working, turn))
        share = np.full_like(self.owed, np.inf)
        return np.divide((1 + self.margin) * given, self.owed, out=share, where=self.owed > 0)

    def field(self, stacking: Stacking) -> Field:
        """A stacking as the integer programme sees it."""
        kept = self._kept(stacking)
        free = [self._free(bed, kept) for bed in stacking]
        bars = tuple(
            Bars(bed.angle, all_bars.offset[k], all_bars.begin[k], all_bars.end[k])
            for bed, k in zip(stacking, free, strict=True)
            for all_bars in [self.bars[bed.angle]]
        )
        layers = tuple(
            Lain(
                bed.angle,
                self._shares[bed.angle][:, k],
                self._beside[bed.angle][:, k],
                self._bed_worth[bed.face, bed.layer],
            )
            for bed, k in zip(stacking, free, strict=True)
        )
        length = np.concatenate([np.zeros(0), *(one.length for one in bars)])
        given = self._carried(kept)
        at_once = np.concatenate([np.zeros(0), *(together(one, self.rules.pitch) for one in bars)])
        every = Covering(self.owed, self.angles, layers, self._pulls, np.ones(len(self._pulls), dtype=bool))
        most = every.strength(at_once)
        enough = (1 + self.margin) * (most + given) >= self.owed
        left = np.maximum(self.owed - given, 0.0)
        left[left < 1e-3 * self.owed] = 0.0
        bare = np.minimum(np.maximum(self.owed / (1 + self.margin) - given, 0.0), most)
        asked = np.minimum(left, np.where(enough, np.maximum(0.999 * most, bare), REACHED * most))
        spaced = (every.passing(at_once) > 0) & ~self._passed(kept)
        covering = Covering(asked, self.angles, layers, self._pulls, spaced)
        return Field(stacking, bars, length + self.laps(length), clashes_of(bars, self.rules.pitch), covering, kept)

    def _working(self, angle: float, free: IntArray) -> FloatArray:
        """All these candidates of a direction at work per width of slab at the points (q,) [1/m]."""
        bars = self.bars[angle]
        at_once = together(Bars(angle, bars.offset[free], bars.begin[free], bars.end[free]), self.rules.pitch)
        return np.asarray(self._shares[angle][:, free] @ at_once)

    @cached_property
    def _all_working(self) -> dict[float, FloatArray]:
        return {angle: self._working(angle, np.arange(len(bars.offset))) for angle, bars in self.bars.items()}

    @cached_property
    def _bed_worth(self) -> dict[tuple[Face, int], dict[Face, float]]:
        every = [(face, layer) for face in FACES for layer in range(self.layers)]
        return {
            (near, layer): {
                face: self.worth(self.steel, arm(self.depth(near, layer), self.thickness, face))
                if self.far or face == near
                else 0.0
                for face in FACES
            }
            for near, layer in every
        }

    def _wanted(self, face: Face, angle: float) -> float:
        """Strength owed in a direction, summed over the points."""
        near = int(np.argmin(abs((self.angles - angle + np.pi / 2) % np.pi - np.pi / 2)))
        return float(self.owed[FACES.index(face), :, near].sum())

    def laps(self, length: FloatArray) -> FloatArray:
        """What runs of these lengths [m] need besides for the laps of their pieces (r,) [m]."""
        stock, lap = self.steel.stock, self.rules.lap
        if not np.isfinite(stock) or stock <= lap:
            return np.zeros_like(length)
        return np.asarray(np.maximum(np.ceil((length - stock) / (stock - lap) - 1e-9), 0.0) * lap)

    def _kept(self, stacking: Stacking) -> tuple[Run, ...]:
        """Fixed runs in the layer of their direction; one that has none stays where it was."""
        kept = []
        for run in self.fixed:
            angle = _known(run, tuple(bed.angle for bed in stacking))
            beds = [bed for bed in stacking if bed.angle == angle]
            own = [bed for bed in beds if bed.face == run.face] or beds
            kept.append(replace(run, face=own[0].face, layer=own[0].layer, depth=own[0].depth) if own else run)
        return tuple(kept)

    @cached_property
    def _carried(self) -> Callable[[tuple[Run, ...]], FloatArray]:
        """Strength (2, q, a) of runs that are laid in any case."""

        @cache
        def carried(kept: tuple[Run, ...]) -> FloatArray:
            strength = np.stack([in_directions(self._tensor(kept, face), self.angles) for face in FACES])
            strength.setflags(write=False)
            return strength

        return carried

    def _tensor(self, kept: Sequence[Run], face: Face) -> FloatArray:
        """Strength (q, 3) of runs on a face, of those that count for it."""
        counted = [run for run in kept if self.far or run.face == face]
        points = self.ground.points
        return strength_tensor(counted, points, self.region, self.thickness, self.rules, self.worth)[face]

    def _passed(self, kept: tuple[Run, ...]) -> BoolArray:
        """Pulls along which a run of these passes near (m,)."""
        passed = np.zeros(len(self._pulls), dtype=bool)
        for bars, _ in bars_of(kept):
            near = np.asarray(beside(self.ground, bars, self.rules).sum(axis=1)).ravel() > 0
            along = np.cos(self.angles - bars.angle) ** 2 >= 0.5 - 1e-9
            passed |= near[self._pulls[:, 0]] & along[self._pulls[:, 1]]
        return passed

    def _free(self, bed: Bed, kept: Sequence[Run]) -> IntArray:
        """Candidates of a layer that keep clear of what is laid there already."""
        bars = self.bars[bed.angle]
        taken = np.zeros(len(bars.offset), dtype=bool)
        for laid, _ in bars_of([run for run in kept if (run.face, run.layer) == (bed.face, bed.layer)]):
            turn = abs(laid.angle - bed.angle) % np.pi
            if min(turn, np.pi - turn) > _SAME:
                continue
            flip = -1.0 if turn > np.pi / 2 else 1.0
            for offset, begin, end in zip(flip * laid.offset, flip * laid.begin, flip * laid.end, strict=True):
                beside = abs(bars.offset - offset) < self.rules.pitch * (1 - 1e-6)
                taken |= beside & (bars.begin < max(begin, end)) & (bars.end > min(begin, end))
        return np.flatnonzero(~taken)


def site_of(
    region: shapely.Polygon,
    thickness: float,
    demand: Demand,
    steel: Steel,
    covers: Covers,
    concrete: Concrete,
    code: Code,
    rules: Rules,
    fixed: Sequence[Run] = (),
    margin: float = 0.0,
    far: bool = True,
) -> Site:
    """The site of a demand, with a margin (a share) on what is owed; points that owe nothing are left out."""
    owed = np.stack([demand.needed[face] for face in FACES]) * (1 + margin)
    asks = (owed > 0).any(axis=(0, 2))
    ground = ground_of(region, demand.points[asks])
    return Site(
        region,
        thickness,
        ground,
        demand.angles,
        np.ascontiguousarray(owed[:, asks]),
        margin,
        steel,
        covers,
        concrete,
        code,
        rules,
        tuple(fixed),
        far,
    )


def _known(run: Run, angles: tuple[float, ...]) -> float | None:
    """The direction among these that a straight run has."""
    (x0, y0), (x1, y1) = run.points[0], run.points[-1]
    if len(run.points) > 2:
        return None
    off = [abs((np.arctan2(y1 - y0, x1 - x0) - angle + np.pi / 2) % np.pi - np.pi / 2) for angle in angles]
    return angles[int(np.argmin(off))] if angles and min(off) < _SAME else None

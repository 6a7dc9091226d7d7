"""Roaming loads against brute force: every place a stage of its own; and a load that tips the slab, by statics."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import numpy.typing as npt
import pytest

from fem.plate.analysis import Analysis, analyse_prepared
from fem.plate.model import (
    Edgewise,
    Face,
    LinePlace,
    Load,
    PlateCase,
    Point,
    PointPlace,
    Roaming,
    Stage,
    StageResult,
    Support,
)
from fem.plate.prepared import Prepared, prepare
from fem.plate.principal import principal_tension
from fem.plate.walking import places_of
from meshing.shape import Shape, polygon, rectangle
from meshing.sizing import Fineness
from tests.plates import mesh_of

FloatArray = npt.NDArray[np.float64]

T = 0.04
CASE = PlateCase(T, 2400.0, 0.2)
FACES: tuple[Face, Face] = ("show", "underside")
# Both roads share the mesh: how fine it is does not matter here.
COARSE = Fineness(field=2.5, segments=3, corner=0.2)
ODD = Shape(
    polygon(np.array([[0, 0], [1.6, 0], [1.6, 0.62], [0.6, 0.55], [0.6, 1.2], [0, 1.1]])),
    (rectangle((1.05, 0.3), (0.4, 0.28)),),
)
REGION: tuple[Point, ...] = ((0.7, 0.02), (1.58, 0.02), (1.58, 0.5), (0.7, 0.5))


def line(name: str, a: Point, b: Point, gap: float = 0.0) -> Support:
    return Support(name, LinePlace((a, b)), "rest", gap)


SUPPORTS = (
    line("left", (0.02, 0.05), (0.02, 1.0)),
    line("middle", (0.62, 0.05), (0.62, 0.5), 0.0008),
    line("right", (1.57, 0.05), (1.57, 0.55)),
    Support("back", PointPlace((0.3, 1.1), 0.05), "rest", -0.0005),
    Support("front", PointPlace((1.2, 0.04), 0.04), "rest", 0.001),
)
SOMEBODY = Roaming("somebody", 900.0, 0.1, (REGION,), ((((0.82, 0.2), (0.9, 0.2), (0.9, 0.3), (0.82, 0.3))),))
STAGE = Stage("use", "show", 1.0, 3e10, 3e6, 2e6, SUPPORTS, (Load("pot", PointPlace((0.2, 0.8), 0.2), 150.0),))


@dataclass(frozen=True, eq=False)
class Both:
    """The roaming answer and every single place's."""

    prepared: Prepared
    roamed: StageResult
    singles: Analysis


@cache
def prepared_odd() -> Prepared:
    return prepare(mesh_of(ODD, T, COARSE), CASE)


@cache
def both(up: Face = "show") -> Both:
    prepared = prepared_odd()
    stage = replace(STAGE, up=up)
    (roamed,) = analyse_prepared(prepared, [replace(stage, roaming=(SOMEBODY,))]).stages
    places = roamed.walks[0].at[::10]
    at = [*map(tuple, places.tolist()), *(worst.at for worst in roamed.worst.values() if worst.at is not None)]
    stages = [replace(stage, loads=(*stage.loads, Load("there", PointPlace(p, 0.1), 900.0))) for p in at]
    return Both(prepared, roamed, analyse_prepared(prepared, stages))


def tensions(result: StageResult, face: Face) -> FloatArray:
    sign = 1.0 if face == "underside" else -1.0
    return np.asarray(principal_tension(sign * 6 / T**2 * result.moment)[0])


def test_it_goes_where_it_may() -> None:
    walk = both().roamed.walks[0]
    x, y = walk.at.T
    assert len(walk.at) > 300
    assert ((x > 0.7 - 1e-9) & (x < 1.58 + 1e-9) & (y > 0.02 - 1e-9) & (y < 0.5 + 1e-9)).all()
    assert not ((x > 0.82) & (x < 0.9) & (y > 0.2) & (y < 0.3)).any()
    assert not ((np.abs(x - 1.05) < 0.2) & (np.abs(y - 0.3) < 0.14)).any()


# Law, no source: the envelope is the largest of the states. The places are those the walk itself tried, each solved
# alone with its own contacts; both roads differ by round-off. A walk ranks its places by the nodes, the lines and spots
# of the stage and the place itself; alone, the middles of sides are looked at too, on this coarse mesh 4.4 % more.
@pytest.mark.parametrize("face", FACES)
def test_every_place_alone_pulls_what_the_walk_says(face: Face) -> None:
    found = both()
    single = found.singles.stages[: len(found.roamed.walks[0].at[::10])]
    n = len(found.prepared.mesh.nodes)
    alone = np.array([tensions(one, face)[:n].max() for one in single])
    peaks = [one.peaks for one in single]
    in_full = np.array([peak[face].tension.tension for peak in peaks if peak is not None])
    walked = found.roamed.walks[0].tension[::10, FACES.index(face)]
    assert (walked >= alone * (1 - 1e-8)).all()
    assert (walked <= in_full * (1 + 1e-8)).all()
    assert (walked >= 0.95 * in_full).all()
    assert np.median(walked / in_full) > 0.96
    assert alone.max() > 1.2 * alone.min()
    # The contacts do change from place to place.
    assert len({tuple(support.contact_share for support in one.supports) for one in single}) > 5
    assert {one.supports[1].lifted for one in single} == {False, True}


@pytest.mark.parametrize("face", FACES)
def test_the_envelope_is_never_under_a_single_place(face: Face) -> None:
    found = both()
    for one in found.singles.stages:
        most = float(found.roamed.envelope[face].max())
        n = len(found.prepared.mesh.nodes)
        assert (found.roamed.envelope[face][:n] >= tensions(one, face)[:n] - 1e-9 * most).all()


def test_the_envelope_is_the_largest_of_all_places(monkeypatch: pytest.MonkeyPatch) -> None:
    # Every place one by one is dear: forty of them will do.
    monkeypatch.setattr("fem.plate.stages.places_of", lambda roaming, slab: places_of(roaming, slab, 40))
    prepared = prepared_odd()
    (roamed,) = analyse_prepared(prepared, [replace(STAGE, roaming=(SOMEBODY,))]).stages
    places = [(float(x), float(y)) for x, y in roamed.walks[0].at]
    assert 30 < len(places) < 100
    stages = [STAGE] + [replace(STAGE, loads=(*STAGE.loads, Load("there", PointPlace(p, 0.1), 900.0))) for p in places]
    n = len(prepared.mesh.nodes)
    singles = analyse_prepared(prepared, stages).stages
    for face in FACES:
        largest = np.max([tensions(one, face)[:n] for one in singles], axis=0)
        assert np.abs(roamed.envelope[face][:n] - largest).max() <= 1e-8 * largest.max()


@pytest.mark.parametrize("up", FACES)
@pytest.mark.parametrize("number", [0, 1])
def test_the_governing_place_is_that_stage_alone(up: Face, number: int) -> None:
    found, face = both(up), FACES[number]
    assert found.roamed.peaks is not None
    worst, peak = found.roamed.worst[face], found.roamed.peaks[face]
    assert (worst.variation, worst.at is None) == ("somebody", False)
    governing = [w for w in found.roamed.worst.values() if w.at is not None]
    alone = found.singles.stages[-len(governing) :][governing.index(worst)]
    assert alone.peaks is not None
    assert peak.tension.tension == pytest.approx(alone.peaks[face].tension.tension, rel=1e-8)
    assert peak.tension.error == pytest.approx(alone.peaks[face].tension.error, rel=1e-6)
    assert peak.at == pytest.approx(alone.peaks[face].at, abs=1e-9)
    assert worst.w == pytest.approx(alone.w, rel=1e-8, abs=1e-12)
    assert [s.force for s in worst.supports] == pytest.approx([s.force for s in alone.supports], rel=1e-7, abs=1e-6)
    for one in found.singles.stages:
        assert one.peaks is not None
        assert one.peaks[face].tension.tension <= peak.tension.tension * (1 + 1e-9)


# Law, no source: denser places round the worst one, and many more all over, change the peak by less than its bar.
def test_denser_places_change_less_than_the_bar() -> None:
    found = both()
    walk = found.roamed.walks[0]
    assert found.roamed.peaks is not None
    bars = {face: found.roamed.peaks[face].tension for face in FACES}
    assert walk.change < max(bar.error for bar in bars.values())
    x, y = np.meshgrid(np.linspace(-0.02, 0.02, 5), np.linspace(-0.02, 0.02, 5))
    for number, face in enumerate(FACES):
        at = walk.at[int(np.nanargmax(walk.tension[:, number]))]
        # Only where the load may stand: on the slab, less half its size, in the region.
        near = at + np.stack([x.ravel(), y.ravel()], axis=1)
        near = near[(near[:, 0] <= 1.55) & (near[:, 1] >= 0.05) & (near[:, 1] <= 0.5) & (near[:, 0] >= 0.7)]
        wall = (np.abs(near[:, 0] - 1.05) < 0.25) & (np.abs(near[:, 1] - 0.3) < 0.19)
        spots = tuple((float(a), float(b)) for a, b in near[~wall])
        denser = replace(SOMEBODY, spots=spots)
        (again,) = analyse_prepared(found.prepared, [replace(STAGE, roaming=(denser,))]).stages
        assert again.peaks is not None
        gain = again.peaks[face].tension.tension - bars[face].tension
        assert 0 <= gain + 1e-6 < bars[face].error


# A bar of weight W on rests at x = 0.1 and 1.3 of 2 m; its middle is 0.3 m behind the front rest, the load's nearest
# place to the end is as far beyond it as its square leaves room: P = W 0.3 / arm. Moments, common practice.
def test_the_least_load_that_tips_an_overhang() -> None:
    shape = Shape(rectangle((1.0, 0.3), (2.0, 0.6)))
    prepared = prepare(mesh_of(shape, T, COARSE), CASE)
    rests = (line("left", (0.1, 0.05), (0.1, 0.55)), line("right", (1.3, 0.05), (1.3, 0.55)))
    stage = Stage("use", "show", 1.0, 3e10, 3e6, 2e6, rests)
    size = 0.1
    weight = 2400.0 * CASE.gravity * T * 2.0 * 0.6

    def under(amount: float) -> StageResult:
        roaming = Roaming("somebody", amount, size)
        return analyse_prepared(prepared, [replace(stage, roaming=(roaming,))]).stages[0]

    fallen = under(1000.0)
    assert fallen.status == "tips"
    assert fallen.tips is not None
    tips = fallen.tips
    assert tips.variation == "somebody"
    assert tips.at is not None
    assert tips.at[0] == pytest.approx(2.0 - size / 2, abs=1e-9)
    assert [x for x, _ in tips.axis] == pytest.approx([1.3, 1.3], abs=1e-6)
    least = weight * 0.3 / (tips.at[0] - 1.3)
    assert tips.least_load == pytest.approx(least, rel=1e-6)
    assert under(1.001 * least).status == "tips"
    stands = under(0.999 * least)
    assert stands.status != "tips"
    assert np.isfinite(stands.walks[0].tension).all()
    # The hold-down is for the load that was asked about, at the other end, 1.3 m from the axis.
    assert tips.hold_down == pytest.approx((1000.0 * (tips.at[0] - 1.3) - weight * 0.3) / 1.3, rel=1e-6)


# Law, no source: leaning, the stress in the plane counts at every place as well.
@pytest.mark.parametrize("face", FACES)
def test_a_load_on_a_slab_that_leans(face: Face) -> None:
    prepared = prepared_odd()
    feet = tuple(Support(f"foot {x}", PointPlace((x, 0.0), 0.1), "rest", face=False) for x in (0.3, 1.3))
    stage = replace(STAGE, multiplier=0.5, supports=(*SUPPORTS, *feet), edgewise=Edgewise((0.0, -1.0), 20.0, (5, 6)))
    (roamed,) = analyse_prepared(prepared, [replace(stage, roaming=(SOMEBODY,))]).stages
    number = FACES.index(face)
    places = roamed.walks[0].at[::40]
    stages = [replace(stage, loads=(*stage.loads, Load("there", PointPlace((x, y), 0.1), 900.0))) for x, y in places]
    n = len(prepared.mesh.nodes)
    for k, one in enumerate(analyse_prepared(prepared, stages).stages):
        membrane = one.worst[face].membrane
        assert membrane is not None
        sign = 1.0 if face == "underside" else -1.0
        alone = principal_tension(sign * 6 / T**2 * one.moment + membrane)[0][:n]
        assert one.peaks is not None
        most = one.peaks[face].tension.tension
        assert alone.max() * (1 - 1e-8) <= roamed.walks[0].tension[40 * k, number] <= most * (1 + 1e-8)
        assert roamed.walks[0].tension[40 * k, number] > 0.9 * most
        assert (roamed.envelope[face][:n] >= alone - 1e-9 * alone.max()).all()

"""Where two, three, four and six people hold the piece best when it is carried flat."""

from __future__ import annotations

from typing import Any

from api.advice.bench import Bench
from api.advice.item import item, verdict_after
from api.answer_stage import Json
from api.figures import number_words, point_words, pull_words
from api.verdict import called
from fem.plate.holding import best_places
from fem.plate.model import PointPlace

__all__ = ["COUNTS", "best_hands"]

COUNTS = (2, 3, 4, 6)
SIZE = 0.1016
FLAT: dict[str, Any] = {"posture": "flat"}
ON_EDGE_ONLY = ("angle", "down", "across", "slide", "shims")


def best_hands(bench: Bench, k: int, count: int) -> Json | None:
    """The stage flat on so many hands at their best places; None if so many hold it nowhere, or it bows."""
    bare = flat(bench.alone(k))
    # A first place for the hands lets the stage be read; its own supports do not count in the search.
    bare["stage"][0]["support"] = [_hand(1, bench.analysis.center_of_gravity)]
    bare["stage"][0]["load"] = []
    stage = bench.stage_of(bare)
    if stage is None:
        return None
    found = best_places(bench.prepared, stage, count)
    spots = [place.at for place in found.places if isinstance(place, PointPlace)]
    if len(spots) != count:
        return None
    data = flat(bench.alone(k))
    data["stage"][0]["support"] = [_hand(j, at) for j, at in enumerate(spots, 1)]
    trial = bench.solve(data, f"{number_words(count)} hands")
    if trial is None or trial.readings[0].pull is None:
        return None
    units, name = bench.case.units, bench.case.stage[k].name
    places = ", ".join(f"({point_words(at, units)})" for at in spots)
    was_flat = bench.case.stage[k].posture == "flat"
    worst, all_hold = trial.readings[0], max(found.tension.values())
    lead = f"{called({'name': name})}, {number_words(count)} hands{'' if was_flat else ', flat'}: best at {places}"
    pulls = f"the pull is {pull_words(all_hold, units)} while all hold it"
    up_to = pull_words(worst.pull or 0.0, units)
    gone = [f"it is up to {up_to}"] if pull_words(all_hold, units) != up_to else []
    gone += ["it falls"] if None in found.lets_go else []
    pulls += f"; when one lets go, {' or '.join(gone)}" if gone else ""
    can = pull_words(worst.allowed, units)
    return item(bench, "hands", k, f"{lead}; {pulls}; it can take {can}: {verdict_after(worst)}.", trial)


def flat(data: Json) -> Json:
    """The same with its one stage lying flat."""
    stage = data["stage"][0]
    for key in ON_EDGE_ONLY:
        stage.pop(key, None)
    stage |= FLAT
    return data


def _hand(number: int, at: tuple[float, float]) -> Json:
    return {"name": f"hand {number}", "kind": "hand", "at": [float(x) for x in at], "size": SIZE}

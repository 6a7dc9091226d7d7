"""How well the error bars hold the truth: forty slabs at default settings against the same at much finer ones.

Run by hand: python -m tests.bench_error_bars [names ...]. Prints, for each kind of number, the share of truths that
the bars hold and how wide the bars are against the errors, and the worst ones. The truth is our own fine solution,
whose own error is judged by a middling one. Nothing here is a test.
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from fem.plate.analysis import analyse
from fem.plate.model import Face, Probe, StageResult
from meshing.sizing import Fineness
from meshing.triangulate import triangulate
from tests.shapes_zoo import Slab, zoo

FINE = Fineness(field=0.65, segments=14.0, corner=0.01, growth=0.22)
FACES: tuple[Face, Face] = ("show", "underside")


@dataclass(frozen=True)
class Row:
    """One deciding number: its kind, where, value, bar and truth [Pa or m]."""

    kind: str
    where: str
    value: float
    bar: float
    truth: float

    @property
    def error(self) -> float:
        """What it is off."""
        return abs(self.value - self.truth)


def rows_of(slab: Slab, fine: Fineness = FINE) -> list[Row]:
    """Every deciding number of a slab, with the truth from a fine solution."""
    first = _solve(slab, Fineness(), [])
    assert first.peaks is not None
    # The fine solution is also read at the default one's worst places.
    at = [Probe(face, first.peaks[face].at) for face in FACES]
    local = [Probe(f"{face} local", first.peaks[face].local_at or first.peaks[face].at) for face in FACES]
    truth = _solve(slab, fine, [*at, *local])
    assert truth.peaks is not None
    assert truth.deflection is not None
    assert first.deflection is not None
    biggest = max(truth.peaks[face].tension.tension for face in FACES)
    rows = [Row("deflection", slab.name, first.deflection, first.deflection_error or 0.0, truth.deflection)]
    for k, face in enumerate(FACES):
        mine, best = first.peaks[face], truth.peaks[face]
        if best.tension.tension < 0.1 * biggest:
            continue
        where = f"{slab.name}, {face}"
        rows.append(Row("averaged peak", where, mine.tension.tension, mine.tension.error, best.tension.tension))
        there = getattr(truth.probes[k], face)
        if there is not None:
            rows.append(Row("averaged, there", where, mine.tension.tension, mine.tension.error, there.tension))
        if mine.tension.local is not None and best.tension.local is not None:
            bar = mine.tension.local_error or 0.0
            rows.append(Row("local peak", where, mine.tension.local, bar, best.tension.local))
    return rows


def _solve(slab: Slab, fineness: Fineness, probes: list[Probe]) -> StageResult:
    mesh = triangulate(slab.shape, slab.plate.thickness, fineness)
    return analyse(mesh, slab.plate, [slab.stage], probes).stages[0]


def table(rows: list[Row]) -> str:
    """The figures of all rows by kind, as text."""
    head = ("n", "held", "median error", "worst error", "median bar", "bar/error")
    widths = (5, 7, 14, 13, 12, 11)
    out = [f"{'kind':18s}" + "".join(f"{name:>{width}s}" for name, width in zip(head, widths, strict=True))]
    for kind in sorted({row.kind for row in rows}):
        some = [row for row in rows if row.kind == kind]
        error = np.array([row.error / abs(row.truth) for row in some])
        bar = np.array([row.bar / abs(row.truth) for row in some])
        ratio = np.median(bar / np.maximum(error, 1e-9))
        out.append(
            f"{kind:18s}{len(some):5d}{np.mean(error <= bar):7.0%}{np.median(error):14.2%}{error.max():13.2%}"
            f"{np.median(bar):12.2%}{ratio:11.1f}"
        )
    out.append("not held:")
    out += [
        f"  {row.kind:18s}{row.where:40s}{row.value:12.4g} bar {row.bar:9.3g} truth {row.truth:12.4g}"
        f"  error {row.error / abs(row.truth):6.2%}  bar/error {row.bar / row.error:5.2f}"
        for row in sorted(rows, key=lambda row: row.bar / max(row.error, 1e-300))
        if row.error > row.bar
    ]
    return "\n".join(out)


def main(names: list[str]) -> None:
    """Run the study, or the part of it that is named."""
    slabs = [slab for slab in zoo() if not names or slab.name in names]
    rows: list[Row] = []
    begin = time.perf_counter()
    for slab in slabs:
        rows += rows_of(slab)
        print(f"{slab.name}: {time.perf_counter() - begin:.0f} s", file=sys.stderr)
    print(table(rows))
    middling = replace(FINE, field=0.9, segments=10.0)
    some = slabs[::8]
    print("\nhow sure the truth is (the same against a middling mesh, bars left out):")
    for slab in some:
        for fine, less in zip(rows_of(slab), rows_of(slab, middling), strict=True):
            print(f"  {fine.kind:18s}{fine.where:40s}{abs(fine.truth / less.truth - 1):8.2%}")


if __name__ == "__main__":
    main(sys.argv[1:])

"""How long the best places take, and whether a plain scan finds better: python tests/bench_holding.py [--no-scan].

Wall time and processor time after imports; the mesh is made beforehand. --no-scan leaves out the plain scan of the
91,390 choices of four hands among forty, which takes some ten seconds a shape.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from api.workers import one_blas_thread

one_blas_thread()

from fem.plate.holding import Kind, best_places  # noqa: E402 (NumPy must come after its one thread)
from fem.plate.holding_places import rim_candidates  # noqa: E402
from fem.plate.model import PlateCase  # noqa: E402
from fem.plate.prepared import prepare  # noqa: E402
from tests.holding_scan import CARRIED, INCH, SHAPES, SIZE, chosen_of, scan  # noqa: E402
from tests.plates import mesh_of  # noqa: E402

ASKED: list[tuple[Kind, int]] = [
    *((kind, count) for kind in ("hand", "cup") for count in (2, 3, 4, 6)),
    *(("bearer", count) for count in (2, 3, 4)),
]


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--no-scan", action="store_true")
    asked = parser.parse_args()
    for name, shape in SHAPES.items():
        mesh = mesh_of(shape, 1.5 * INCH)
        begin, used = time.perf_counter(), time.process_time()
        slab = prepare(mesh, PlateCase(1.5 * INCH, 2400.0, 0.2))
        _ = slab.grid
        print(f"{name}: prepared in {_since(begin, used)}")
        for kind, count in ASKED:
            begin, used = time.perf_counter(), time.process_time()
            found = best_places(slab, CARRIED, count, kind, size=SIZE if kind == "hand" else 2 * SIZE)
            told = found.reason or f"share {found.share:.3f}"
            print(f"  {count} x {kind:<7} {_since(begin, used)}  {found.evaluated:>7} choices  {told}")
        if asked.no_scan:
            continue
        places = rim_candidates(slab, 40, SIZE)
        chosen, value = scan(slab, places, 4)
        for label, most in (("tried", None), ("exchanged", 0)):
            found = best_places(slab, CARRIED, 4, "hand", places, SIZE, scan=most)
            ratio = value[chosen_of(found, places, chosen)] / value.min()
            print(f"  best four, {label}: {100 * (ratio - 1):.4f} % above the best of {len(chosen)} choices")


def _since(begin: float, used: float) -> str:
    return f"{time.perf_counter() - begin:6.2f} s ({time.process_time() - used:6.2f} s of computing)"


if __name__ == "__main__":
    main()

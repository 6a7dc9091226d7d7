"""How long the tension paths take, by hand: `python tests/bench_paths.py`.

Twelve fields (six stages, two faces) on an L-shape of 2.4 by 1.8 m with a sink opening, nearly all of it pulled:
about twice as many lines as a slab in use has. Prints the best and the median of repeated runs of one process.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path as File

import numpy as np

sys.path.insert(0, str(File(__file__).resolve().parents[1]))

from fem.paths import tension_paths
from tests.paths_fields import corner_supported, grid_over, l_with_hole

RUNS = 15


def main() -> None:
    """Print one line a spacing."""
    grid = grid_over(l_with_hole(), 0.012, 0.06, growth=0.35)
    print(f"grid of {len(grid[0])} points and {len(grid[1])} triangles, twelve fields")
    rng = np.random.default_rng(0)
    spots = [(0.3, 1.4), (0.4, 0.3), (1.0, 0.5), (2.1, 0.2)]
    stages = [corner_supported(grid[0], spots, list(1e6 * rng.uniform(-1.5, 1.5, 4))) for _ in range(6)]
    fields = [sign * stage for stage in stages for sign in (1.0, -1.0)]
    for spacing in (0.08, 0.06, 0.04):
        seconds, lines = [], 0
        for _ in range(RUNS):
            start = time.perf_counter()
            paths = tension_paths(*grid, fields, [0.15e6] * 12, spacing)
            seconds.append(time.perf_counter() - start)
            lines = sum(map(len, paths))
        print(
            f"spacing {1e3 * spacing:.0f} mm: best {1e3 * min(seconds):.0f} ms, "
            f"median {1e3 * float(np.median(seconds)):.0f} ms, {lines} paths"
        )


if __name__ == "__main__":
    main()

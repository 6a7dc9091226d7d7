"""One line along which concrete is pulled: what the rest of this package makes and a picture draws."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["Path"]


@dataclass(frozen=True, eq=False, slots=True)
class Path:
    """A line along the larger principal stress: points (k, 2) [m], at most a sixth of the spacing apart.

    tension (k,) [Pa] is that stress at the points. distinct (k,) is False where the two principal stresses lie within
    a fifth of the larger one: there the direction is arbitrary, and a picture draws the line fainter. A closed ring
    ends on its first point. A line has no sense: either end may come first. The arrays are read-only.
    """

    points: npt.NDArray[np.float64]
    tension: npt.NDArray[np.float64]
    distinct: npt.NDArray[np.bool_]

    def __post_init__(self) -> None:
        k = len(self.points)
        if k < 2 or self.points.shape != (k, 2) or self.tension.shape != (k,) or self.distinct.shape != (k,):
            raise ValueError(
                f"a path needs points (k, 2) with k >= 2 and as many tensions and flags, not {self.points.shape}, "
                f"{self.tension.shape} and {self.distinct.shape}"
            )
        for values in (self.points, self.tension, self.distinct):
            values.setflags(write=False)

    @property
    def closed(self) -> bool:
        """True for a ring."""
        return bool((self.points[0] == self.points[-1]).all())

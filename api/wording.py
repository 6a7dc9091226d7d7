"""Places and figures of a case in the words and units of its writer."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from api.units import UnitSystem

__all__ = ["points_text", "spot_text"]


def spot_text(at: Sequence[float], system: UnitSystem) -> str:
    """A place as the case would write it, in bare numbers of its units, to a thousandth of an inch or a tenth of a mm.

    >>> spot_text((0.0381, 0.0), "us"), spot_text((0.0381, -1.25), "si")
    ('[1.5, 0]', '[0.0381, -1.25]')
    """
    scale, digits = (0.0254, 3) if system == "us" else (1.0, 4)
    x, y = (round(float(value) / scale, digits) + 0.0 for value in at[:2])
    return f"[{x:.10g}, {y:.10g}]"


def points_text(points: Iterable[Sequence[float]], system: UnitSystem) -> str:
    """A list of places as the case would write it.

    >>> points_text([(0, 0), (0.0254, 0)], "us")
    '[[0, 0], [1, 0]]'
    """
    return f"[{', '.join(spot_text(point, system) for point in points)}]"

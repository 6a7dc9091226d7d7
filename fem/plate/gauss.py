"""Gauss's rules, worked out once."""

from __future__ import annotations

from functools import cache

import numpy as np
import numpy.typing as npt

__all__ = ["gauss", "gauss_01"]

FloatArray = npt.NDArray[np.float64]


@cache
def gauss(count: int) -> tuple[FloatArray, FloatArray]:
    """Points and weights (count,) of Gauss's rule on [-1, 1]."""
    x, weight = np.polynomial.legendre.leggauss(count)
    x.setflags(write=False)
    weight.setflags(write=False)
    return x, weight


@cache
def gauss_01(count: int) -> tuple[FloatArray, FloatArray]:
    """Points and weights (count,) of Gauss's rule on [0, 1]."""
    x, weight = gauss(count)
    return (x + 1) / 2, weight / 2

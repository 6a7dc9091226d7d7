"""A stretch of the slab's true edge: a row of hats whose tops are the mesh's own nodes."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from fem.plate.footing.contacts import Footing, join, slopes, spike
from fem.plate.footing.hats import hats, stations_along
from fem.plate.footing.site import Site
from fem.plate.model import EdgePlace
from meshing.mesh import Mesh
from meshing.shape import Loop

__all__ = ["edge_footing"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_MOST_CONTACTS = 160


def edge_footing(site: Site, place: EdgePlace, clamp: bool, concentrated: bool) -> Footing:
    """Contacts along a stretch of edge; corners within it and its ends get single forces of their own."""
    loop = site.mesh.shape.loops[place.loop]
    length = place.end - place.begin
    closed = length > loop.length * (1 - 1e-9)
    corners = loop.curve_starts[:-1][np.abs(loop.corner_angles - np.pi) > 1e-3]
    turns = np.concatenate([corners + turn * loop.length for turn in (-1, 0, 1)])
    inner = np.unique(turns[(turns > place.begin + 1e-9) & (turns < place.end - 1e-9)])
    knots = np.concatenate([[place.begin], inner, [place.end]])
    spacing = max(site.spacing, length / _MOST_CONTACTS)
    ring = closed and not len(inner) and not np.any(np.abs(turns - place.begin) < 1e-9)
    nodes = _node_distances(site.mesh, place.loop)
    parts = []
    for s0, s1 in pairwise(knots):
        stations = _at_nodes(s0 + stations_along(s1 - s0, spacing, closed=ring), nodes, site.most_on_edge)
        at, weight, hat, area = hats(stations, stations, closed=ring)
        stations = stations[: len(area)]
        points, normal = _on_loop(loop, at, outline=place.loop == 0)
        spots = _on_loop(loop, stations, outline=True)[0]
        s = len(stations)
        plain = np.full((len(hat), 2), np.nan)
        parts.append(
            Footing(
                points,
                weight,
                hat,
                plain,
                area / length,
                area,
                np.zeros(s, dtype=bool),
                spots,
                np.zeros((0, 2)),
                rows=((np.arange(s), stations),),
            )
        )
        if clamp:
            parts.append(slopes(points, weight, hat, normal, area, spots))
    special = inner if closed else knots
    if closed and not ring:
        special = np.append(inner, place.begin)
    ends = _on_loop(loop, special, outline=True)[0] if len(special) else np.zeros((0, 2))
    if concentrated:
        parts += [spike(end) for end in ends]
    return replace(join(parts), singular=ends)


def _node_distances(mesh: Mesh, loop: int) -> FloatArray:
    """Distances along a loop of its mesh nodes, over three rounds: (3 k,) [m]."""
    here = mesh.side_loop == loop
    starts = mesh.shape.loops[loop].curve_starts
    curve = mesh.side_curve[here]
    once = starts[curve] + mesh.side_s[here].min(axis=1) * np.diff(starts)[curve]
    return np.sort(np.concatenate([once + turn * starts[-1] for turn in (-1, 0, 1)]))


def _at_nodes(stations: FloatArray, nodes: FloatArray, most: int) -> FloatArray:
    """Hat tops at every mesh node between the ends; where those are too many, at the nodes nearest to even stations.

    A reaction then bends only where the elements do. (Off the nodes the edge moment of a clamped circle wavers by 1
    to 3 %; on them it is right to 2e-7.)
    """
    between = nodes[(nodes > stations[0] + 1e-9) & (nodes < stations[-1] - 1e-9)]
    if len(between) > most:
        between = between[np.abs(between[:, None] - stations[1:-1]).argmin(axis=0)]
    return np.unique(np.concatenate([stations[:1], between, stations[-1:]]))


def _on_loop(loop: Loop, distance: FloatArray, outline: bool) -> tuple[FloatArray, FloatArray]:
    """Points at distances along a loop and the normals that point out of the slab: (k, 2) [m], (k, 2)."""
    wrapped = np.mod(distance, loop.length)
    starts = loop.curve_starts
    index = np.clip(np.searchsorted(starts, wrapped, side="right") - 1, 0, len(loop.curves) - 1)
    points, normals = np.empty((len(wrapped), 2)), np.empty((len(wrapped), 2))
    for k in np.unique(index):
        curve, on = loop.curves[k], index == k
        fine = np.linspace(0.0, 1.0, 65)
        speed = np.hypot(*curve.derivative(fine).T)
        run = np.concatenate([[0.0], np.cumsum((speed[1:] + speed[:-1]) / 2 * np.diff(fine))])
        s = np.interp((wrapped[on] - starts[k]) / curve.length, run / run[-1], fine)
        points[on] = curve.point(s)
        d = curve.derivative(s)
        normals[on] = np.stack([d[:, 1], -d[:, 0]], axis=1) / np.hypot(*d.T)[:, None]
    return points, normals if outline else -normals

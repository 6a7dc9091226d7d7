"""Strength of the cracked section: layers of reinforcement at their own depths, by compatibility of strains."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fem.steel.material import Block, Law, block_of, law_of
from fem.steel.model import Code, Concrete, Steel

__all__ = [
    "Layer",
    "Section",
    "Sections",
    "run_strength",
    "section_strength",
    "section_strengths",
    "upper_cracking_moment",
]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
HALVINGS = 60


@dataclass(frozen=True, slots=True)
class Layer:
    """Wires of one steel side by side: depth [m] of their axis from the pressed face, area per width [m2/m]."""

    depth: float
    area: float
    steel: Steel


@dataclass(frozen=True, eq=False)
class Sections:
    """Strength of many sections (...), each per unit width.

    nominal, design [N m/m]; neutral_axis and a, the depth of the stress block [m]; strain of the outermost pulled
    layer; phi = design / nominal; tension_controlled: it yields long before the concrete crushes; snaps: a brittle
    layer breaks first; stress (..., k) [Pa] of each layer at the nominal strength, + pulled, that of a pressed one less
    the concrete whose place it takes.
    """

    nominal: FloatArray
    design: FloatArray
    neutral_axis: FloatArray
    a: FloatArray
    strain: FloatArray
    phi: FloatArray
    tension_controlled: BoolArray
    snaps: BoolArray
    stress: FloatArray


@dataclass(frozen=True, slots=True)
class Section:
    """Strength of one section, as in Sections."""

    nominal: float
    design: float
    neutral_axis: float
    a: float
    strain: float
    phi: float
    tension_controlled: bool
    snaps: bool
    stress: tuple[float, ...]


@dataclass(frozen=True, eq=False)
class _State:
    """A section at its strength: moment and neutral axis (...), strain and stress (..., k), whether it snaps (...)."""

    moment: FloatArray
    neutral_axis: FloatArray
    strain: FloatArray
    stress: FloatArray
    snaps: BoolArray


def section_strength(layers: Sequence[Layer], thickness: float, concrete: Concrete, code: Code) -> Section:
    """Strength of a slab of this thickness [m] with these layers, per unit width (see section_strengths).

    >>> from fem.concrete.formulas import PSI
    >>> wire = Steel("wire", "wire", 0.00376, 0.00376, 11.1e-6, 485e6, 550e6, 200e9)
    >>> found = section_strength([Layer(0.0203, 3 * 11.1e-6 / 0.3048, wire)], 0.0381,
    ...                          Concrete(6000 * PSI, 4e6, 6e6, 30e9), "ACI 318-19")
    >>> round(found.nominal), round(found.phi, 2)
    (1036, 0.9)
    """
    found = section_strengths(
        [layer.depth for layer in layers],
        np.array([layer.area for layer in layers], dtype=float),
        [layer.steel for layer in layers],
        thickness,
        concrete,
        code,
    )
    return Section(
        float(found.nominal),
        float(found.design),
        float(found.neutral_axis),
        float(found.a),
        float(found.strain),
        float(found.phi),
        bool(found.tension_controlled),
        bool(found.snaps),
        tuple(float(value) for value in found.stress),
    )


def section_strengths(
    depths: Sequence[float],
    areas: FloatArray,
    steels: Sequence[Steel],
    thickness: float,
    concrete: Concrete,
    code: Code,
) -> Sections:
    """Strength of sections that differ in the areas (..., k) [m2/m] of their k layers at depths [m], all at once.

    Plane sections stay plane, concrete carries no pull, its pressure is the code's block (ACI 318-19 22.2, EN 1992-1-1
    3.1.7 and 6.1); the neutral axis is found by halving. Pressed layers count less the concrete they displace. Where a
    brittle layer would snap before the concrete crushes, the section is read at the neutral axis at which both
    would happen together, which is the least arm it can have (ACI 440.1R-15 7.2.2). ACI's phi is that of 21.2.2 by the
    outermost pulled layer, for brittle layers 0.55 where they snap, 0.65 where the concrete crushes at 0.8 of that
    (ACI CODE-440.11-22 21.2.2); EN 1992-1-1 divides the strengths by their partial factors, and is called
    tension-controlled up to x/d = 0.45 (0.35 above C50/60), 5.6.3(2). ValueError for a layer outside the thickness.
    """
    d = np.asarray(depths, dtype=float)
    areas = np.asarray(areas, dtype=float)
    if not (thickness > 0 and len(steels) == d.size == areas.shape[-1]):
        raise ValueError(f"{d.size} depths, {len(steels)} steels, areas {areas.shape}, {thickness} m: no section")
    if d.size and not (d.min() > 0 and d.max() < thickness and areas.min(initial=0.0) >= 0):
        raise ValueError(f"layers at {d.tolist()} m do not lie within {thickness} m, or an area is negative")
    laws = [law_of(steel, code) for steel in steels]
    block = block_of(concrete, code)
    state = _balance(d, areas, laws, block, thickness)
    strain, yielding, brittle = _outermost(d, areas, laws, state)
    if code == "ACI 318-19":
        phi = _phi(strain, yielding, brittle, state.snaps)
        design = phi * state.moment
        controlled = ~brittle & (strain >= yielding + 0.003)
    else:
        eased = _balance(
            d, areas, [law_of(steel, code, design=True) for steel in steels], block_of(concrete, code, True), thickness
        )
        design = eased.moment
        phi = np.divide(design, state.moment, out=np.zeros_like(design), where=state.moment > 0)
        reach = 0.45 if concrete.compressive <= 50e6 else 0.35
        controlled = ~brittle & (eased.neutral_axis <= reach * (d.max() if d.size else 0.0)) & (state.moment > 0)
    return Sections(
        state.moment,
        design,
        state.neutral_axis,
        np.minimum(block.depth * state.neutral_axis, thickness),
        strain,
        phi,
        controlled,
        state.snaps,
        state.stress,
    )


def run_strength(
    steel: Steel, arm: float, width: float, concrete: Concrete, code: Code, *, nominal: bool = False
) -> float:
    """Design moment [N m] of one run, arm [m] from the pressed face to its axis, whose stress block is width [m] wide.

    0 for an arm that is none. nominal leaves the code's reductions out: to compare with what cracks the slab.
    """
    if not width > 0:
        raise ValueError(f"a run needs concrete beside it: width {width} m")
    if arm <= 0:
        return 0.0
    found = section_strength([Layer(arm, steel.wires * steel.area / width, steel)], 2 * arm, concrete, code)
    return width * (found.nominal if nominal else found.design)


def upper_cracking_moment(concrete: Concrete, thickness: float) -> float:
    """The most that a slab of this thickness [m] may carry before it cracks, per unit width [N m/m].

    concrete.high h2 / 6: not the low side that decides whether it cracks, but the high side that decides what the steel
    has to take over when it does.
    """
    if not thickness > 0:
        raise ValueError(f"no such slab: thickness {thickness} m")
    return concrete.high * thickness**2 / 6


def _balance(d: FloatArray, areas: FloatArray, laws: Sequence[Law], block: Block, thickness: float) -> _State:
    """The section at its strength: equilibrium over its depth, and no brittle layer beyond its strain."""
    modulus = np.array([law.modulus for law in laws], dtype=float)
    strength = np.array([law.strength for law in laws], dtype=float)
    brittle = np.array([law.brittle for law in laws], dtype=bool)
    present = areas * strength > 0
    low = np.full(areas.shape[:-1], 1e-9 * thickness)
    high = np.full(areas.shape[:-1], 2 * thickness / block.depth)

    def state_at(c: FloatArray) -> tuple[FloatArray, FloatArray]:
        strain = block.crushing * (d - c[..., None]) / c[..., None]
        elastic = modulus * strain
        pulled = np.where(brittle, np.where(strength > 0, elastic, 0.0), np.minimum(elastic, strength))
        pressed = np.minimum(np.maximum(elastic, -strength) + block.stress, 0.0)
        return strain, np.where(strain > 0, pulled, np.where(brittle, 0.0, pressed))

    def push(c: FloatArray) -> FloatArray:
        pressure: FloatArray = block.stress * np.minimum(block.depth * c, thickness)
        return pressure

    for _ in range(HALVINGS):
        middle = (low + high) / 2
        short = push(middle) < (areas * state_at(middle)[1]).sum(-1)
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    c = (low + high) / 2
    limit = np.array([law.strain for law in laws], dtype=float)
    together = np.where(present & brittle, d * block.crushing / (block.crushing + limit), 0.0).max(-1, initial=0.0)
    snaps = c < together
    c = np.where(snaps, together, c)
    strain, stress = state_at(c)
    # Where a brittle layer breaks, the pull itself times the least arm; elsewhere push and pull balance.
    arm = d - np.minimum(block.depth * c, thickness)[..., None] / 2
    moment = np.maximum((areas * stress * arm).sum(-1), 0.0)
    return _State(moment, c, strain, stress, snaps)


def _outermost(
    d: FloatArray, areas: FloatArray, laws: Sequence[Law], state: _State
) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Of the outermost pulled layer that is there: its strain, the strain at which it gives, whether it is brittle."""
    pulled = (areas > 0) & (state.stress > 0)
    if not d.size:
        none = np.zeros(areas.shape[:-1])
        return none, none, np.zeros(areas.shape[:-1], dtype=bool)
    last = np.where(pulled, d, -1.0).argmax(-1)
    there = pulled.any(-1)
    strain = np.where(there, np.take_along_axis(state.strain, last[..., None], -1)[..., 0], 0.0)
    limit = np.array([law.strain for law in laws], dtype=float)[last]
    brittle = (pulled & np.array([law.brittle for law in laws], dtype=bool)).any(-1)
    return strain, limit, brittle


def _phi(strain: FloatArray, limit: FloatArray, brittle: BoolArray, snaps: BoolArray) -> FloatArray:
    """ACI's strength reduction factor, from the strain of the outermost pulled layer and that at which it gives."""
    steel = np.clip(0.65 + 0.25 * (strain - limit) / 0.003, 0.65, 0.90)
    share = np.divide(strain, limit, out=np.ones_like(strain), where=limit > 0)
    fibre = np.where(snaps, 0.55, np.clip(1.05 - 0.5 * share, 0.55, 0.65))
    phi: FloatArray = np.where(brittle, fibre, steel)
    return phi

"""Concrete and reinforcement as a cracked section knows them at its strength, by ACI 318-19 and by EN 1992-1-1."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fem.concrete.formulas import PSI
from fem.steel.model import Code, Concrete, Steel

__all__ = ["STRAIN_CAP", "Block", "Law", "block_of", "law_of", "works"]

STRAIN_CAP = 0.012
EN_CONCRETE, EN_STEEL, EN_FIBRE = 1.5, 1.15, 1.5
EN_SUSTAINED = 0.85


@dataclass(frozen=True, slots=True)
class Block:
    """The rectangular stress block of a code: stress [Pa] over depth times the neutral axis depth; crushing strain."""

    stress: float
    depth: float
    crushing: float


@dataclass(frozen=True, slots=True)
class Law:
    """Stress of a reinforcement: modulus [Pa] times strain up to strength [Pa]; then it yields, or snaps if brittle."""

    modulus: float
    strength: float
    brittle: bool

    @property
    def strain(self) -> float:
        """At which it yields, or snaps."""
        return self.strength / self.modulus if self.strength > 0 else 0.0


def block_of(concrete: Concrete, code: Code, design: bool = False) -> Block:
    """The stress block; design takes the partial factor of EN 1992-1-1 (ACI 318-19 reduces the moment instead).

    ACI 318-19 22.2.2: 0.85 f'c over beta1 c, beta1 0.85 up to 4000 psi, 0.05 less per 1000 psi, not under 0.65; 0.003.
    EN 1992-1-1 3.1.7(3): eta fcd over lambda x, both less above C50/60; strain of table 3.1; fcd = 0.85 fck / 1.5, the
    0.85 of 3.1.6(1) being the lower of the values that national annexes take.

    >>> from fem.steel.model import Concrete
    >>> block_of(Concrete(6000 * PSI, 4e6, 6e6, 30e9), "ACI 318-19").depth
    0.75
    """
    if not concrete.compressive > 0:
        raise ValueError(f"no such concrete: compressive strength {concrete.compressive} Pa")
    if code == "ACI 318-19":
        beta1 = min(max(0.85 - 0.05 * (concrete.compressive / PSI - 4000) / 1000, 0.65), 0.85)
        return Block(0.85 * concrete.compressive, beta1, 0.003)
    fck = concrete.compressive / 1e6
    above = min(max(fck - 50, 0.0), 40.0)
    crushing = 0.0035 if above == 0 else 0.0026 + 0.035 * ((90 - min(fck, 90.0)) / 100) ** 4
    factor = EN_CONCRETE if design else 1.0
    return Block((1 - above / 200) * EN_SUSTAINED * concrete.compressive / factor, 0.8 - above / 400, crushing)


def law_of(steel: Steel, code: Code, design: bool = False) -> Law:
    """Stress against strain; design takes the partial factors of EN 1992-1-1 (ACI 318-19 reduces the moment instead).

    Steel yields at its yield strength and holds it: ACI 318-19 20.2.2.1, EN 1992-1-1 3.2.7(2)b. A brittle one runs
    straight up to factor times its ultimate strength, but never beyond a strain of 0.012, and snaps: ACI 440.1R-15
    6.2.1 and the strain cap of ACI 549.4R-13. EN 1992-1-1 has no rule for it: 1.5 is taken as its partial factor. One
    whose bond was never tested has no strength; nor has a plain wire that nothing anchors.
    """
    if not (steel.modulus > 0 and steel.yield_strength > 0 and steel.area > 0 and steel.wires >= 1):
        raise ValueError(f"no such reinforcement: {steel.name}")
    if not works(steel):
        return Law(steel.modulus, 0.0, steel.brittle)
    if not steel.brittle:
        return Law(steel.modulus, steel.yield_strength / (EN_STEEL if _en(code, design) else 1.0), False)
    strength = min(steel.factor * steel.ultimate_strength, STRAIN_CAP * steel.modulus)
    return Law(steel.modulus, strength / (EN_FIBRE if _en(code, design) else 1.0), True)


def works(steel: Steel) -> bool:
    """Whether anything anchors it: ribs or welded crosswires, and for a grid a test of its bond."""
    return steel.tested and (steel.deformed or (steel.weld > 0 and 0 < steel.cross_pitch < math.inf))


def _en(code: Code, design: bool) -> bool:
    return design and code == "EN 1992-1-1"

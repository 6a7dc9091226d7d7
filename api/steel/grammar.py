"""The table [steel] of a case: what is laid, how near to the faces and to one another, and a layout to be judged."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, PrivateAttr, model_validator

from api.case_values import Flag, Number, Point, Quantity, Text, fault
from api.shapes import Record
from api.units import ANGLE, AREA, FORCE, LENGTH, PRESSURE

__all__ = ["MOST_RUNS", "MOST_RUN_POINTS", "Cover", "Layout", "OwnSteel", "Spacing", "SteelRun", "SteelTable"]

MOST_OWN, MOST_RUNS, MOST_LAYOUTS, MOST_DIRECTIONS, MOST_RUN_POINTS = 20, 500, 8, 6, 60

Clear = Annotated[float, Quantity("a cover", LENGTH, 0.001, 0.075)]
Apart = Annotated[float, Quantity("a spacing", LENGTH, 0.002, 1.0)]
Thick = Annotated[float, Quantity("a diameter", LENGTH, 0.0003, 0.020)]
Strong = Annotated[float, Quantity("a strength of reinforcement", PRESSURE, 50e6, 6e9)]
Depth = Annotated[float, Quantity("a depth", LENGTH, 0.001, 0.150)]
Stock = Annotated[float, Quantity("a stock length", LENGTH, 0.3, 30.0)]
Turn = Annotated[float, Quantity("an angle", ANGLE, -360.0, 360.0)]
SteelFace = Literal["show", "underside"]


class Cover(Record):
    """Clear cover of the outermost layer to each face, and of every run to an edge and to an opening."""

    show: Clear | None = None
    """Left out: 1/2 in."""
    underside: Clear | None = None
    """Left out: 3/8 in."""
    edge: Clear | None = None
    """Left out: 1/2 in."""
    opening: Clear | None = None
    """Left out: 1/2 in."""


class Spacing(Record):
    """How far apart runs that lie side by side are, from middle to middle."""

    least: Apart | None = None
    """They lie on lines so far apart, and no closer; left out: the thickness, if the concrete then gets through."""
    most: Apart | None = None
    """Left out: 3 times the thickness, and 18 in at most (ACI 318-19 7.7.2.3)."""


class OwnSteel(Record):
    """A reinforcement that the table of common ones does not have; its own name serves in use and in a run."""

    name: Text
    kind: Literal["wire", "ladder", "mesh", "bar", "grid"] = "wire"
    diameter: Thick
    """Of one wire; of a strand of a grid, that of a round one of its area."""
    outside: Annotated[float, Quantity("a depth of a layer", LENGTH, 0.0003, 0.040)] | None = None
    """The depth that one layer of it takes, ribs and crosswires included; left out: the diameter."""
    area: Annotated[float, Quantity("an area", AREA, 5e-8, 4e-4)] | None = None
    """Of one wire or strand; left out: that of a round one."""
    yield_strength: Strong
    """Of a brittle one, what it snaps at."""
    ultimate_strength: Strong | None = None
    """Left out: the yield strength."""
    modulus: Annotated[float, Quantity("a modulus of elasticity", PRESSURE, 1e9, 700e9)] | None = None
    """Left out: 29,000 ksi (200 GPa); of a brittle one it must be given."""
    deformed: Flag = True
    brittle: Flag = False
    """It snaps without yielding: carbon, glass."""
    factor: Annotated[float, Number("an environmental factor", 0.1, 1.0)] = 1.0
    """Of a brittle one: on strength and strain (ACI 440.1R-15)."""
    tested: Flag = True
    """false: its bond was never pulled in a test, and it counts nothing."""
    wires: Annotated[int, Field(ge=1, le=12)] = 1
    """Side by side in one strip."""
    width: Annotated[float, Quantity("a width", LENGTH, 0.001, 1.0)] | None = None
    """Of a strip of several wires, out to out."""
    cross_pitch: Apart | None = None
    """Between welded crosswires; left out: none."""
    cross_diameter: Thick | None = None
    """Left out: as the wires."""
    weld: Annotated[float, Quantity("what a weld holds", FORCE, 0.0, 1e5)] | None = None
    """One crossing; left out: 25,000 psi times the larger wire (ASTM A951)."""
    stock: Stock | None = None
    """Left out: 10 ft."""

    @model_validator(mode="after")
    def _can_be(self) -> OwnSteel:
        if self.brittle and self.modulus is None:
            raise fault(
                "a brittle reinforcement bends by its modulus, which is missing",
                'add modulus = "45 GPa" (glass bars 40 to 45, carbon 120 to 150)',
            )
        if self.ultimate_strength is not None and self.ultimate_strength < self.yield_strength:
            raise fault("it would snap before it yields", "give ultimate_strength at least yield_strength")
        if self.wires > 1 and (self.width or 0.0) < self.wires * self.diameter:
            raise fault("so many wires need the width of their strip", 'add width = "2 in", out to out')
        return self


class SteelRun(Record):
    """One run of a layout that is to be judged: straight between its points."""

    name: Text | None = None
    """Left out: "run 1", "run 2", ..."""
    face: SteelFace
    """The face it lies near."""
    points: Annotated[tuple[Point, ...], Field(min_length=2, max_length=MOST_RUN_POINTS)]
    depth: Depth | None = None
    """Of its axis from the show face; left out: as near to its face as the cover lets it."""
    steel: Text | None = None
    """A name of the table or of steel.own; left out: that of use."""


class Layout(Record):
    """Runs drawn in a DXF file beside the case, lines and polylines of one layer; never over HTTP."""

    file: Text
    layer: Text | None = None
    """Only lines on this layer count."""
    face: SteelFace
    """The face they lie near."""
    depth: Depth | None = None
    """Of their axes from the show face."""
    unit: Literal["mm", "cm", "m", "in", "ft"] | None = None
    """Unit of a drawing that does not say its own."""


def _one_or_more(value: Any) -> Any:
    """A single table stands for a list of one."""
    return (value,) if isinstance(value, dict) else value


class SteelTable(Record):
    """What is to be laid and how; a table without any key takes every default, and the answer names them."""

    use: Text | None = None
    """A name of the table of common reinforcement or of steel.own; left out: a 9 gauge wire, 70 ksi."""
    code: Literal["aci", "en"] = "aci"
    """ACI 318-19 or EN 1992-1-1."""
    cover: Cover = Cover()
    placing: Annotated[float, Quantity("a placing tolerance", LENGTH, 0.0, 0.030)] | None = None
    """How far a wire may sit from where it belongs; left out: 3/8 in."""
    spacing: Spacing = Spacing()
    stock: Stock | None = None
    """The length it is sold in; left out: as the table says."""
    aggregate: Annotated[float, Quantity("a grain", LENGTH, 0.0005, 0.040)] | None = None
    """Largest grain; left out: 3/8 in."""
    directions: Annotated[tuple[Turn, ...], Field(min_length=1, max_length=MOST_DIRECTIONS)] | None = None
    """In which straight runs may lie, angles from +x; left out: along the sides and both ways across their corners."""
    owed_above: Annotated[float, Number("owed_above", 0.0, 1.0)] | None = None
    """Steel is owed where the factored pull is more than this share of the cracking strength; left out: 0.2."""
    plan: Flag = True
    """false: only the given layout is judged."""
    own: Annotated[tuple[OwnSteel, ...], Field(max_length=MOST_OWN)] = ()
    run: Annotated[tuple[SteelRun, ...], Field(max_length=MOST_RUNS)] = ()
    """A layout to be judged."""
    layout: Annotated[tuple[Layout, ...], Field(max_length=MOST_LAYOUTS), BeforeValidator(_one_or_more)] = ()
    """More of it, drawn; one table or several."""
    _places: tuple[str, ...] = PrivateAttr(default=())
    """Where each run is written: a place of the case."""

    def drawn(self, runs: tuple[tuple[str, SteelRun], ...]) -> SteelTable:
        """The same with the runs of its drawings (place, run) among its own, and no drawing left to be read."""
        places = [f"steel.run[{k}]" for k in range(len(self.run))]
        whole = self.model_copy(update={"run": (*self.run, *(run for _, run in runs)), "layout": ()})
        whole._places = (*places, *(place for place, _ in runs))
        return whole

    def place(self, k: int) -> str:
        """Where the run of this number is written."""
        return self._places[k] if k < len(self._places) else f"steel.run[{k}]"

"""A drawing (DXF) beside the case: found, never outside its folder, bounded, read, its unit in metres.

What would have to be guessed is a fault, placed at the key of the case that names the drawing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from api.errors import CaseError, Problem

__all__ = ["JOIN", "Drawn", "drawing_file"]

LARGEST_DRAWING = 5_000_000
JOIN = 1e-4
"""Points so near to one another are one point [m]."""
# DXF reference, header variable $INSUNITS: the unit of the drawing in metres, by its code.
INSUNITS = {1: 0.0254, 2: 0.3048, 4: 1e-3, 5: 1e-2, 6: 1.0, 10: 0.9144, 14: 0.1}
UNITS = {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": 0.0254, "ft": 0.3048}


@dataclass(frozen=True, slots=True)
class Drawn:
    """What a drawing holds for us: its curves (entities of ezdxf), metres in one of its units, and whose fault it is.

    where is the table of the case that names it; what names what is drawn ("the outline").
    """

    entities: tuple[Any, ...]
    scale: float
    where: str
    what: str

    def fault(self, what: str, fix: str, key: str = "file") -> CaseError:
        """A fault of the drawing, at a key of its table."""
        return _fault(self.where, what, fix, key)

    def layers(self) -> str:
        """The layers of its curves, in quotes."""
        found = sorted({str(entity.dxf.layer) for entity in self.entities})
        return ", ".join(f'"{name}"' for name in found[:6])


def drawing_file(
    table: Any, folder: Path | None, where: str, what: str, read: Sequence[str], most: int, instead: str
) -> Drawn:
    """The curves of the kinds to read on the layer that a table (file, layer, unit) names, at most so many.

    folder is that of the case, or None where there is none (HTTP): then instead says what to do. CaseError, with its
    place below where, if the drawing cannot be taken.
    """
    document = _document(_path(table.file, folder, where, what, instead), where)
    scale = _scale(document, table.unit, where)
    entities = _on_layer(document, table.layer, where, read)
    if len(entities) > most:
        raise _fault(where, f"{len(entities)} curves are too many", f"at most {most}: put {what} on its own layer")
    drawn = Drawn(tuple(entities), scale, where, what)
    for entity in entities:
        if entity.dxftype() == "SPLINE":
            raise drawn.fault("the drawing has a spline", "turn it into a polyline of lines and arcs")
        if entity.dxf.hasattr("extrusion") and not entity.dxf.extrusion.isclose((0, 0, 1)):
            fix = "flatten it: seen from above, at z = 0"
            raise drawn.fault("a curve is drawn in another plane, or from behind", fix)
    return drawn


def _fault(where: str, what: str, fix: str, key: str = "file") -> CaseError:
    return CaseError([Problem(f"{where}.{key}", what, fix)])


def _path(name: str, folder: Path | None, where: str, what: str, instead: str) -> Path:
    """The drawing's path, never outside the folder of the case."""
    if folder is None:
        raise _fault(where, "a drawing beside the case cannot be used here", instead)
    parts = PurePosixPath(name)
    if parts.is_absolute() or ".." in parts.parts or "\\" in name or ":" in name:
        raise _fault(where, "the drawing must lie beside the case", 'write its plain name: file = "outline.dxf"')
    if parts.suffix.lower() != ".dxf":
        raise _fault(where, "this kind of drawing is not read", f"save {what} as DXF")
    path, home = (folder / name).resolve(), folder.resolve()
    if not path.is_relative_to(home):
        raise _fault(
            where, "the drawing must lie beside the case", "copy it there; a link to elsewhere is not followed"
        )
    if not path.is_file():
        raise _fault(where, "there is no such drawing beside the case", "check the name")
    if path.stat().st_size > LARGEST_DRAWING:
        fix = f"at most {LARGEST_DRAWING} bytes are read: save {what} alone"
        raise _fault(where, "the drawing is too large", fix)
    return path


def _document(path: Path, where: str) -> Any:
    # ezdxf takes most of a second to import, which only a case with a drawing should pay.
    from ezdxf.filemanagement import readfile
    from ezdxf.lldxf.const import DXFError

    try:
        return readfile(path)
    except (OSError, DXFError, ValueError, LookupError, TypeError, AttributeError) as error:
        raise _fault(where, f"the drawing cannot be read: {str(error)[:80]}", "save it again as DXF") from None


def _scale(document: Any, unit: str | None, where: str) -> float:
    """Metres in a unit of the drawing."""
    told = UNITS[unit] if unit else None
    own = INSUNITS.get(document.header.get("$INSUNITS", 0))
    if told is None and own is None:
        raise _fault(where, "the drawing does not say its unit", 'add it beside the file: unit = "mm"', "unit")
    if told is not None and own is not None and told != own:
        raise _fault(
            where, "the drawing says another unit", "leave unit out, or put the drawing's own unit right", "unit"
        )
    return float(told if own is None else own)  # type: ignore[arg-type]  # one of them is a number by now


def _on_layer(document: Any, layer: str | None, where: str, read: Sequence[str]) -> list[Any]:
    """The curves of the model space on the layer asked for."""
    entities = [entity for entity in document.modelspace() if entity.dxftype() in read]
    if layer is None:
        return entities
    kept = [entity for entity in entities if str(entity.dxf.layer).lower() == layer.lower()]
    if not kept:
        there = ", ".join(f'"{name}"' for name in sorted({str(entity.dxf.layer) for entity in entities})[:8])
        raise _fault(where, "there is no curve on this layer", f"curves lie on: {there or 'no layer at all'}", "layer")
    return kept

"""An outline drawn in a DXF file: true arcs, its unit, its layer, and what is refused."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf.filemanagement
import pytest

from api.case import load_case, read_case
from api.errors import CaseError
from api.shapes import Curved
from api.translate import piece_from

Draw = Callable[[Any], object]

MM, INCH, NO_UNIT = 4, 1, 0


def draw(folder: Path, drawn: Draw, unit: int = MM) -> None:
    """Write outline.dxf with what drawn puts into its model space."""
    document = ezdxf.filemanagement.new("R2010")
    document.header["$INSUNITS"] = unit
    drawn(document.modelspace())
    document.saveas(folder / "outline.dxf")


def case(**outline: str) -> dict[str, Any]:
    """A case whose outline is outline.dxf."""
    return {
        "case": 1,
        "title": "Drawn",
        "units": "si",
        "slab": {"thickness": 0.04, "outline": {"file": "outline.dxf", **outline}},
        "concrete": {"density": 2300, "compressive_strength": "40 MPa"},
        "stage": [{"name": "a", "age": 28, "up": "show", "support": [{"kind": "edge", "action": "rest"}]}],
    }


def area(folder: Path, **outline: str) -> float:
    """Area of the slab drawn there [m2]; the case must dump and read back without the drawing."""
    read = read_case(case(**outline), folder)
    again = read_case(read.si())
    assert again.si() == read.si()
    return float(piece_from(again).shape.region().area)


def fault(folder: Path | None, **outline: str) -> str:
    """The one problem of the case, as text."""
    with pytest.raises(CaseError) as caught:
        read_case(case(**outline), folder)
    (problem,) = caught.value.problems
    assert problem.where.startswith("slab.outline")
    return str(problem)


STADIUM = [(0, 0, 0), (1000, 0, 1), (1000, 600, 0), (0, 600, 1)]


def test_a_closed_polyline_keeps_its_arcs(tmp_path: Path) -> None:
    draw(tmp_path, lambda space: space.add_lwpolyline(STADIUM, format="xyb", close=True))
    # By hand: 1 x 0.6 and two half circles of radius 0.3; rtol: the polygon for asking keeps within 0.02 mm
    assert area(tmp_path) == pytest.approx(0.6 + math.pi * 0.09, rel=2e-4)
    outline = read_case(case(), tmp_path).slab.outline
    assert isinstance(outline, Curved)
    assert outline.points == ((0.0, 0.0, 0.0), (1.0, 0.0, 1.0), (1.0, 0.6, 0.0), (0.0, 0.6, 1.0))
    assert piece_from(read_case(case(), tmp_path)).shape.outline.length == pytest.approx(2 + 0.6 * math.pi, rel=1e-9)


def test_lines_and_arcs_in_any_order_are_joined(tmp_path: Path) -> None:
    def drawn(space: Any) -> None:
        space.add_line((0, 0), (40, 0))
        space.add_line((0, 24.003), (0, 0))  # the gap is 0.08 mm
        space.add_line((40, 24), (0, 24))
        space.add_arc((40, 12), 12, -90, 90)

    draw(tmp_path, drawn, INCH)
    assert area(tmp_path) == pytest.approx((40 * 24 + math.pi * 72) * 0.0254**2, rel=2e-4)


def test_an_arc_of_more_than_a_half_turn_becomes_two(tmp_path: Path) -> None:
    draw(
        tmp_path, lambda space: space.add_lwpolyline([(0, 0, 2), (400, 0, 0), (200, -300, 0)], format="xyb", close=True)
    )
    angle = 4 * math.atan(2)
    radius = 0.2 / math.sin(angle / 2)
    segment = radius**2 / 2 * (angle - math.sin(angle))
    # By hand: the arc swings out below its chord, round the third point: its segment less the triangle.
    assert area(tmp_path) == pytest.approx(segment - 0.5 * 0.4 * 0.3, rel=3e-4)
    draw(
        tmp_path, lambda space: space.add_lwpolyline([(0, 0, 2), (400, 0, 0), (200, 100, 0)], format="xyb", close=True)
    )
    assert area(tmp_path) == pytest.approx(segment + 0.5 * 0.4 * 0.1, rel=2e-4)


@pytest.mark.parametrize(
    ("drawn", "expected"),
    [
        (lambda space: space.add_circle((500, 500), 500), math.pi / 4),
        (lambda space: space.add_ellipse((500, 500), (400, 300, 0), 0.5), math.pi * 0.5 * 0.25),
        (lambda space: space.add_polyline2d([(0, 0), (900, 0), (900, 500), (0, 500), (0, 0)]), 0.45),
        (lambda space: space.add_polyline2d([(0, 0), (900, 0), (900, 500), (0, 500)], close=True), 0.45),
    ],
)
def test_other_closed_curves(tmp_path: Path, drawn: Draw, expected: float) -> None:
    draw(tmp_path, drawn)
    assert area(tmp_path) == pytest.approx(expected, rel=2e-4)


def test_only_the_layer_named_counts(tmp_path: Path) -> None:
    def drawn(space: Any) -> None:
        space.add_circle((500, 500), 500, dxfattribs={"layer": "Top"})
        space.add_circle((500, 500), 100, dxfattribs={"layer": "hob"})
        space.add_text("1 m across", dxfattribs={"layer": "Top"})

    draw(tmp_path, drawn)
    assert area(tmp_path, layer="top") == pytest.approx(math.pi / 4, rel=2e-4)
    assert '2 closed curves on the layers "Top", "hob"' in fault(tmp_path)
    assert 'curves lie on: "Top", "hob"' in fault(tmp_path, layer="outline")


def test_the_unit_is_never_guessed(tmp_path: Path) -> None:
    draw(tmp_path, lambda space: space.add_circle((500, 500), 500), NO_UNIT)
    assert "does not say its unit" in fault(tmp_path)
    assert area(tmp_path, unit="mm") == pytest.approx(math.pi / 4, rel=2e-4)
    assert "out of range" in fault(tmp_path, unit="m")
    draw(tmp_path, lambda space: space.add_circle((500, 500), 500), MM)
    assert "says another unit" in fault(tmp_path, unit="in")


@pytest.mark.parametrize(
    ("drawn", "what"),
    [
        (lambda space: None, "no closed curve"),
        (lambda space: [space.add_line((0, 0), (900, 0)), space.add_line((900, 0), (900, 600))], "open at [0.9, 0.6]"),
        (
            lambda space: [space.add_line(a, b) for a, b in [((0, 0), (9, 0)), ((9, 0), (9, 9)), ((9, 0), (0, 0))]],
            "fork at [0.009, 0]",
        ),
        (lambda space: space.add_ellipse((500, 500), (400, 300, 0), 0.5, 0, 3), "part of an ellipse"),
        (lambda space: space.add_spline([(0, 0), (9, 5), (18, 0)]), "spline"),
        (lambda space: space.add_circle((0, 0), 500, dxfattribs={"extrusion": (0, 0, -1)}), "from behind"),
        (lambda space: space.add_polyline3d([(0, 0, 0), (9, 0, 5), (9, 9, 0)]), "in space"),
        (lambda space: [space.add_line((k, 0), (k, 9)) for k in range(900)], "too many"),
        (
            lambda space: space.add_lwpolyline([(0, 0), (900, 600), (900, 0), (0, 600)], close=True),
            "in the drawing: the sides and arcs cross",
        ),
    ],
)
def test_what_would_have_to_be_guessed_is_a_fault(tmp_path: Path, drawn: Draw, what: str) -> None:
    draw(tmp_path, drawn)
    assert what in fault(tmp_path)


def test_the_drawing_stays_beside_the_case(tmp_path: Path) -> None:
    folder = tmp_path / "cases"
    (folder / "drawings").mkdir(parents=True)
    draw(tmp_path, lambda space: space.add_circle((500, 500), 500))
    for name in ("../outline.dxf", str(tmp_path / "outline.dxf"), "..\\outline.dxf", "c:outline.dxf"):
        assert "must lie beside the case" in fault(folder, file=name)
    (folder / "outline.dxf").symlink_to(tmp_path / "outline.dxf")
    assert "a link to elsewhere is not followed" in fault(folder)
    draw(folder / "drawings", lambda space: space.add_circle((500, 500), 500))
    assert area(folder, file="drawings/outline.dxf") > 0.7
    assert "no such drawing" in fault(folder, file="other.dxf")
    assert "this kind of drawing" in fault(folder, file="outline.svg")
    assert "cannot be used here" in fault(None)


@pytest.mark.parametrize(
    "content",
    [b"", b"garbage\n\x00\x01" * 50, b"0\nSECTION\n2\nENTITIES\n0\nLINE\n10\nxx\n0\nEOF\n", b"AutoCAD Binary DXF\r\n"],
)
def test_a_broken_drawing_is_a_fault(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "outline.dxf").write_bytes(content)
    fault(tmp_path)


def test_a_huge_drawing_is_refused(tmp_path: Path) -> None:
    (tmp_path / "outline.dxf").write_bytes(b"0\n" * 2_500_001)
    assert "too large" in fault(tmp_path)


def test_a_case_file_finds_the_drawing_in_its_own_folder(tmp_path: Path) -> None:
    draw(tmp_path, lambda space: space.add_circle((20, 20), 20), INCH)
    (tmp_path / "table.toml").write_text(
        """
        case = 1
        title = "Round table, drawn"
        units = "us"
        slab = { thickness = 1.5, outline = { file = "outline.dxf" } }
        concrete = { density = 145, compressive_strength = 6000 }
        [[stage]]
        name = "use"
        age = 28
        up = "show"
        [[stage.support]]
        kind = "point"
        at = [20, 20]
        size = 10
        action = "clamp"
        """,
        encoding="utf-8",
    )
    assert load_case(tmp_path / "table.toml").slab.outline.diameter == 1.016  # type: ignore[union-attr]  # a circle

"""The table of common reinforcement: complete, consistent in itself, and the sizes that standards print."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path

import pytest

from api.case_values import Reading
from api.steel.grammar import OwnSteel
from api.steel.table import reinforcement
from fem.steel.model import Steel

INCH = 0.0254
TABLE = Path(__file__).parents[1] / "api" / "steel" / "table.toml"


# ASTM A951 (70 and 80 ksi; 9 gauge 0.148 in, 3/16 in), ASTM A1064 table 1 (W1.4 0.134 in, 0.014 in2; W2.9 0.192,
# 0.029), ASTM A615 (No. 3: 0.375 in, 0.11 in2, 0.376 lb/ft).
@pytest.mark.parametrize(
    ("name", "diameter", "area", "ksi"),
    [
        ("9 gauge wire", 0.148, 0.0172, 70),
        ("3/16 in wire", 0.1875, 0.0276, 70),
        ("4x4 W1.4 mesh", 0.134, 0.014, 65),
        ("6x6 W2.9 mesh", 0.192, 0.029, 65),
        ("No. 3 bar", 0.375, 0.11, 60),
        ("9 gauge stainless ladder 2 in", 0.148, 0.0172, 45),
    ],
)
def test_sizes_of_the_standards(name: str, diameter: float, area: float, ksi: float) -> None:
    steel = reinforcement()[name]
    assert steel.diameter / INCH == pytest.approx(diameter)
    assert steel.area / INCH**2 == pytest.approx(area)
    assert steel.yield_strength / 6.894757e6 == pytest.approx(ksi, rel=1e-6)


# ASTM A615: 0.376 lb/ft.
def test_mass_of_a_number_3_bar() -> None:
    assert reinforcement()["No. 3 bar"].mass / 0.45359237 * 0.3048 == pytest.approx(0.376, rel=5e-3)


# 4x4 W1.4 has 0.042 in2 a foot each way, as printed beside the style.
def test_style_of_a_mesh() -> None:
    mesh = reinforcement()["4x4 W1.4 mesh"]
    apart = (mesh.width - mesh.diameter) / (mesh.wires - 1)
    assert mesh.area / apart * 12 / INCH == pytest.approx(0.042)
    assert mesh.cross_pitch == pytest.approx(apart)


@pytest.mark.parametrize("steel", reinforcement().values(), ids=lambda steel: steel.name)
def test_every_entry_agrees_with_itself(steel: Steel) -> None:
    assert steel.source
    assert steel.area == pytest.approx(math.pi / 4 * steel.diameter**2, rel=0.03)
    assert steel.outside >= steel.diameter
    assert steel.ultimate_strength >= steel.yield_strength
    assert steel.brittle == (steel.kind == "grid" or "glass" in steel.name)
    assert (steel.weld > 0) == (steel.cross_pitch > 0) == (steel.cross_area > 0)
    assert (steel.width > 0) == (steel.wires > 1)
    assert steel.mass > 0
    assert 0.0015 < steel.yield_strength / steel.modulus < 0.03


def test_kinds_of_the_trade_are_all_there() -> None:
    assert {steel.kind for steel in reinforcement().values()} == {"wire", "ladder", "mesh", "bar", "grid"}
    assert not reinforcement()["glass scrim, knotted"].tested


def test_an_entry_can_be_copied_into_a_case() -> None:
    """Every key of an entry but its source is a key of [[steel.own]], and reads as the same size there."""
    for entry in tomllib.loads(TABLE.read_text())["steel"]:
        own = OwnSteel.model_validate(
            {key: value for key, value in entry.items() if key != "source"}, context=Reading("us")
        )
        assert own.diameter == reinforcement()[entry["name"]].diameter


def test_nobody_can_change_it() -> None:
    with pytest.raises(TypeError):
        reinforcement()["new"] = reinforcement()["No. 3 bar"]  # type: ignore[index]

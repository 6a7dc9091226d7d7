"""The maps' colour scale, measured: even, monotone in lightness, readable in grey and by colour-blind readers."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from api.map_scale import LIGHTNESS, SCALE_END, color_at, lab_to_srgb, scale_colors, scale_lab

FloatArray = npt.NDArray[np.float64]

# Linear sRGB to XYZ (D65), IEC 61966-2-1.
TO_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)

# Linear sRGB to OKLab: B. Ottosson, A perceptual color space for image processing (2020); as several
# public implementations print it; checked below on white.
OKLAB_CONES = np.array(
    [
        [0.4122214708, 0.5363325363, 0.0514459929],
        [0.2119034982, 0.6806995451, 0.1073969566],
        [0.0883024619, 0.2817188376, 0.6299787005],
    ]
)
OKLAB = np.array(
    [
        [0.2104542553, 0.7936177850, -0.0040720468],
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)

# Machado, Oliveira & Fernandes, A physiologically-based model for simulation of color vision deficiency,
# IEEE TVCG 15 (2009), severity 1.0, on linear sRGB; as several public
# implementations print it; checked below: grey stays grey.
DICHROMATS = {
    "protanope": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deuteranope": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "tritanope": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
    ),
}


def linear(colors: npt.NDArray[np.uint8]) -> FloatArray:
    c = colors / 255
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def lightness(lin: FloatArray) -> FloatArray:
    """CIE L* of linear sRGB."""
    y = np.clip(lin, 0, 1) @ TO_XYZ[1]
    return np.asarray(np.where(y > (6 / 29) ** 3, 116 * np.cbrt(y) - 16, y * (29 / 3) ** 3))


def oklab(lin: FloatArray) -> FloatArray:
    return np.asarray(np.cbrt(np.clip(lin, 0, 1) @ OKLAB_CONES.T) @ OKLAB.T)


def steps(count: int = 16) -> npt.NDArray[np.uint8]:
    return color_at(np.linspace(0, SCALE_END, count))


def test_the_yardsticks_themselves() -> None:
    white = np.ones((1, 3))
    assert oklab(white)[0] == pytest.approx([1, 0, 0], abs=1e-4)
    assert lightness(white)[0] == pytest.approx(100, abs=1e-3)
    for seen in DICHROMATS.values():
        assert seen.sum(axis=1) == pytest.approx(1, abs=2e-6)


def test_a_known_color_converts() -> None:
    # sRGB red is L* = 53.24, a* = 80.09, b* = 67.20 under D65: published in many colour references, from memory.
    assert lab_to_srgb(np.array([53.24, 80.09, 67.20])) == pytest.approx([1, 0, 0], abs=3e-3)


def test_lightness_falls_in_equal_steps() -> None:
    fall = -np.diff(lightness(linear(steps())))
    wanted = (LIGHTNESS[0] - LIGHTNESS[1]) / 15
    # 8 bits a channel: half a level of each is about 0.25 in L*.
    assert fall == pytest.approx(wanted, abs=0.5)


def test_steps_look_alike() -> None:
    length = np.linalg.norm(np.diff(oklab(linear(steps())), axis=0), axis=1)
    assert length.max() / length.min() < 1.2


def test_no_color_had_to_be_clipped() -> None:
    lab = scale_lab(np.linspace(0, SCALE_END, 200))
    back = lightness(linear(np.asarray(np.round(255 * lab_to_srgb(lab)), dtype=np.uint8)))
    assert back == pytest.approx(lab[:, 0], abs=0.4)


@pytest.mark.parametrize("reader", DICHROMATS)
def test_colour_blind_readers_see_the_same_order(reader: str) -> None:
    seen = np.clip(linear(steps()) @ DICHROMATS[reader].T, 0, 1)
    assert np.all(np.diff(lightness(seen)) < -2.0)
    distance = np.linalg.norm(np.diff(oklab(seen), axis=0), axis=1)
    # About 0.02 in OKLab is a difference that one sees side by side.
    assert distance.min() > 0.02
    assert distance.max() / distance.min() < 2.0


def test_above_the_end_the_last_color_stays() -> None:
    assert color_at([SCALE_END, 2.0, 9.0]).tolist() == [scale_colors()[-1].tolist()] * 3
    assert color_at(-0.1).tolist() == scale_colors()[0].tolist()


def test_nothing_pulled_is_not_paper_white() -> None:
    assert scale_colors()[0].min() < 240

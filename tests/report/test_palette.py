"""The palette can be read by everybody: contrast by formula, colour blindness by simulation.

Contrast: relative luminance and ratio of the Web Content Accessibility Guidelines 2.1 (W3C 2018).
Colour blindness: matrices for full severity of Machado, Oliveira & Fernandes, A physiologically-
based model for simulation of color vision deficiency, IEEE TVCG 15 (2009) 1291–1298, in linear
light. Distance: CIE 1976 in L*a*b*, white D65.
"""

from itertools import combinations

import numpy as np
import pytest

from tapmark.report.drawing import palette

MATRICES = {
    "all cones": np.eye(3),
    "no red cones": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "no green cones": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "no blue cones": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
TO_XYZ = np.array(  # IEC 61966-2-1
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)
D65 = np.array([0.95047, 1.0, 1.08883])


def linear(colour: str) -> np.ndarray:
    """Linear light, 0 to 1."""
    value = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def contrast(a: str, b: str) -> float:
    light, dark = sorted((float(TO_XYZ[1] @ linear(each)) for each in (a, b)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def lab(colour: str, seen_by: str) -> np.ndarray:
    xyz = TO_XYZ @ np.clip(MATRICES[seen_by] @ linear(colour), 0, 1) / D65
    f = np.where(xyz > 216 / 24389, np.cbrt(xyz), (24389 / 27 * xyz + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def test_black_on_white_is_the_most_there_can_be() -> None:
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)


@pytest.mark.parametrize("role", palette.OVERLAY, ids=str)
def test_core_and_casing_can_be_told_from_any_picture(role: str) -> None:
    """Core against casing at least 9, so the better of the two is at least 3 on anything."""
    core = contrast(palette.OVERLAY[role].colour, palette.CASING)
    assert core >= 9.0
    for grey in range(0, 256, 5):
        ground = f"#{grey:02X}{grey:02X}{grey:02X}"
        best = max(contrast(palette.OVERLAY[role].colour, ground), contrast(palette.CASING, ground))
        assert best >= 3.0


@pytest.mark.parametrize(
    ("text", "ground", "least"),
    [
        (palette.INK, palette.PAPER, 7.0),
        (palette.INK, palette.SELECTED_ROW, 7.0),
        (palette.MUTED, palette.PAPER, 4.5),
        (palette.MUTED, palette.WHITE, 4.5),
        (palette.MUTED, palette.SELECTED_ROW, 4.5),
        (palette.WHITE, palette.ACCENT, 4.5),
        (palette.WHITE, palette.ACCENT_HOVER, 4.5),
        (palette.ACCENT, palette.PAPER, 4.5),
        (palette.ERROR, palette.PAPER, 4.5),
        (palette.CONTROL_EDGE, palette.WHITE, 3.0),
        (palette.CONTROL_EDGE, palette.PAPER, 3.0),
        (palette.OUTLINE, palette.WHITE, 3.0),
    ],
)
def test_words_and_edges_can_be_read(text: str, ground: str, least: float) -> None:
    assert contrast(text, ground) >= least


@pytest.mark.parametrize("seen_by", MATRICES)
def test_overlay_colours_stay_apart_for_everybody(seen_by: str) -> None:
    colours = [role.colour for role in palette.OVERLAY.values()]
    apart = [
        float(np.linalg.norm(lab(a, seen_by) - lab(b, seen_by)))
        for a, b in combinations(colours, 2)
    ]
    assert min(apart) >= 15.0


def test_no_two_roles_differ_by_colour_alone() -> None:
    marks = [(role.shape, role.dash) for role in palette.OVERLAY.values()]
    assert len(set(marks)) == len(marks)

"""Where the runner runs: evening sky, trees and grass out of focus, a sharp track.

Everything on the ground is laid through one pinhole camera at hip height, 12 m from the
running line, so lanes come closer together with distance as they do in a real picture.
Painted once per camera place; the runner and the shadow come on top.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from PIL import Image, ImageFilter

from tests.drawn_runner.camera import CAMERA_HEIGHT_M, View, rolled
from tests.drawn_runner.curves import Array
from tests.drawn_runner.noise import lumpy_noise, soft_noise
from tests.drawn_runner.relief import Field

CAMERA_AWAY_M = 12.0
LANE_M = 1.22
LINE_M = 0.05
"""Lane width and line width as laid on tracks everywhere (rules of the sport, from memory)."""

TRACK_TO_M = 5.49
POLE_AWAY_M, POLE_HEIGHT_M, POLE_WIDE_M = 5.9, 2.0, 0.05
MARKS_APART_M = 2.0
TAPE_DEEP_M = 0.15
"""The tapes lie across the running line, so far to either side of it. All these places: ours."""
MARGIN = 60
"""Painted so much beyond the picture, so that a rolled camera sees no edge."""


@dataclass(frozen=True)
class Furniture:
    """Pixels of what serves as a reference: pole foot and top, and the two scale marks."""

    pole_foot: tuple[float, float]
    pole_top: tuple[float, float]
    marks: tuple[tuple[float, float], tuple[float, float]]


def ground_y(view: View, away: Array | float) -> Array | float:
    """Picture height of a line on the ground, `away` m behind the running line (level px)."""
    per_m = view.px_per_m * CAMERA_AWAY_M / (CAMERA_AWAY_M + away)
    return view.horizon_y + per_m * CAMERA_HEIGHT_M


def ground_away(view: View, y: Array) -> Array:
    """The opposite: metres behind the running line for a picture height below the horizon."""
    below = np.maximum(y - view.horizon_y, 1.0)
    return view.px_per_m * CAMERA_AWAY_M * CAMERA_HEIGHT_M / below - CAMERA_AWAY_M


def furniture(view: View) -> Furniture:
    """Where pole and marks stand in the picture (px), the camera's roll included."""
    scale = view.px_per_m * CAMERA_AWAY_M / (CAMERA_AWAY_M + POLE_AWAY_M)
    foot_y = float(ground_y(view, POLE_AWAY_M))
    x = round(view.width * POLE_PLACE) + 0.5
    half = view.px_per_m * MARKS_APART_M / 2
    left, right = view.width / 2 - half, view.width / 2 + half
    level = [(x, foot_y), (x, foot_y - scale * POLE_HEIGHT_M)]
    level += [(left, view.ground_y), (right, view.ground_y)]
    foot, top, first, second = ((float(u), float(v)) for u, v in rolled(view, np.array(level)))
    return Furniture(foot, top, (first, second))


POLE_PLACE = 0.925
"""Ours. Across the picture: out of the runner's way."""


@lru_cache(maxsize=4)
def surroundings(view: View, seed: int) -> Field:
    """The level scene, MARGIN px larger on every side, shape (H, W, 3), 0 to 1."""
    width, height = view.width + 2 * MARGIN, view.height + 2 * MARGIN
    rows = np.arange(height, dtype=np.float64) + 0.5 - MARGIN
    scene = _sky(view, seed, width, rows)
    scene = _trees(view, seed, scene, rows)
    scene = _grass(view, seed, scene, rows)
    scene = _out_of_focus(scene)
    scene = _track(view, seed, scene, rows)
    _marks(view, scene)
    _pole(view, scene)
    return _vignetted(scene)


def _mix(a: Field, b: Array | Field, share: Array | Field) -> Field:
    """a where share is 0, b where it is 1; share of shape (H, W) or (H, 1)."""
    mixed: Field = (a + (b - a) * share[..., None]).astype(np.float32)
    return mixed


def _colour(*rgb: int) -> Array:
    return np.array(rgb) / 255.0


def _sky(view: View, seed: int, width: int, rows: Array) -> Field:
    """Blue above, warm towards the horizon, thin clouds lying flat."""
    down = np.clip(rows / view.horizon_y, 0, 1)[:, None]
    plain = np.broadcast_to(down, (len(rows), width))
    scene = _mix(
        np.full((len(rows), width, 3), _colour(118, 160, 198), np.float32),
        _colour(236, 224, 204),
        plain**1.3,
    )
    clouds = lumpy_noise(seed, width, len(rows), (420.0, 70.0))
    veil = np.clip(0.45 * clouds - 0.05, 0, 0.8) * np.clip(1.15 - plain, 0, 1)
    return _mix(scene, _colour(250, 240, 226), veil)


def _trees(view: View, seed: int, scene: Field, rows: Array) -> Field:
    """A far blue ridge and a nearer row of crowns."""
    width = scene.shape[1]
    for far, colour, top, rough, cell in (
        (True, _colour(142, 160, 160), 88.0, 7.0, 240.0),
        (False, _colour(74, 98, 70), 46.0, 13.0, 62.0),
    ):
        line = soft_noise(seed + 11 + far, width, 4, (cell, 4.0))[0]
        line = line + (0.0 if far else 0.35) * soft_noise(seed + 13, width, 4, (17.0, 4.0))[0]
        edge = view.horizon_y - top - rough * line
        inside = np.clip((rows[:, None] - edge[None]) / 3 + 0.5, 0, 1)
        leaves = lumpy_noise(seed + 17 + far, width, len(rows), (46.0, 34.0))
        deep = np.clip((rows[:, None] - edge[None]) / (2.0 * top), 0, 1)
        strength = 0.03 if far else 0.11
        tone = 1.12 - 0.5 * deep * (not far) + strength * leaves
        scene = _mix(scene, colour * tone[..., None], inside)
    return scene


def _grass(view: View, seed: int, scene: Field, rows: Array) -> Field:
    """The infield, mown in stripes that lie along the track."""
    start = ground_y(view, 60.0)
    inside = np.clip(rows - start + 0.5, 0, 1)[:, None] * np.ones((1, scene.shape[1]))
    away = ground_away(view, rows)
    mown = 0.04 * np.tanh(4 * np.sin(2 * np.pi * away / 7.0)) * np.exp(-away / 60)
    blades = soft_noise(seed + 31, scene.shape[1], len(rows), (26.0, 3.0))
    tone = 1 + mown[:, None] + 0.035 * blades
    warm = np.clip((rows - start) / (ground_y(view, TRACK_TO_M) - start), 0, 1)[:, None, None]
    colour = _colour(138, 156, 92) * (1 - warm) + _colour(98, 136, 66) * warm
    return _mix(scene, colour * tone[..., None], inside)


def _out_of_focus(scene: Field) -> Field:
    picture = Image.fromarray((np.clip(scene, 0, 1) * 255).astype(np.uint8))
    soft = picture.filter(ImageFilter.GaussianBlur(3.6))
    return np.asarray(soft, np.float32) / np.float32(255)


def _track(view: View, seed: int, scene: Field, rows: Array) -> Field:
    """Rubber with its grain, lanes between white lines, sharp."""
    fine = (rows[:, None] + (np.arange(8) - 3.5) / 8).ravel()
    away = ground_away(view, fine)
    on_track = ((away < TRACK_TO_M) & (fine > view.horizon_y)).reshape(-1, 8).mean(1)
    from_line = np.abs((away + LANE_M / 2 + LANE_M / 2) % LANE_M - LANE_M / 2)
    on_line = ((from_line < LINE_M / 2) & (away < TRACK_TO_M + LINE_M)).reshape(-1, 8).mean(1)
    width = scene.shape[1]
    grain = 0.035 * soft_noise(seed + 41, width, len(rows), (2.2, 1.6))
    worn = 0.030 * lumpy_noise(seed + 43, width, len(rows), (300.0, 16.0))
    near = np.clip((rows - ground_y(view, TRACK_TO_M)) / 230, 0, 1)[:, None, None]
    colour = _colour(176, 92, 70) * (1 - near) + _colour(158, 76, 58) * near
    rubber = colour * (1 + grain + worn)[..., None]
    ones = np.ones((1, width))
    scene = _mix(scene, rubber, on_track[:, None] * ones)
    white = _colour(238, 232, 222) * (1 + 0.5 * grain)[..., None]
    return _mix(scene, white, (0.94 * on_line * on_track)[:, None] * ones)


def _marks(view: View, scene: Field) -> None:
    """Two white tapes with a black middle, flat on the running line, 2.00 m apart."""
    for x, _ in furniture(view).marks:
        _lay_tape(view, scene, x, 0.080, TAPE_DEEP_M, _colour(246, 244, 238))
        _lay_tape(view, scene, x, 0.011, TAPE_DEEP_M, _colour(26, 28, 32))


def _lay_tape(view: View, scene: Field, x: float, half: float, deep: float, colour: Array) -> None:
    top, bottom = float(ground_y(view, deep)), float(ground_y(view, -deep))
    rows = np.arange(scene.shape[0]) + 0.5 - MARGIN
    columns = np.arange(scene.shape[1]) + 0.5 - MARGIN
    down = np.clip(rows - top + 0.5, 0, 1) * np.clip(bottom - rows + 0.5, 0, 1)
    reach = half * view.px_per_m
    across = np.clip(reach - np.abs(columns - x) + 0.5, 0, 1)
    cover = np.outer(down, across)
    scene[:] = _mix(scene, colour, cover)


def _pole(view: View, scene: Field) -> None:
    """A ranging pole, red and white every 20 cm, round in the light, exactly vertical."""
    place = furniture(view)
    (x, foot), (_, top) = place.pole_foot, place.pole_top
    half = 0.5 * POLE_WIDE_M * view.px_per_m * CAMERA_AWAY_M / (CAMERA_AWAY_M + POLE_AWAY_M)
    rows = np.arange(scene.shape[0])[:, None] + 0.5 - MARGIN
    columns = np.arange(scene.shape[1])[None] + 0.5 - MARGIN
    side = (columns - x) / half
    cover = np.clip(half - np.abs(columns - x) + 0.5, 0, 1)
    cover = cover * np.clip(rows - top + 0.5, 0, 1) * np.clip(foot - rows + 0.5, 0, 1)
    band = (foot - rows) / (foot - top) * POLE_HEIGHT_M / 0.2
    red = np.clip((np.abs((band + 0.5) % 2 - 1.0) - 0.5) * half * 4 + 0.5, 0, 1)[..., None]
    paint = _colour(196, 52, 44) * red + _colour(240, 238, 232) * (1 - red)
    round_light = np.clip(0.86 + 0.22 * side - 0.35 * side**2, 0.4, 1.1)[..., None]
    scene[:] = _mix(scene, paint * round_light, cover)


def _vignetted(scene: Field) -> Field:
    """A lens gives a little less light in the corners."""
    height, width = scene.shape[:2]
    y = (np.arange(height) / height - 0.5)[:, None]
    x = (np.arange(width) / width - 0.5)[None]
    fall: Field = (1.02 - 0.22 * (x**2 + y**2)).astype(np.float32)
    return np.clip(scene * fall[..., None], 0, 1)

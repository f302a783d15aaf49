"""The runner's shadow on the ground: soft far from the shoe, dark under it."""

from collections.abc import Mapping

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from tests.drawn_runner.camera import View
from tests.drawn_runner.curves import Array
from tests.drawn_runner.relief import Field, Patch
from tests.drawn_runner.surroundings import ground_away, ground_y

PER_M = 110
"""Grid of the shadow seen from above, px per metre."""
BACK, SIDEWAYS = 0.55, 0.62
"""A point one metre up throws its shadow so far behind the running line and to the left."""

LIMBS = (
    ("far shoulder", "far elbow", 0.040),
    ("far elbow", "far wrist", 0.032),
    ("shoulder", "elbow", 0.040),
    ("elbow", "near wrist", 0.032),
    ("hip", "near knee", 0.070),
    ("near knee", "near ankle", 0.048),
    ("hip", "far knee", 0.070),
    ("far knee", "far ankle", 0.048),
    ("hip", "neck base", 0.090),
    ("near heel", "near toe", 0.034),
    ("far heel", "far toe", 0.034),
    ("neck base", "top of the head", 0.075),
)
"""What throws the shadow: from, to, half as wide (m)."""


def shadow(view: View, joints: Mapping[str, Array]) -> tuple[Patch, Field]:
    """How dark the ground is, 0 to 1, on a patch of the level picture.

    joints: points in metres of one instant, each of shape (3,).
    """
    seen = {**joints, "top of the head": joints["neck base"] + np.array([0.05, 0.27, 0.0])}
    patch = _patch(view)
    rows = np.arange(float(patch.height)) + patch.y + 0.5
    columns = np.arange(float(patch.width)) + patch.x + 0.5
    away = ground_away(view, rows)
    per_m = (rows - view.horizon_y)[:, None]
    right = (columns[None] - view.width / 2) / per_m
    soft = _looked_up(_from_above(view, seen, 0.03, 1.0), right, away)
    touch = _looked_up(_contact(view, seen), right, away)
    return patch, np.clip(0.46 * soft + 0.55 * touch, 0, 0.82)


FROM_M, TO_M, LEFT_M, RIGHT_M = -0.6, 1.6, -3.4, 2.8


def _patch(view: View) -> Patch:
    top, bottom = int(ground_y(view, TO_M - 0.1)), int(ground_y(view, FROM_M + 0.1))
    return Patch(0, top, view.width, bottom - top)


def _above(view: View, point: Array) -> tuple[float, float]:
    """Where the shadow of a point falls, in px of the grid seen from above."""
    right = view.direction * (point[0] - view.centre_m) - SIDEWAYS * point[1]
    away = point[2] + BACK * point[1]
    return (right - LEFT_M) * PER_M, (away - FROM_M) * PER_M


def _blank() -> Image.Image:
    return Image.new("L", (int((RIGHT_M - LEFT_M) * PER_M), int((TO_M - FROM_M) * PER_M)))


def _from_above(view: View, joints: Mapping[str, Array], blur_m: float, dark: float) -> Field:
    """Every limb as a thick line on the ground, softened."""
    sheet = _blank()
    draw = ImageDraw.Draw(sheet)
    for start, end, half in LIMBS:
        a, b = _above(view, joints[start]), _above(view, joints[end])
        wide = half * PER_M
        draw.line([a, b], fill=255, width=max(1, round(2 * wide)))
        for x, y in (a, b):
            draw.ellipse((x - wide, y - wide, x + wide, y + wide), fill=255)
    soft = sheet.filter(ImageFilter.GaussianBlur(blur_m * PER_M))
    return np.asarray(soft, np.float32) * np.float32(dark / 255)


def _contact(view: View, joints: Mapping[str, Array]) -> Field:
    """The dark just under each shoe, fading within a few centimetres of height."""
    total = np.asarray(_blank(), np.float32)
    for side in ("near", "far"):
        heel, toe = joints[f"{side} heel"], joints[f"{side} toe"]
        ball = joints[f"{side} ball"]
        sheet = _blank()
        for start, end in ((heel, ball), (ball, toe)):
            low = float(np.exp(-(start[1] + end[1]) / 2 / 0.035))
            flat = np.array([1.0, 0.0, 1.0])
            a, b = _above(view, start * flat), _above(view, end * flat)
            ImageDraw.Draw(sheet).line([a, b], fill=round(255 * low), width=9)
        soft = sheet.filter(ImageFilter.GaussianBlur(0.016 * PER_M))
        total = np.maximum(total, np.asarray(soft, np.float32) / 255)
    return total


def _looked_up(sheet: Field, right: Array, away: Array) -> Field:
    """The grid seen from above, read at the places the picture's pixels look at."""
    u = np.clip((right - LEFT_M) * PER_M - 0.5, 0, sheet.shape[1] - 2)
    v = np.clip((away - FROM_M) * PER_M - 0.5, 0, sheet.shape[0] - 2)[:, None]
    x, y = u.astype(np.int32), v.astype(np.int32)
    fx, fy = (u - x).astype(np.float32), (v - y).astype(np.float32)
    near = sheet[y, x] * (1 - fx) + sheet[y, x + 1] * fx
    far = sheet[y + 1, x] * (1 - fx) + sheet[y + 1, x + 1] * fx
    read: Field = near * (1 - fy) + far * fy
    return read

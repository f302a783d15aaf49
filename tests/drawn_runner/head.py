"""The painted head: neck, profile, hair and ear, nodding a little with the trunk."""

from collections.abc import Sequence

import numpy as np
from PIL import ImageChops

from tests.drawn_runner import flesh
from tests.drawn_runner.curves import Array
from tests.drawn_runner.layers import Figure, lay_parts
from tests.drawn_runner.looks import Look, tint
from tests.drawn_runner.outline import as_field, domed, filled, patch_of, smooth_outline
from tests.drawn_runner.pose import Pose
from tests.drawn_runner.relief import Field, Patch, light, reduced

FINE = 4


def paint_head(figure: Figure, pose: Pose, look: Look) -> None:
    """Lay neck, tied hair and head."""
    frame = _Frame(pose)
    neck = pose.part(frame.px((-0.02, -0.28)), pose.at("neck base"), flesh.NECK)
    lay_parts(figure, [neck], tint(look.skin, 0.93), 1.0, shade=0.25)
    if look.hair_tied:
        _tied_hair(figure, pose, frame, look)
    patch = patch_of(frame.outline(flesh.HAIR), FINE, 14)
    patch = _grown(patch, patch_of(frame.outline(flesh.HEAD), FINE, 14))
    colour, cover = _head_colours(frame, patch, look)
    figure.lay(patch, colour / np.maximum(cover, 1e-3)[..., None], cover)


def head_outlines(pose: Pose) -> tuple[Array, Array]:
    """Return the outlines of face and hair in picture px, a tied tail left out."""
    frame = _Frame(pose)
    return frame.outline(flesh.HEAD), frame.outline(flesh.HAIR)


class _Frame:
    """Head heights (forward, up from the middle of the head) to picture px."""

    def __init__(self, pose: Pose) -> None:
        neck, hip = pose.points["neck base"], pose.points["hip"]
        trunk = (neck - hip) / np.hypot(*(neck - hip))
        upright = np.array([0.0, -1.0])
        self.up = 0.5 * trunk + 0.5 * upright
        self.up /= np.hypot(*self.up)
        self.ahead = np.array([-self.up[1], self.up[0]]) * pose.facing
        forward, above = flesh.HEAD_CENTRE
        self.middle = neck + pose.height * (forward * self.ahead + above * self.up)
        self.size = flesh.HEAD_HEIGHT * pose.height

    def outline(self, corners: Sequence[tuple[float, float]]) -> Array:
        local = smooth_outline(corners)
        placed: Array = self.middle + self.size * (
            local[:, :1] * self.ahead + local[:, 1:] * self.up
        )
        return placed

    def px(self, at: tuple[float, float]) -> tuple[float, float]:
        x, y = self.middle + self.size * (at[0] * self.ahead + at[1] * self.up)
        return float(x), float(y)


def _grown(a: Patch, b: Patch) -> Patch:
    """The smallest patch around both."""
    left, top = min(a.x, b.x), min(a.y, b.y)
    right = max(a.x + a.width, b.x + b.width)
    bottom = max(a.y + a.height, b.y + b.height)
    return Patch(left, top, right - left, bottom - top, a.fine)


def _tied_hair(figure: Figure, pose: Pose, frame: _Frame, look: Look) -> None:
    """A tail in two bends that swings with the shoulders."""
    shoulders = pose.points["shoulder"] - pose.points["far shoulder"]
    swing = 2.0 * float(shoulders[0]) * pose.facing / pose.height
    root, bend = frame.px((-0.43, 0.24)), frame.px((-0.66, 0.17 + 0.3 * swing))
    end = frame.px((-0.92, -0.16 + swing))
    tail = [pose.part(root, bend, flesh.TAIL_ROOT), pose.part(bend, end, flesh.TAIL_END)]
    lay_parts(figure, tail, tint(look.hair), 0.012 * pose.height, gloss=0.1)


def _head_colours(frame: _Frame, patch: Patch, look: Look) -> tuple[Field, Field]:
    """Colour times cover, and cover, on picture pixels."""
    face, hair = filled(frame.outline(flesh.HEAD), patch), filled(frame.outline(flesh.HAIR), patch)
    whole = ImageChops.lighter(face, hair)
    thick = 0.30 * frame.size
    lit = light(domed(whole, patch, thick))
    paint = lit * tint(look.skin)
    for corners, colour in _features(look):
        on = as_field(filled(frame.outline(corners), patch))[..., None]
        paint = paint * (1 - on) + lit * colour * on
    on = as_field(hair)[..., None]
    paint = paint * (1 - on) + light(domed(whole, patch, thick), 0.2) * tint(look.hair) * on
    ear = filled(frame.outline(flesh.EAR), patch)
    on = as_field(ear)[..., None]
    paint = paint * (1 - on) + light(domed(ear, patch, 2.5)) * tint(look.skin, 0.95) * on
    cover = as_field(whole)
    return reduced(paint * cover[..., None], FINE), reduced(cover, FINE)


def _features(look: Look) -> list[tuple[Sequence[tuple[float, float]], Field]]:
    """Brow, eye, mouth and the shade under the jaw: outlines with their colour."""
    dark = tint(look.hair) * 0.6 + tint(look.skin) * 0.15
    return [
        (flesh.BROW, dark),
        (flesh.EYE, dark * 0.7),
        (flesh.MOUTH, tint(look.skin, 0.62)),
        (flesh.NOSTRIL, tint(look.skin, 0.66)),
    ]

"""The painted shoe: an outline bent at the ball, a sole below it, smeared when it swings."""

from dataclasses import dataclass

import numpy as np

from tests.drawn_runner import flesh
from tests.drawn_runner.curves import Array
from tests.drawn_runner.layers import Figure
from tests.drawn_runner.looks import Look, tint
from tests.drawn_runner.outline import as_field, domed, filled, patch_of, smooth_outline
from tests.drawn_runner.relief import Field, Patch, light, reduced

FINE = 4


@dataclass(frozen=True)
class Foot:
    """Points of one foot in px, each of shape (2,)."""

    ankle: Array
    heel: Array
    ball: Array
    toe: Array


def paint_shoe(
    figure: Figure, foot: Foot, facing: int, look: Look, brightness: float, smear: Array
) -> None:
    """Lay one shoe; it is spread over `smear` px while the shutter is open."""
    upper = _on_foot(smooth_outline(flesh.SHOE_UPPER), foot, facing)
    sole = _on_foot(smooth_outline(flesh.SHOE_SOLE), foot, facing)
    reach = 12.0 + float(np.hypot(*smear))
    patch = patch_of(np.concatenate([upper, sole]), FINE, reach)
    colour, cover = _shoe_colours(patch, upper, sole, look, brightness)
    cover, colour = _smeared(cover, colour, smear)
    figure.lay(patch, colour / np.maximum(cover, 1e-3)[..., None], cover)


def _on_foot(outline: Array, foot: Foot, facing: int) -> Array:
    """Shoe coordinates to px: behind the ball along heel and ball, ahead of it ball and toe."""
    scale = float(np.hypot(*(foot.ball - foot.heel))) / (0.040 + 0.070)
    bent = outline[:, 0] > 0.070
    rear = (foot.ball - foot.heel) / np.hypot(*(foot.ball - foot.heel))
    front = (foot.toe - foot.ball) / np.hypot(*(foot.toe - foot.ball))
    along = np.where(bent[:, None], front, rear)
    up = np.stack([along[:, 1], -along[:, 0]], axis=-1) * facing
    past = (outline[:, :1] - 0.070) * scale
    placed: Array = foot.ball + past * along + outline[:, 1:] * scale * up
    return placed


def _shoe_colours(
    patch: Patch, upper: Array, sole: Array, look: Look, brightness: float
) -> tuple[Field, Field]:
    """Colour times cover, and cover, on picture pixels."""
    mask, sole_mask = filled(upper, patch), filled(sole, patch)
    body = light(domed(mask, patch, 7.0), gloss=0.12) * tint(look.shoe)
    rim = light(domed(sole_mask, patch, 3.0)) * tint(look.sole)
    on_upper, on_sole = as_field(mask)[..., None], as_field(sole_mask)[..., None]
    whole = on_sole + on_upper * (1 - on_sole)
    paint = rim * on_sole + body * on_upper * (1 - on_sole)
    dark = np.float32(brightness)
    return reduced(paint * dark, FINE), reduced(whole, FINE)[..., 0]


def _smeared(cover: Field, colour: Field, smear: Array) -> tuple[Field, Field]:
    """The average of the shoe at several places along its way (whole picture pixels)."""
    steps = int(np.ceil(np.hypot(*smear)))
    if steps < 1:
        return cover, colour
    shifts = [np.rint(smear * share).astype(int) for share in np.linspace(-0.5, 0.5, steps + 1)]
    both = np.concatenate([colour, cover[..., None]], axis=-1)
    mean = np.mean([np.roll(both, (dy, dx), (0, 1)) for dx, dy in shifts], axis=0)
    return mean[..., 3].astype(np.float32), mean[..., :3].astype(np.float32)

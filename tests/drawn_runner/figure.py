"""The painted runner: body parts over bones, far ones first."""

import numpy as np

from tests.drawn_runner import flesh
from tests.drawn_runner.head import paint_head
from tests.drawn_runner.layers import Figure, lay_parts
from tests.drawn_runner.looks import Look, tint
from tests.drawn_runner.pose import Pose
from tests.drawn_runner.relief import Field, Hill, coverage, hill, light, patch_around
from tests.drawn_runner.shoe import Foot, paint_shoe

FAR_BRIGHTNESS = 0.64
"""Far limbs are painted this much darker than near ones."""

HIP_OF = {"near": "hip", "far": "far hip"}


def paint_figure(figure: Figure, pose: Pose, look: Look) -> None:
    """Lay the whole runner, far parts first."""
    _arm(figure, pose, look, "far ", FAR_BRIGHTNESS)
    _leg(figure, pose, look, "far", FAR_BRIGHTNESS)
    _shorts(figure, pose, look, "far", FAR_BRIGHTNESS)
    _trunk(figure, pose, look)
    paint_head(figure, pose, look)
    _leg(figure, pose, look, "near", 1.0)
    _shorts(figure, pose, look, "near", 1.0)
    _arm(figure, pose, look, "", 1.0)


def _leg(figure: Figure, pose: Pose, look: Look, side: str, brightness: float) -> None:
    hip, knee, ankle = pose.at(HIP_OF[side]), pose.at(f"{side} knee"), pose.at(f"{side} ankle")
    thigh = pose.part(hip, knee, flesh.THIGH)
    shank = pose.part(knee, ankle, flesh.SHANK)
    lay_parts(figure, [thigh, shank], tint(look.skin, brightness), 0.022 * pose.height)
    sock = pose.rising_part(
        ankle, pose.between(f"{side} knee", f"{side} ankle", 0.85), flesh.SOCK, flat=True
    )
    lay_parts(figure, [sock], tint(look.sock, brightness), 1.0, shade=0.2, gloss=0.0)
    foot = Foot(*(pose.points[f"{side} {name}"] for name in ("ankle", "heel", "ball", "toe")))
    paint_shoe(figure, foot, pose.facing, look, brightness, pose.smear[side])


def _shorts(figure: Figure, pose: Pose, look: Look, side: str, brightness: float) -> None:
    hem = pose.between(HIP_OF[side], f"{side} knee", 0.46)
    parts = [pose.part(pose.at(HIP_OF[side]), hem, flesh.SHORTS_LEG, flat=True)]
    if side == "near":
        waist = pose.between("hip", "neck base", 0.25)
        parts.append(pose.rising_part(pose.at("hip"), waist, flesh.SEAT, flat=True))
    lay_parts(figure, parts, tint(look.shorts, brightness), 0.03 * pose.height, gloss=0.02)


def _trunk(figure: Figure, pose: Pose, look: Look) -> None:
    trunk = pose.rising_part(pose.at("hip"), pose.at("neck base"), flesh.TRUNK)
    patch = patch_around([trunk], margin=12)
    shape = hill(trunk, patch.grid())
    colour = _vest_colours(shape, look)
    figure.lay(patch, light(shape, gloss=0.02) * colour, coverage(shape))


def _vest_colours(shape: Hill, look: Look) -> Field:
    """Vest with a band across the chest."""
    band = _stripe(shape.along, 0.58, 0.68)
    colours: Field = tint(look.vest) * (1 - band) + tint(look.band) * band
    return colours


def _stripe(along: Field, start: float, end: float) -> Field:
    rise = np.clip((along - start) * 120, 0.0, 1.0)
    fall = np.clip((end - along) * 120, 0.0, 1.0)
    both: Field = (rise * fall)[..., None]
    return both


def _arm(figure: Figure, pose: Pose, look: Look, side: str, brightness: float) -> None:
    lower = side or "near "
    shoulder, elbow = pose.at(f"{side}shoulder"), pose.at(f"{side}elbow")
    wrist, hand = pose.at(f"{lower}wrist"), pose.at(f"{lower}hand")
    arm = [
        pose.part(shoulder, elbow, flesh.UPPER_ARM),
        pose.part(elbow, wrist, flesh.FOREARM),
        pose.part(wrist, hand, flesh.FIST),
    ]
    lay_parts(figure, arm, tint(look.skin, brightness), 0.014 * pose.height)
    thumb = pose.part(*_thumb(pose, lower), flesh.THUMB)
    lay_parts(figure, [thumb], tint(look.skin, brightness * 1.04), 1.0, shade=0.3)


def _thumb(pose: Pose, side: str) -> tuple[tuple[float, float], tuple[float, float]]:
    """Across the upper side of the fist."""
    wrist, hand = pose.points[f"{side}wrist"], pose.points[f"{side}hand"]
    along = hand - wrist
    up = np.array([along[1], -along[0]]) * pose.facing
    start, end = wrist + 0.45 * along + 0.25 * up, wrist + 1.15 * along + 0.12 * up
    return (float(start[0]), float(start[1])), (float(end[0]), float(end[1]))

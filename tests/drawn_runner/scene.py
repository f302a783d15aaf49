"""A whole picture: surroundings, shadow, runner, lens and sensor.

`draw_step` gives one picture of a style at one instant; the same arguments always give the
same pixels. Blur and grain are those of a phone in slow motion: mild.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from PIL import Image, ImageFilter

from tests.drawn_runner.camera import View, project
from tests.drawn_runner.curves import Array
from tests.drawn_runner.figure import paint_figure
from tests.drawn_runner.layers import Figure
from tests.drawn_runner.looks import Look
from tests.drawn_runner.motion import motion_of
from tests.drawn_runner.pose import Pose
from tests.drawn_runner.relief import Field, Patch
from tests.drawn_runner.shadow import shadow
from tests.drawn_runner.style import Style
from tests.drawn_runner.surroundings import MARGIN, surroundings

LENS_BLUR_PX = 0.55
SHUTTER_S = 1 / 1500


@dataclass(frozen=True)
class Scene:
    """Who runs, how, and how it is filmed. grain: sensor noise, levels of 255 (spread)."""

    style: Style
    look: Look
    view: View
    seed: int = 1
    grain: float = 2.5


def draw_step(scene: Scene, t: float) -> Image.Image:
    """The picture at t seconds after the near foot's touchdown, RGB, width x height px."""
    view = scene.view
    joints = motion_of(scene.style).joints(np.asarray(t))
    ground = surroundings(_still(view), scene.seed).copy()
    _darken(ground, *shadow(view, joints))
    picture = _as_filmed(view, ground)
    figure = Figure.empty(_sheet(view, joints))
    paint_figure(figure, _pose(scene, t), scene.look)
    _lay_figure(picture, figure)
    return _through_the_lens(scene, picture, t)


def draw_clip(scene: Scene, times: Array) -> Iterator[Image.Image]:
    """One picture for each time."""
    for t in times:
        yield draw_step(scene, float(t))


def _still(view: View) -> View:
    """Only what the surroundings depend on, so that a clip paints them once."""
    return View(view.width, view.height, view.px_per_m, view.ground_y)


def _darken(ground: Field, patch: Patch, dark: Field) -> None:
    rows = slice(patch.y + MARGIN, patch.y + MARGIN + patch.height)
    columns = slice(patch.x + MARGIN, patch.x + MARGIN + patch.width)
    ground[rows, columns] *= (1 - dark)[..., None]


def _as_filmed(view: View, ground: Field) -> Field:
    """The level scene turned by the camera's roll and cut to the picture."""
    if not view.roll:
        return ground[MARGIN : MARGIN + view.height, MARGIN : MARGIN + view.width]
    rad = np.radians(view.roll)
    cos, sin = float(np.cos(rad)), float(np.sin(rad))
    x, y = view.width / 2, view.height / 2
    turn = (cos, sin, x - cos * x - sin * y + MARGIN, -sin, cos, y + sin * x - cos * y + MARGIN)
    level = Image.fromarray((ground * 255).astype(np.uint8))
    size = view.width, view.height
    turned = level.transform(size, Image.Transform.AFFINE, turn, Image.Resampling.BICUBIC)
    return np.asarray(turned, np.float32) / np.float32(255)


def _sheet(view: View, joints: dict[str, Array]) -> Patch:
    """The part of the picture that the runner can touch."""
    points = np.array([project(view, joint) for joint in joints.values()])
    room = 0.30 * view.px_per_m
    left, top = np.floor(points.min(0) - room).astype(int)
    right, bottom = np.ceil(points.max(0) + room).astype(int)
    left, top = max(0, int(left)), max(0, int(top))
    right, bottom = min(view.width, int(right)), min(view.height, int(bottom))
    return Patch(left, top, max(1, right - left), max(1, bottom - top))


def _pose(scene: Scene, t: float) -> Pose:
    view, motion = scene.view, motion_of(scene.style)
    shutter = t + SHUTTER_S * np.array([-0.5, 0.0, 0.5])
    places = {name: project(view, at) for name, at in motion.joints(shutter).items()}
    points = {name: at[1] for name, at in places.items()}
    smear = {
        side: places[f"{side} ball"][2] - places[f"{side} ball"][0] for side in ("near", "far")
    }
    return Pose(points, scene.style.height_m * view.px_per_m, view.direction, smear)


def _lay_figure(picture: Field, figure: Figure) -> None:
    sheet = figure.sheet
    rows = slice(sheet.y, sheet.y + sheet.height)
    columns = slice(sheet.x, sheet.x + sheet.width)
    behind = picture[rows, columns] * (1 - figure.alpha)[..., None]
    picture[rows, columns] = behind + figure.colour


def _through_the_lens(scene: Scene, picture: Field, t: float) -> Image.Image:
    """A little blur, then the sensor's grain."""
    sharp = Image.fromarray((np.clip(picture, 0, 1) * 255 + 0.5).astype(np.uint8))
    soft = np.asarray(sharp.filter(ImageFilter.GaussianBlur(LENS_BLUR_PX)), np.float32)
    random = np.random.default_rng([scene.seed, round((t + 1000) * 1e6)])
    noise = _grain(scene.seed, scene.view)
    down, across = random.integers(0, GRAIN_ROOM, 2)
    here = noise[down : down + scene.view.height, across : across + scene.view.width]
    grainy = soft + np.float32(scene.grain) * here[..., None]
    return Image.fromarray(np.clip(grainy + 0.5, 0, 255).astype(np.uint8))


GRAIN_ROOM = 61


@lru_cache(maxsize=2)
def _grain(seed: int, view: View) -> Field:
    """A sheet of noise larger than the picture; each picture looks at another part of it."""
    random = np.random.default_rng([seed, 7])
    size = view.height + GRAIN_ROOM, view.width + GRAIN_ROOM
    return random.standard_normal(size, dtype=np.float32)

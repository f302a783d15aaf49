"""Repeated pictures and bent time, found by plain comparison and nothing else."""

from collections.abc import Callable, Sequence
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from tapmark.clip.changes import background_moves, measure_changes
from tapmark.clip.frames import open_clip
from tapmark.errors import Cancelled
from tapmark.progress import Told
from tests.clip import made
from tests.drawn_runner.camera import View
from tests.drawn_runner.surroundings import surroundings


class Row:
    """Pictures in memory."""

    def __init__(self, pictures: Sequence[Image.Image]) -> None:
        self._pictures = pictures

    def __len__(self) -> int:
        return len(self._pictures)

    def small(self, i: int) -> Image.Image:
        return self._pictures[i]


def walking(places: Sequence[float], noise: float = 2.0, seed: int = 5) -> Row:
    """A block that walks to these places (0…1) across a noisy still picture."""
    dice = np.random.default_rng(seed)
    row = []
    for place in places:
        pixels = np.full((136, 240, 3), 90.0)
        x = 10 + 200 * (place % 1)
        pixels[60:90, round(x) : round(x) + 20] = 220
        noisy = np.clip(pixels + dice.normal(0, noise, pixels.shape), 0, 255)
        row.append(Image.fromarray(np.uint8(noisy)))
    return Row(row)


def test_each_repeated_picture_is_found() -> None:
    places = [0.0, 0.03, 0.06, 0.06, 0.09, 0.12, 0.15, 0.15, 0.18, 0.21]

    assert measure_changes(walking(places)).repeats() == (3, 7)


def test_steady_movement_repeats_nothing() -> None:
    assert measure_changes(walking(np.linspace(0, 0.9, 60))).repeats() == ()


def test_a_scene_at_rest_repeats_nothing() -> None:
    """An empty track is no fault of the camera."""
    assert measure_changes(walking([0.5] * 40)).repeats() == ()
    assert measure_changes(walking([0.5] * 30 + list(np.linspace(0.5, 0.9, 20)))).notes() == ()


def test_repeats_survive_coding(tmp_path: Path) -> None:
    """A 30-a-second camera in a 60-a-second file: every second picture is the one before."""
    pictures = [made.draw(1, walker=(k // 2) / 30) for k in range(60)]
    path = tmp_path / "doubled.mp4"
    made.write_clip(path, pictures, made.steady(60, 60, 90_000), 90_000)
    clip = open_clip(path, tmp_path / "cache")
    changes = measure_changes(clip)
    clip.close()

    assert tuple(range(1, 60, 2)) == changes.repeats()
    assert changes.notes()[0].startswith("This clip repeats frames: 30 of 59")


def bent(before: int, slow: int, after: int) -> Row:
    steps = [0.032] * before + [0.004] * slow + [0.032] * after
    return walking(np.cumsum(steps), noise=0.5)


def test_slow_motion_inside_normal_speed_is_told() -> None:
    changes = measure_changes(bent(16, 80, 16))
    stretch = changes.slow_stretch()

    assert stretch is not None
    assert stretch[0] == pytest.approx(16, abs=5)
    assert stretch[1] == pytest.approx(96, abs=5)
    assert "Time may be bent" in changes.notes()[-1]


def test_other_clips_are_not_called_bent() -> None:
    steady = walking(np.linspace(0, 0.9, 90))
    comes_and_goes = walking([0.2] * 30 + list(np.linspace(0.2, 0.9, 40)) + [0.9] * 30)
    for row in (steady, comes_and_goes, bent(16, 80, 0)):  # the last one starts fast only
        assert measure_changes(row).slow_stretch() is None


def test_a_stretch_of_a_clip_can_be_compared_alone() -> None:
    changes = measure_changes(walking([0, 0.1, 0.2, 0.3, 0.3, 0.4, 0.5]), first=2, last=5)

    assert changes.levels.size == 3
    assert changes.repeats() == (4,)


def test_comparing_can_be_cancelled(made_clip: Callable[[str], tuple[Path, object]]) -> None:
    with pytest.raises(Cancelled):
        measure_changes(walking([0, 0.1, 0.2]), progress=Told(is_cancelled=lambda: True))


@pytest.mark.parametrize("n", [0, 1])
def test_too_few_pictures_say_nothing(n: int) -> None:
    assert measure_changes(walking([0.5] * n)).notes() == ()


@pytest.mark.parametrize("share", [0.2, 0.3, 0.6, 0.95, 1.0])
def test_a_clip_in_which_many_neighbours_are_equal_is_told_about(share: float) -> None:
    """Over a quarter of exact repeats left no picture that changes less than the quietest."""
    steps = np.where(np.arange(1, 60) / 60 <= share, 0.0, 0.015)
    mixed = steps[np.argsort((np.arange(59) * 23) % 59)]
    row = measure_changes(walking(np.cumsum(mixed), noise=0.0))

    assert (row.levels == 0).mean() == pytest.approx(share, abs=0.05)
    assert row.slow_stretch() is None
    assert bool(row.notes()) == (share < 0.9)


# a moving camera: the drawn track as the world, a window of it as the picture

SAMPLES = Path(__file__).parents[2] / "sample_frames"
SMALL = (320, 180)
N_PICTURES = 90


@lru_cache(maxsize=4)
def world(seed: int) -> Image.Image:
    """The drawn surroundings, a quarter of their size: 350 × 210 px, 320 of them in view."""
    field = surroundings(View(), seed)
    large = Image.fromarray(np.uint8(np.clip(field, 0, 1) * 255))
    return large.resize((large.width // 4, large.height // 4), Image.Resampling.BOX)


class Filmed:
    """A runner crosses the drawn track; the camera stands where `at` says, px of the small picture.

    Grain of two grey levels, and light that goes up and down by a tenth.
    """

    def __init__(self, seed: int, at: Callable[[float], tuple[float, float]]) -> None:
        self._seed, self._at = seed, at

    def __len__(self) -> int:
        return N_PICTURES

    def small(self, i: int) -> Image.Image:
        share = i / (N_PICTURES - 1)
        x, y = self._at(share)
        left, top = 15 + x, 15 + y
        box = (left, top, left + SMALL[0], top + SMALL[1])
        scene = world(self._seed % 3).transform(
            SMALL, Image.Transform.EXTENT, box, Image.Resampling.BICUBIC
        )
        pen = ImageDraw.Draw(scene)
        runner = 320 * share
        pen.rectangle((runner - 18, 30, runner + 18, 160), fill=(70, 40, 60))
        dice = np.random.default_rng([self._seed, i])
        light = 1 + 0.1 * np.sin(6 * share + self._seed)
        pixels = np.asarray(scene, float) * light + dice.normal(0, 2, (*SMALL[::-1], 3))
        return Image.fromarray(np.uint8(np.clip(pixels, 0, 255)))


def stands(share: float) -> tuple[float, float]:
    return 0.0, 0.0


def trembles(seed: int) -> Callable[[float], tuple[float, float]]:
    """Return a hand: two sines of 2 px, 1 in 160 of the width. Common practice, no source."""
    a, b = np.random.default_rng(seed).uniform(0, 6, 2)
    return lambda share: (2 * np.sin(9 * share + a), 2 * np.sin(7 * share + b))


def turns(share: float) -> tuple[float, float]:
    """A camera that follows, as far as the drawn world goes: 28 px in all, 1.2 from one to one."""
    return 14 - 28 * share, 0.0


@pytest.mark.parametrize("n", [1, pytest.param(20, marks=pytest.mark.long)])
def test_a_camera_in_the_hand_or_turned_along_is_noticed(n: int) -> None:
    assert [seed for seed in range(n) if not background_moves(Filmed(seed, trembles(seed)))] == []
    assert [seed for seed in range(n) if not background_moves(Filmed(seed, turns))] == []


@pytest.mark.parametrize("n", [2, pytest.param(60, marks=pytest.mark.long)])
def test_a_camera_that_stands_is_not_called_moving(n: int) -> None:
    """Of drawn clips with grain, changing light and a runner; of 60 once measured it was none."""
    assert [seed for seed in range(n) if background_moves(Filmed(seed, stands))] == []


def test_a_border_without_anything_on_it_says_nothing() -> None:
    assert background_moves(Row([Image.new("RGB", SMALL, (90, 90, 90))] * 30)) is None
    assert background_moves(Row([Image.new("RGB", (40, 30), (90, 90, 90))] * 30)) is None


def test_the_drawn_sample_stands_still(tmp_path: Path) -> None:
    clip = open_clip(SAMPLES / "P02" / "clip.mp4", tmp_path)
    try:
        assert background_moves(clip) is False
    finally:
        clip.close()

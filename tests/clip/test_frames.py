"""Every awkward kind of clip through the front door: the right pictures at the right times."""

import random
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import av
import pytest

from tapmark.clip.clip import Clip
from tests.clip import made
from tests.clip.kinds import KINDS, Truth

OpenKind = Callable[[str], tuple[Clip, Truth]]
MadeClip = Callable[[str], tuple[Path, Truth]]


@pytest.mark.parametrize("name", KINDS)
def test_every_picture_comes_once_and_in_order(name: str, open_kind: OpenKind) -> None:
    clip, truth = open_kind(name)

    assert list(truth.numbers) == [made.number_in(clip.preview(i)) for i in range(len(clip))]


@pytest.mark.parametrize("name", KINDS)
def test_times_are_the_files_own(name: str, open_kind: OpenKind) -> None:
    clip, truth = open_kind(name)

    assert truth.times_s == pytest.approx([clip.time_s(i) for i in range(len(clip))], abs=2e-5)


@pytest.mark.parametrize("name", KINDS)
def test_capture_factor_is_known_only_where_the_file_tells(name: str, open_kind: OpenKind) -> None:
    clip, truth = open_kind(name)

    assert truth.slow_factor == clip.capture.slow_factor, clip.capture.source


@pytest.mark.parametrize("name", KINDS)
def test_pictures_are_upright_round_and_of_the_right_colours(
    name: str, open_kind: OpenKind
) -> None:
    clip, truth = open_kind(name)
    preview, full = clip.preview(0), clip.full(0)

    assert truth.size == clip.size_px == preview.size == full.size
    assert made.roundness(preview) == pytest.approx(1, abs=0.06)
    assert made.worst_colour(preview) <= truth.hue_off
    assert made.worst_colour(full) <= truth.hue_off


@pytest.mark.parametrize("name", KINDS)
def test_full_picture_is_the_same_one_in_any_order(name: str, open_kind: OpenKind) -> None:
    clip, truth = open_kind(name)
    order = random.Random(3).sample(range(len(clip)), min(2, len(clip)))

    for i in {0, len(clip) - 1, *order}:
        assert truth.numbers[i] == made.number_in(clip.full(i)), f"picture {i}"


@pytest.mark.parametrize("name", KINDS)
def test_an_independent_reader_agrees(name: str, made_clip: MadeClip, open_kind: OpenKind) -> None:
    """PyAV decodes with its own libraries: count, order and stamps, to 1 ms."""
    path, _ = made_clip(name)
    clip, _ = open_kind(name)
    with av.open(str(path)) as file:
        tick = file.streams.video[0].time_base
        stamps = [frame.pts for frame in file.decode(video=0)]

    assert tick is not None
    theirs = [float((stamp - stamps[0]) * Fraction(tick)) for stamp in stamps]
    assert theirs == pytest.approx([clip.time_s(i) for i in range(len(clip))], abs=1e-3)


def test_200_random_jumps_show_the_picture_asked_for(open_kind: OpenKind) -> None:
    clip, truth = open_kind("one_key_picture.mp4")
    jumps = random.Random(11).choices(range(len(clip)), k=200)

    assert [truth.numbers[i] for i in jumps] == [made.number_in(clip.preview(i)) for i in jumps]


def test_walking_back_shows_the_same_pictures(open_kind: OpenKind) -> None:
    clip, truth = open_kind("uneven_with_drops.mp4")

    back = [made.number_in(clip.small(i)) for i in reversed(range(len(clip)))]

    assert list(truth.numbers) == back[::-1]

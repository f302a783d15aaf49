"""The strip to choose a part of a long clip from."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tapmark.clip.cache import Cache
from tapmark.clip.frames import key_strip, read_header
from tapmark.errors import Cancelled
from tapmark.progress import Told
from tests.clip import made
from tests.clip.kinds import Truth


def test_strip_shows_key_pictures_at_their_times(long_clip: Path, cache: Path) -> None:
    strip = key_strip(read_header(long_clip), Cache(cache))

    assert [k / 2 for k in range(9)] == pytest.approx([time_s for time_s, _ in strip])
    assert [120 * k for k in range(9)] == [
        made.number_in(picture.convert("RGB")) for _, picture in strip
    ]


def test_strip_keeps_to_about_the_number_asked_for(long_clip: Path, cache: Path) -> None:
    assert 3 <= len(key_strip(read_header(long_clip), Cache(cache), most=4)) <= 5


def test_strip_of_an_hdr_clip_looks_right(
    made_clip: Callable[[str], tuple[Path, Truth]], cache: Path
) -> None:
    path, truth = made_clip("hdr_hlg.mp4")
    strip = key_strip(read_header(path), Cache(cache))

    assert made.worst_colour(strip[0][1]) <= truth.hue_off


def test_strip_can_be_cancelled(long_clip: Path, cache: Path) -> None:
    with pytest.raises(Cancelled):
        key_strip(read_header(long_clip), Cache(cache), progress=Told(is_cancelled=lambda: True))

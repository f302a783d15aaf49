"""Pictures as shown: the right pixels, at the right size, kept within bounds."""

import weakref
from typing import Any

import pytest
from PIL import Image

from tapmark.app.state.frames_shown import CUT_BYTES, PIXEL_BYTES, Gallery
from tapmark.app.state.viewport import Tone, Viewport
from tapmark.errors import ClipError


class Striped:
    """Pictures 400 × 200: the left half carries the number, the right half is white."""

    size_px = (400, 200)

    def __len__(self) -> int:
        return 200

    def full(self, i: int, progress: Any = None) -> Image.Image:
        image = Image.new("RGB", self.size_px, (i, 0, 0))
        image.paste((255, 255, 255), (200, 0, 400, 200))
        return image

    def preview(self, i: int) -> Image.Image:
        return self.full(i).resize((200, 100))

    def close(self) -> None:
        pass


class AtOnce:
    """Does a job at once, as the worker would."""

    def __init__(self) -> None:
        self.n = 0

    def run(self, channel: str, work: Any, done: Any, failed: Any = None, *, by: str) -> None:
        self.n += 1
        try:
            result = work(None)
        except ClipError as trouble:
            failed(trouble)
            return
        done(result)


@pytest.fixture
def gallery() -> Gallery:
    return Gallery(Striped(), AtOnce())  # type: ignore[arg-type]


def test_a_cut_shows_the_picture_asked_for_at_canvas_size(gallery: Gallery) -> None:
    shown = gallery.cut(7, Viewport((400, 200), (200, 200)), Tone())
    assert (shown.image.size, shown.at) == ((200, 100), (0, 50))
    assert shown.image.getpixel((50, 50)) == (7, 0, 0)
    assert shown.image.getpixel((150, 50)) == (255, 255, 255)


def test_the_same_cut_is_the_same_object_and_memory_is_bounded(gallery: Gallery) -> None:
    view = Viewport((400, 200), (200, 100))
    first = gallery.cut(0, view, Tone())
    assert first is gallery.cut(0, view, Tone())
    gallery.most_bytes = 10 * first.image.width * first.image.height * PIXEL_BYTES
    for i in range(1, 10):
        gallery.cut(i, view, Tone())
    assert first is gallery.cut(0, view, Tone()), "all ten fit, and this is now the one used last"
    gallery.cut(10, view, Tone())
    assert first is gallery.cut(0, view, Tone()), "the one used longest ago went"
    for i in range(1, 11):
        gallery.cut(i, view, Tone())
    assert first is not gallery.cut(0, view, Tone())


def test_a_gallery_that_is_closed_forgets_its_frames_and_keeps_none_that_come_late() -> None:
    class Late(AtOnce):
        def run(self, channel: str, work: Any, done: Any, failed: Any = None, *, by: str) -> None:
            waiting.append(lambda: done(work(None)))

    waiting: list[Any] = []
    gallery = Gallery(Striped(), Late())  # type: ignore[arg-type]
    shown = weakref.ref(gallery.cut(1, Viewport((400, 200), (200, 100)), Tone()))
    assert shown() is not None
    gallery.want_full(1, lambda: None)
    gallery.close()
    waiting[0]()
    assert shown() is None and not gallery.has_full(1)


class Large(Striped):
    """Pictures of 4K: 33 MB each."""

    size_px = (3840, 2160)

    def full(self, i: int, progress: Any = None) -> Image.Image:
        return Image.new("RGB", self.size_px)

    def preview(self, i: int) -> Image.Image:
        return Image.new("RGB", (1280, 720))


def test_full_pictures_of_4k_are_kept_for_the_key_frames_and_one_more_beside_a_whole_step() -> None:
    large = Gallery(Large(), AtOnce())  # type: ignore[arg-type]
    for i in range(10):
        large.want_full(i, lambda: None)
    assert not large.has_full(0), "the oldest one went"
    view = Viewport((3840, 2160), (926, 512))
    for i in range(20, 20 + int(CUT_BYTES / (926 * 512 * 4))):  # played from previews, not seen yet
        large.keep(large.quick(i, view, Tone()))
    assert [i for i in range(10) if large.has_full(i)] == [4, 5, 6, 7, 8, 9]


def test_one_full_picture_stays_however_large_it_is() -> None:
    large = Gallery(Large(), AtOnce())  # type: ignore[arg-type]
    large.most_bytes = 10
    for i in (0, 1):
        large.want_full(i, lambda: None)
    assert not large.has_full(0) and large.has_full(1)


def test_the_full_picture_takes_the_place_of_the_preview(gallery: Gallery) -> None:
    came: list[bool] = []
    assert gallery.best(3).size == (200, 100)
    gallery.want_full(3, lambda: came.append(True))
    assert gallery.best(3).size == (400, 200)
    assert came == [True]


def test_a_full_picture_that_cannot_be_had_is_asked_for_once_more(gallery: Gallery) -> None:
    class Broken(Striped):
        def full(self, i: int, progress: Any = None) -> Image.Image:
            raise ClipError("gone")

    jobs = AtOnce()
    broken = Gallery(Broken(), jobs)  # type: ignore[arg-type]
    broken.want_full(1, lambda: None)
    assert not broken.has_full(1)
    assert jobs.n == 1


def test_the_magnifier_has_the_pixel_that_was_hit_in_its_middle(gallery: Gallery) -> None:
    gallery.want_full(9, lambda: None)
    patch = gallery.near(9, (200.2, 100.7), 31, 310, Tone())
    assert patch.size == (310, 310)
    assert patch.getpixel((155, 155)) == (255, 255, 255)
    assert patch.getpixel((149, 155)) == (9, 0, 0)


def test_beyond_the_edge_the_magnifier_is_grey(gallery: Gallery) -> None:
    patch = gallery.near(9, (0.5, 0.5), 31, 310, Tone())
    assert patch.getpixel((2, 2)) == (0x55, 0x60, 0x6C)


def test_a_tone_of_one_changes_nothing_and_a_lighter_one_does() -> None:
    image = Image.new("RGB", (4, 4), (100, 100, 100))
    assert image is Tone().applied(image)
    assert Tone(1.5, 1.0).applied(image).getpixel((0, 0)) == (150, 150, 150)

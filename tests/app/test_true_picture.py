"""What stands on the screen is the picture the window says it is, with the time it was taken.

The clip is made by PyAV with exactly these stamps and a bar code in every picture; the code is read
back from the pixels that Tk shows.
"""

import random
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import ImageTk

from tests.app.driving import Driver, OpenWindow
from tests.clip import made

N, FIRST, CLOCK_HZ = 120, 300, 90_000
GAPS = (375, 375, 1125, 450, 375, 2250)  # ticks: 240 a second with exposures missing


@pytest.fixture
def clip(tmp_path: Path) -> tuple[Path, list[int]]:
    """A clip of uneven gaps, stored on its side and noted as turned by 90 degrees."""
    ticks = [0]
    for k in range(N - 1):
        ticks.append(ticks[-1] + GAPS[k % len(GAPS)])
    path = tmp_path / "turned and uneven.mp4"
    pictures = [made.stored(made.draw(FIRST + k, made.TALL), 90) for k in range(N)]
    made.write_clip(path, pictures, ticks, CLOCK_HZ)
    made.turn_clip(path, 90)
    return path, ticks


@pytest.fixture
def app(open_app: OpenWindow, squad_folder: Path, clip: tuple[Path, list[int]]) -> Iterator[Driver]:
    """The window on Frames, with the clip read to its end."""
    driver = open_app(squad_folder)
    driver.keyboard_on(driver.view.list)
    driver.press("Control-Key-n")
    driver.asked.ready.append(clip[0])
    driver.context.perform("open clip")
    driver.wait_for_clip()
    driver.go("frames")
    yield driver


def shown_number(app: Driver) -> int | None:
    photo: Any = app.bench.pane._photo  # noqa: SLF001
    return made.number_in(ImageTk.getimage(photo).convert("RGB"))


@pytest.mark.parametrize("jumps", [60, pytest.param(200, marks=pytest.mark.long)])
def test_random_jumps_show_the_picture_they_name(
    app: Driver, clip: tuple[Path, list[int]], jumps: int
) -> None:
    dice, ticks = random.Random(7), clip[1]
    bar = app.bench.transport.scrubber.canvas
    seen = set()
    for k in range(jumps):
        if k % 2:
            keys = ("Key-period", "Key-comma", "Shift-Key-Right", "Shift-Key-Left")
            app.keyboard_on(app.bench.pane.canvas)
            app.press(dice.choice(keys))
        else:
            app.click(bar, dice.uniform(0, bar.winfo_width() - 1), bar.winfo_height() / 3)
        i = app.state.marking.picture
        assert shown_number(app) == FIRST + i, f"jump {k}"
        assert app.state.marking.gallery.pictures.time_s(i) == pytest.approx(
            ticks[i] / CLOCK_HZ, abs=1e-9
        )
        seen.add(i)
    assert len(seen) > jumps / 5


class HalfRead:
    """A clip of which fewer pictures have been read than there are."""

    def __init__(self, clip: Any, n_read: int) -> None:
        self._clip, self.n_read = clip, n_read

    def __len__(self) -> int:
        return self.n_read

    def __getattr__(self, name: str) -> Any:
        return getattr(self._clip, name)


def test_a_real_click_on_a_picture_that_is_not_read_marks_nothing_and_says_why(
    open_app: OpenWindow, squad_folder: Path, unmarked_run: Callable[[Path], None]
) -> None:
    unmarked_run(squad_folder)
    app = open_app(squad_folder)
    app.open_last_run()
    app.pump(lambda: app.state.page == "frames", "Frames")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("Home", "Key-1", *["Shift-Key-Right"] * 8, "Key-5")
    clip = app.state.marking.gallery.pictures
    app.state.marking.gallery.pictures = half = HalfRead(clip, 20)
    app.go("taps")
    app.press("Key-5")
    before = app.state.run

    app.click(app.bench.pane.canvas, 300, 200)

    assert before == app.state.run
    assert app.bench.pane._photo is None  # noqa: SLF001
    assert "Frame 81 is not read yet (20 are)" in app.window.status.line.cget("text")

    half.n_read = len(clip)
    app.state.notify()
    app.pump()
    app.click(app.bench.pane.canvas, 300, 200)
    assert app.state.step.key_frame("opposite touchdown").at("shoulder")

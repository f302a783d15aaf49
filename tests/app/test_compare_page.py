"""Two athletes side by side, different direction and zoom, on the screen.

The second athlete is the first one in a mirror and smaller. If both are aligned at the hip, scaled
to leg length and turned the same way, the two halves of the page show the same picture.
"""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageTk

from tapmark.app.shell.comparing import choose_other, left_and_right
from tapmark.app.shell.runs import open_run
from tapmark.marks.points import SIDE_EVENTS, STANDARD
from tapmark.marks.run import KeyFrame, Run, SetUp, Source, Step, Tap
from tapmark.store.pictures import way_to
from tapmark.store.squad import Squad, make_squad
from tests.app.driving import SAMPLES, Driver, OpenWindow
from tests.store.made import consenting

DAY, SMALLER = "2026-05-14", 0.7
STILLS = sorted((SAMPLES / "P02").glob("*.jpg"))
APART, ALIKE = 20.0, 8.0  # grey levels of 255


def put_stills(squad: Squad, code: str, truth: dict[str, Any], folder: Path, scale: float) -> None:
    """Give an athlete a run of five stills; a scale below 1 also turns them round."""
    folder.mkdir()
    is_turned = scale != 1.0
    for path in STILLS:
        still = Image.open(path)
        size = (round(still.width * scale), round(still.height * scale))
        small = still.resize(size, Image.Resampling.LANCZOS)
        if is_turned:
            small = small.transpose(Image.Transpose.FLIP_LEFT_RIGHT)
        small.save(folder / path.name, quality=95)
    wide = size[0]

    def placed(at: tuple[float, float]) -> tuple[float, float]:
        x, y = at[0] * scale, at[1] * scale
        return (wide - x, y) if is_turned else (x, y)

    frames = tuple(
        KeyFrame(
            event,
            i,
            taps=tuple(
                Tap(point, placed(truth["stills"][event]["points"][point]))
                for point in STANDARD[event]
            ),
        )
        for i, event in enumerate(SIDE_EVENTS)
    )
    squad.save_athlete(consenting(code))
    set_up = SetUp(direction="left to right" if is_turned else "right to left", pain="no")
    name = squad.new_run(code, DAY, Run())
    source = Source("stills", way_to(folder, squad.run_path(code, DAY, name)), size, len(STILLS))
    squad.save_run(code, DAY, name, Run(source=source, set_up=set_up, steps=(Step(frames),)))


@pytest.fixture
def app(open_app: OpenWindow, tmp_path: Path, truth: dict[str, Any]) -> Driver:
    """The page with two athletes on it."""
    squad = make_squad(tmp_path / "squad", "Two")
    put_stills(squad, "K07", truth, tmp_path / "k07", 1.0)
    put_stills(squad, "M12", truth, tmp_path / "m12", SMALLER)
    driver = open_app(squad.folder)
    driver.pick("K07")
    driver.keyboard_on(driver.view.list)
    driver.press("Return")
    driver.pump(lambda: driver.state.marking.gallery, "the pictures")
    driver.go("review")
    driver.context.perform("compare")
    driver.pump(lambda: driver.state.page == "compare", "side by side")
    driver.choose(driver.view.athlete, "M12")
    driver.pump(lambda: driver.state.compare.gallery and driver.state.compare.content, "M12")
    return driver


def halves(app: Driver) -> list[np.ndarray[Any, Any]]:
    """Return what both halves show, grey; a px of width that cannot be shared is left out."""
    photos = app.view._photos  # noqa: SLF001
    both = [np.asarray(ImageTk.getimage(photo).convert("L"), float) for photo in photos]
    wide = min(half.shape[1] for half in both)
    return [half[:, (half.shape[1] - wide) // 2 :][:, :wide] for half in both]


def apart(one: np.ndarray[Any, Any], other: np.ndarray[Any, Any]) -> float:
    """Return how far two pictures are apart in the middle, where the runner is."""
    tall, wide = one.shape
    middle = np.s_[tall // 8 : -tall // 8, wide // 5 : -wide // 5]
    return float(np.abs(one[middle] - other[middle]).mean())


def test_task_28_two_athletes_stand_alike_whatever_their_way_and_zoom(app: Driver) -> None:
    app.keyboard_on(app.view.canvases[0])
    for key in ("1", "3", "5"):
        app.press(f"Key-{key}")
        one, other = halves(app)
        assert apart(one, other) < ALIKE, f"key frame {key}"
        assert apart(one, other[:, ::-1]) > APART, "turned round it would not fit"
    captions = [caption.cget("text") for caption in app.view.captions]
    assert captions == ["K07, 14 May 2026, run 1", "M12, 14 May 2026, run 1, turned round"]
    assert "different" in app.view.about.cget("text").lower()


def test_the_numbers_stand_below_their_runner(app: Driver) -> None:
    content, view = app.state.compare.content, app.view
    captions = [str(caption.cget("text")) for caption in view.captions]
    headings = [str(view.table.heading(key, "text")) for key in ("first", "second")]
    halves_ = (content.first, content.second)
    for half, caption, heading in zip(halves_, captions, headings, strict=True):
        assert caption.startswith(f"{half.code},")
        assert heading.startswith(f"{half.code},")
    assert content.first.was_turned, "K07 runs to the left"
    assert not content.second.was_turned


def test_two_runs_of_one_day_stand_in_the_order_of_their_numbers(app: Driver) -> None:
    squad = app.state.squad
    run = squad.load_run("K07", DAY, "run-1")
    for i in range(2, 11):
        squad.save_run("K07", DAY, f"run-{i}", run)
    for mine, other in (("run-2", "run-10"), ("run-10", "run-2")):
        open_run(app.context, "K07", DAY, mine)
        app.context.go("review")
        app.context.perform("compare")
        choose_other(app.context, ("K07", DAY, other))
        assert [at[2] for at in left_and_right(app.context.state)] == ["run-2", "run-10"]
        app.pump(lambda: app.state.compare.content, "the numbers")
        captions = [str(caption.cget("text")) for caption in app.view.captions]
        assert [text.rpartition(", ")[2] for text in captions] == ["run 2", "run 10"]

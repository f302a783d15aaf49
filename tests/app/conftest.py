"""The real window under test: real events, a fake home, recorded dialogs, no hidden update().

Run without a screen these tests skip and say so; with TAPMARK_NEED_SCREEN=1 the skip is a failure,
which is what the continuous check sets after it has started a virtual screen.
"""

import contextlib
import filecmp
import gc
import json
import os
import shutil
import sys
import threading
import tkinter as tk
import tkinter.font as tkfont
from collections import defaultdict
from collections.abc import Callable, Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest

from tests.app.driving import (
    SAMPLES,
    Asked,
    Driver,
    OpenWindow,
    Timers,
    same_again,
    smoothed_again,
)
from tests.sockets import refuse_sockets


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test that opens a window, so that -m can choose these or leave them out."""
    for item in items:
        if "screen" in getattr(item, "fixturenames", ()):
            item.add_marker("window")


@pytest.fixture(scope="session")
def screen() -> None:
    """There is a display and Tk finds a font for it, or a named reason to skip."""
    try:
        root = tk.Tk()
        tkfont.nametofont("TkDefaultFont", root).measure("a")
    except tk.TclError as trouble:
        if os.environ.get("TAPMARK_NEED_SCREEN"):
            pytest.fail(f"no screen for the window tests: {trouble}")
        pytest.skip(f"no screen for the window tests: {trouble}")
    root.destroy()


@pytest.fixture
def never_update(monkeypatch: pytest.MonkeyPatch) -> None:
    """The program must never call update(): it would run events inside events."""

    def refuse(self: tk.Misc) -> None:
        raise AssertionError("update() was called")

    monkeypatch.setattr(tk.Misc, "update", refuse)


def refuse_writing_beside_the_window(monkeypatch: pytest.MonkeyPatch) -> None:
    """Only the main thread may write the files of a squad: a worker knows of no edit made since."""
    from tapmark.store.squad import Squad

    save = Squad._save  # noqa: SLF001

    def on_the_main_thread(self: Squad, path: Path, *rest: Any) -> Path | None:
        assert threading.current_thread() is threading.main_thread(), f"a worker wrote {path}"
        return save(self, path, *rest)

    monkeypatch.setattr(Squad, "_save", on_the_main_thread)


@pytest.fixture(scope="session")
def sample_pictures(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What reading the sample clip leaves in a cache: half a second that each test would take."""
    from tapmark.clip.frames import open_clip

    folder = tmp_path_factory.mktemp("sample pictures")
    open_clip(SAMPLES / "P02" / "clip.mp4", folder).close()
    return folder


@pytest.fixture(scope="session")
def worked_out() -> dict[str, dict[Any, Any]]:
    """What was drawn, read, measured and compared for the windows of a session."""
    return defaultdict(dict)


@pytest.fixture(autouse=True)
def read_before(sample_pictures: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let a clip with the bytes of the sample count as read, wherever it lies: a second less."""
    from tapmark.clip import cache

    sample, find = SAMPLES / "P02" / "clip.mp4", cache.Cache.find

    def found(folder: cache.Cache, clip: Path, details: str) -> Any:
        read = sample_pictures.glob(f"{cache._key(sample, details)}-*")  # noqa: SLF001
        if not (here := find(folder, clip, details)) and filecmp.cmp(clip, sample, shallow=False):
            for path in read:
                name = f"{cache._key(clip, details)}-{os.getpid()}-0{path.suffix}"  # noqa: SLF001
                shutil.copy(path, folder.folder / name)
                return find(folder, clip, details)
        return here

    monkeypatch.setattr(cache.Cache, "find", found)


@pytest.fixture(autouse=True)
def drawn_before(worked_out: dict[str, dict[Any, Any]], monkeypatch: pytest.MonkeyPatch) -> None:
    """Let each window take drawings, frames, readings and comparisons from the windows before.

    They are functions of values, held by tests of their own: most windows here show the same.
    """
    from tapmark.app.mark import frames_view, taps_view
    from tapmark.app.shell import runs, watching
    from tapmark.app.state import frames_wanted
    from tapmark.app.widgets import painting, picture_pane, step_line
    from tapmark.clip import clip as clips
    from tapmark.clip import frames
    from tapmark.clip.troubles import state_of
    from tapmark.measures import compute
    from tapmark.report.drawing import palette
    from tapmark.store.pictures import fingerprint

    def drawing(shapes: Any, size: Any, fonts: Any, ground: str = palette.WHITE) -> tuple[Any, ...]:
        return tuple(shapes), size, fonts.px_per_unit, fonts.family, ground

    def contents(header: Any) -> Any:
        is_there = state_of(header.path) == header.written
        return (fingerprint(header.path), header.written[0]) if is_there else object()

    def clip(clip: Any, *asked: Any) -> tuple[Any, ...]:
        what = [each for each in asked if isinstance(each, int)]  # not who waits for it
        return contents(clip.header), clip.part, len(clip), *what

    def frame(header: Any, wanted: Any, *rest: object) -> tuple[Any, ...]:
        return contents(header), wanted

    def file(path: Path, *rest: object) -> tuple[Any, ...]:
        return path, state_of(path)

    def again(module: Any, name: str, key: Callable[..., Any]) -> None:
        monkeypatch.setattr(module, name, same_again(getattr(module, name), key, worked_out[name]))

    again(painting, "painted", drawing)
    monkeypatch.setattr(step_line, "painted", painting.painted)
    smoothed = smoothed_again(picture_pane.paint_smoothly, worked_out["smoothed"])
    monkeypatch.setattr(picture_pane, "paint_smoothly", smoothed)
    again(taps_view, "body_prompt", lambda *asked: asked)
    again(frames_view, "rule_drawing", lambda *asked: asked)
    again(watching, "background_moves", clip)
    again(watching, "measure_changes", clip)
    again(clips, "read_full", frame)
    again(frames, "read_header", file)
    for module in (runs, frames_wanted):
        monkeypatch.setattr(module, "read_header", frames.read_header)
    again(compute, "_read", lambda *asked: asked)


@pytest.fixture
def open_app(
    screen: None,
    never_update: None,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> Iterator[OpenWindow]:
    """Return a function that opens the window as a person would, and again after a close.

    The clock stands at one evening unless a test gives its own. Errors in callbacks fail the test,
    and so does whoever asks for a socket.
    """
    refuse_sockets(monkeypatch)
    timers = Timers(monkeypatch)
    refuse_writing_beside_the_window(monkeypatch)
    import tapmark.app.actions  # noqa: F401 - keys act from the first moment, as a second later
    from tapmark.app.main import assemble, begin

    gc.freeze()  # what is there by now need not be looked through when a window closes
    errors: list[BaseException] = []
    drivers: list[Driver] = []
    home = tmp_path / "home"
    environment = {
        "HOME": str(home),
        "XDG_CONFIG_HOME": str(home / "config"),
        "XDG_CACHE_HOME": str(home / "cache"),
    }

    def opened(
        folder: Path | None = None,
        *,
        now: Callable[[], datetime] = lambda: datetime(2026, 5, 14, 20, 58, 31),
        size: str = "1366x700+0+0",
        scaling: float = 4 / 3,
    ) -> Driver:
        root = tk.Tk()
        root.tk.call("tk", "scaling", scaling)  # the display would keep that of the last window
        root.report_callback_exception = lambda *error: errors.append(error[1])  # type: ignore[method-assign]
        root.tk.createcommand("bgerror", lambda words: errors.append(AssertionError(words)))
        asked = Asked()
        context = assemble(root, environment, "linux", now, asked)
        if size:
            root.geometry(size)
        driver = Driver(root, context, asked, timers)
        drivers.append(driver)
        begin(context, folder)
        driver.pump(lambda: not context.jobs.is_busy("pictures"), "the pictures")
        if sys.platform == "win32":  # gives a new window the keyboard; Wine does not each time
            driver.keyboard_on(root.focus_lastfor() or root)
        return driver

    yield opened
    gc.freeze()  # closing looks for garbage, and here is none: what a test holds goes later
    for driver in drivers:
        with contextlib.suppress(tk.TclError):  # closed by the test already
            driver.root.tk.call("tk", "scaling", 4 / 3)  # or Windows' next fonts would be as large
            driver.close()
    assert not errors, repr(errors[0])


@pytest.fixture(scope="session")
def truth() -> dict[str, Any]:
    """Where every joint of the drawn athlete P02 really is."""
    return json.loads((SAMPLES / "P02" / "truth.json").read_text("utf-8"))


@pytest.fixture
def squad_folder(tmp_path: Path) -> Path:
    """A squad with one athlete who may be filmed."""
    from tapmark.marks.people import Athlete, Length
    from tapmark.store.consent import give
    from tapmark.store.squad import make_squad

    folder = tmp_path / "Thursday group"
    squad = make_squad(folder, "Thursday group")
    athlete = Athlete("P02", 1998, "400 and 800 m", lengths=(Length("leg", 90.1, "2026-05-01"),))
    for use in ("film", "keep stills"):
        athlete = give(athlete, use, "K. M.", "2026-05-01", "2026-12-31")
    squad.save_athlete(athlete)
    return folder


@pytest.fixture
def marked_squad(squad_folder: Path, truth: dict[str, Any]) -> Callable[[], Path]:
    """Return a function that puts a marked run of P02 into the squad and gives its folder."""
    from tests.app.made import put_marked_run

    def made() -> Path:
        put_marked_run(squad_folder, truth)
        return squad_folder

    return made


@pytest.fixture
def reading(marked_squad: Callable[[], Path]) -> Any:
    """What Review shows of the marked run, without a window."""
    from tapmark.services.places import VisitPlace
    from tapmark.services.visits import read_visit
    from tapmark.store.squad import open_squad

    place = VisitPlace(open_squad(marked_squad()), "P02", "2026-05-14")
    return read_visit(place, date(2026, 5, 14))


@pytest.fixture
def unmarked_run(truth: dict[str, Any]) -> Callable[[Path], None]:
    """Return a function that puts a run of P02 with its clip, and nothing else, into a squad."""
    from dataclasses import replace

    from tapmark.marks.run import Step
    from tapmark.store.squad import open_squad
    from tests.app.made import put_marked_run

    def made(folder: Path) -> None:
        name = put_marked_run(folder, truth)
        squad = open_squad(folder)
        run = squad.load_run("P02", "2026-05-14", name)
        squad.save_run("P02", "2026-05-14", name, replace(run, steps=(Step(),)))

    return made

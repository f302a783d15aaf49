"""A clip that is read behind the window: what shows by itself, what is said when it goes wrong."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.review.actions import keep
from tapmark.app.shell.context import Context
from tapmark.app.shell.run_lock import let_go
from tapmark.app.shell.runs import load_pictures, open_run
from tapmark.app.shell.squads import choose_athlete, use_squad
from tapmark.app.shell.watching import WATCH_MS, Watch
from tapmark.app.state.frames_shown import KeptStills
from tapmark.app.state.frames_wanted import Wish
from tapmark.clip import ingest
from tapmark.clip.clip import Clip
from tapmark.clip.ffmpeg import input_options
from tapmark.clip.header import SILENCE_S
from tapmark.errors import ClipUnreadable
from tests.app.driving import SAMPLES, Driver, OpenWindow
from tests.app.made import bare_context, context_on_marked_run
from tests.clip import made
from tests.clip.processes import ffmpegs_reading


@pytest.fixture
def context(tmp_path: Path, squad_folder: Path) -> Iterator[Context]:
    """A new visit of P02 without pictures."""
    made_desk = bare_context(tmp_path)
    use_squad(made_desk, squad_folder)
    choose_athlete(made_desk, "P02")
    made_desk.perform("new visit")
    yield made_desk
    if made_desk.state.marking.gallery:
        made_desk.state.marking.gallery.pictures.close()
    let_go(made_desk)


class Slowly:
    """Holds a clip's reading back: no more than n_read pictures are there until it is let go."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, n_read: int) -> None:
        self.n_read: int | None = n_read
        count, done = Clip.__len__, Clip.is_done.fget
        assert done is not None

        def so_far(clip: Clip) -> int:
            return count(clip) if self.n_read is None else min(count(clip), self.n_read)

        monkeypatch.setattr(Clip, "__len__", so_far)
        monkeypatch.setattr(
            Clip, "is_done", property(lambda clip: self.n_read is None and done(clip))
        )


@pytest.mark.parametrize("page", ["frames", "taps", "review"])
def test_a_picture_that_was_waited_for_shows_by_itself_once_it_is_read(
    page: str,
    open_app: OpenWindow,
    marked_squad: Callable[[], Path],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    slowly = Slowly(monkeypatch, 8)
    app: Driver = open_app(marked_squad())
    app.keyboard_on(app.view.list)
    app.press("Return")
    app.pump(
        lambda: app.state.marking.gallery and len(app.state.marking.gallery.pictures),
        "the first pictures",
    )
    app.go(page)
    app.press("Key-5" if page == "taps" else "Key-Right")
    app.state.go_to("opposite touchdown")
    app.state.notify()
    app.pump()
    wanted = app.state.marking.picture
    assert wanted >= 8
    assert _shown(app) != wanted

    slowly.n_read = wanted + 1
    app.pump(lambda: _shown(app) == wanted, "the picture that was waited for")
    slowly.n_read = None
    app.pump(lambda: app.state.marking.gallery.pictures.is_done, "the end")
    app.pump()

    assert (app.state.marking.picture, _shown(app), app.state.error) == (wanted, wanted, "")


def _shown(app: Driver) -> int | None:
    shown: Any = app.bench.pane._shown  # noqa: SLF001
    return shown.key[0] if shown else None


@pytest.fixture
def marked(tmp_path: Path, squad_folder: Path, truth: dict[str, Any]) -> Iterator[Context]:
    """A marked run of P02 whose key pictures were kept."""
    made_desk = context_on_marked_run(tmp_path, squad_folder, truth)
    keep(made_desk)
    yield made_desk
    let_go(made_desk)


def test_a_drive_that_vanishes_while_reading_leaves_the_run_as_it_was(
    marked: Context, monkeypatch: pytest.MonkeyPatch
) -> None:
    run, name = marked.state.run, marked.state.run_name

    def gone(clip: Clip) -> None:
        raise ClipUnreadable("The drive has gone.")

    monkeypatch.setattr(Clip, "check", gone)
    marked.attempt(lambda: open_run(marked, "P02", "2026-05-14", name))

    assert marked.state.run == run
    assert marked.state.error == "The drive has gone."
    assert isinstance(marked.state.marking.gallery.pictures, KeptStills)
    marked.saver.flush()
    assert marked.state.squad.load_run("P02", "2026-05-14", name) == run


def test_a_silent_drive_is_told_and_taken_back_when_it_speaks_again(context: Context) -> None:
    class Still:
        name, is_done, n_signs_of_life = "clip.mp4", False, 3

        def __len__(self) -> int:
            return 0

    clip: Any = Still()
    context.state.marking.gallery = type("G", (), {"pictures": clip})()
    context.later = lambda ms, action: None
    watch = Watch(context, clip, True, context.failed)
    for _ in range(round(1000 * SILENCE_S / WATCH_MS)):
        watch.look()
    assert context.state.status == ""
    for _ in range(2):
        watch.look()
    assert "has not answered for 20 seconds" in context.state.status
    clip.n_signs_of_life = 4
    watch.look()
    assert context.state.status == ""
    context.state.marking.gallery = None


def test_repeated_pictures_are_told_in_the_window(context: Context, tmp_path: Path) -> None:
    pictures = [made.draw(1, walker=(k // 2) / 60) for k in range(120)]
    path = tmp_path / "doubled.mp4"
    made.write_clip(path, pictures, made.steady(120, 60, 90_000), 90_000)
    load_pictures(context, Wish(path))

    assert "This clip repeats frames: 60 of 119" in " ".join(context.state.marking.gallery.notes)
    assert "repeats frames" in context.state.status


def test_an_ordinary_clip_adds_no_words(context: Context, tmp_path: Path) -> None:
    path = tmp_path / "plain.mp4"
    pictures = [made.draw(1, walker=k / 60) for k in range(60)]
    made.write_clip(path, pictures, made.steady(60, 60, 90_000), 90_000)
    load_pictures(context, Wish(path))

    assert context.state.marking.gallery.compared == ()


def test_a_rate_that_only_the_last_picture_shows_to_be_bent_is_taken_back(
    context: Context, tmp_path: Path
) -> None:
    """A few pictures of 30 and many of 240: the header alone would call its clock true."""
    ticks = [3000 * k for k in range(24)] + [69_000 + 375 * (k + 1) for k in range(200)]
    pictures = [made.draw(k) for k in range(len(ticks))]
    path = made.write_clip(tmp_path / "bent.mp4", pictures, ticks, 90_000)
    load_pictures(context, Wish(path))

    assert context.state.marking.gallery.pictures.header.capture.slow_factor == 1.0
    assert context.state.run.set_up.slow_factor is None
    assert context.state.run.set_up.rate_source == "not known"


@pytest.fixture(scope="module")
def long_clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("long") / "long.mp4"
    options = {"preset": "ultrafast", "x264-params": "log-level=error"}
    return made.write_steady(path, range(1000), rate=240, options=options)


@pytest.mark.parametrize("way", ["stop", "close", "another clip"])
def test_no_ffmpeg_and_no_half_file_outlives_the_window_or_its_stop(
    way: str,
    open_app: OpenWindow,
    squad_folder: Path,
    long_clip: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def held_back(path: Path, *before: str) -> list[str]:  # at half speed: never done too early
        return input_options(path, *before, *(["-readrate", "0.5"] if path == long_clip else []))

    monkeypatch.setattr(ingest, "input_options", held_back)
    app: Driver = open_app(squad_folder)
    before = {*app.context.cache_folder.glob("*.pictures")}
    app.keyboard_on(app.view.list)
    app.press("Control-Key-n")
    load_pictures(app.context, Wish(long_clip))
    app.pump(lambda: app.state.marking.gallery, "the first picture")
    assert not app.state.marking.gallery.pictures.is_done
    assert len(ffmpegs_reading(long_clip)) == 1, "usable while the rest is read"
    assert app.bench.transport.stop.winfo_ismapped()
    (half,) = {*app.context.cache_folder.glob("*.pictures")} - before

    if way == "stop":
        app.click(app.bench.transport.stop)
    elif way == "close":
        app.close()
    else:
        load_pictures(app.context, Wish(SAMPLES / "P02" / "clip.mp4"))
        app.pump(lambda: app.state.marking.gallery.pictures.name == "clip.mp4", "the other clip")

    assert ffmpegs_reading(long_clip) == []
    assert not half.exists()
    assert list(long_clip.parent.iterdir()) == [long_clip]

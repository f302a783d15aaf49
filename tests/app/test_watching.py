"""A clip that is read behind the window: what shows by itself, what is said when it goes wrong."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.desk import Desk
from tapmark.app.holding import let_go
from tapmark.app.kept import KeptStills
from tapmark.app.picture_deeds import Wish, load_pictures
from tapmark.app.run_deeds import open_run
from tapmark.app.squad_deeds import choose_athlete, use_squad
from tapmark.app.stills_deeds import keep
from tapmark.app.watching import WATCH_MS, Watch
from tapmark.clip import ingest
from tapmark.clip.clip import Clip
from tapmark.clip.ffmpeg import input_options
from tapmark.clip.header import SILENCE_S
from tapmark.errors import ClipUnreadable
from tests.app.driving import SAMPLES, Driver, OpenWindow
from tests.app.made import bare_desk, desk_on_marked_run
from tests.clip import made
from tests.clip.processes import ffmpegs_reading


@pytest.fixture
def desk(tmp_path: Path, squad_folder: Path) -> Iterator[Desk]:
    """A new visit of P02 without pictures."""
    made_desk = bare_desk(tmp_path)
    use_squad(made_desk, squad_folder)
    choose_athlete(made_desk, "P02")
    made_desk.perform("new visit")
    yield made_desk
    if made_desk.state.gallery:
        made_desk.state.gallery.pictures.close()
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
    app.pump(lambda: app.state.gallery and len(app.state.gallery.pictures), "the first pictures")
    app.go(page)
    app.press("Key-5" if page == "taps" else "Key-Right")
    app.state.go_to("opposite touchdown")
    app.state.tell()
    app.pump()
    wanted = app.state.picture
    assert wanted >= 8
    assert _shown(app) != wanted

    slowly.n_read = wanted + 1
    app.pump(lambda: _shown(app) == wanted, "the picture that was waited for")
    slowly.n_read = None
    app.pump(lambda: app.state.gallery.pictures.is_done, "the end")
    app.pump()

    assert (app.state.picture, _shown(app), app.state.trouble) == (wanted, wanted, "")


def _shown(app: Driver) -> int | None:
    shown: Any = app.view.pane._shown  # noqa: SLF001
    return shown.key[0] if shown else None


@pytest.fixture
def marked(tmp_path: Path, squad_folder: Path, truth: dict[str, Any]) -> Iterator[Desk]:
    """A marked run of P02 whose key pictures were kept."""
    made_desk = desk_on_marked_run(tmp_path, squad_folder, truth)
    keep(made_desk)
    yield made_desk
    let_go(made_desk)


def test_a_drive_that_vanishes_while_reading_leaves_the_run_as_it_was(
    marked: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    run, name = marked.state.run, marked.state.run_name

    def gone(clip: Clip) -> None:
        raise ClipUnreadable("The drive has gone.")

    monkeypatch.setattr(Clip, "check", gone)
    marked.attempt(lambda: open_run(marked, "P02", "2026-05-14", name))

    assert marked.state.run == run
    assert marked.state.trouble == "The drive has gone."
    assert isinstance(marked.state.gallery.pictures, KeptStills)
    marked.flush()
    assert marked.state.squad.load_run("P02", "2026-05-14", name) == run


def test_a_silent_drive_is_told_and_taken_back_when_it_speaks_again(desk: Desk) -> None:
    class Still:
        name, is_done, n_signs_of_life = "clip.mp4", False, 3

    clip: Any = Still()
    desk.state.gallery = type("G", (), {"pictures": clip})()
    desk.later = lambda ms, deed: None
    watch = Watch(desk, clip, True, desk.failed)
    for _ in range(round(1000 * SILENCE_S / WATCH_MS)):
        watch.look()
    assert desk.state.said == ""
    for _ in range(2):
        watch.look()
    assert "has not answered for 20 seconds" in desk.state.said
    clip.n_signs_of_life = 4
    watch.look()
    assert desk.state.said == ""
    desk.state.gallery = None


def test_repeated_pictures_are_told_in_the_window(desk: Desk, tmp_path: Path) -> None:
    pictures = [made.draw(1, walker=(k // 2) / 60) for k in range(120)]
    path = tmp_path / "doubled.mp4"
    made.write_clip(path, pictures, made.steady(120, 60, 90_000), 90_000)
    load_pictures(desk, Wish(path))

    assert "This clip repeats pictures: 60 of 119" in " ".join(desk.state.gallery.notes)
    assert "repeats pictures" in desk.state.said


def test_an_ordinary_clip_adds_no_words(desk: Desk, tmp_path: Path) -> None:
    path = tmp_path / "plain.mp4"
    pictures = [made.draw(1, walker=k / 60) for k in range(60)]
    made.write_clip(path, pictures, made.steady(60, 60, 90_000), 90_000)
    load_pictures(desk, Wish(path))

    assert desk.state.gallery.compared == ()


def test_a_rate_that_only_the_last_picture_shows_to_be_bent_is_taken_back(
    desk: Desk, tmp_path: Path
) -> None:
    """A few pictures of 30 and many of 240: the header alone would call its clock true."""
    ticks = [3000 * k for k in range(24)] + [69_000 + 375 * (k + 1) for k in range(200)]
    pictures = [made.draw(k) for k in range(len(ticks))]
    path = made.write_clip(tmp_path / "bent.mp4", pictures, ticks, 90_000)
    load_pictures(desk, Wish(path))

    assert desk.state.gallery.pictures.header.capture.slow_factor == 1.0
    assert desk.state.run.set_up.slow_factor is None
    assert desk.state.run.set_up.rate_source == "not known"


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
    read_before = set(app.desk.cache_folder.iterdir())
    app.keyboard_on(app.view.list)
    app.press("n")
    load_pictures(app.desk, Wish(long_clip))
    app.pump(lambda: app.state.gallery, "the first picture")
    assert not app.state.gallery.pictures.is_done
    assert len(ffmpegs_reading(long_clip)) == 1, "usable while the rest is read"
    assert app.view.walker.stop.button.winfo_ismapped()
    (half,) = {*app.desk.cache_folder.glob("*.pictures")} - read_before

    if way == "stop":
        app.click(app.view.walker.stop.button)
    elif way == "close":
        app.close()
    else:
        load_pictures(app.desk, Wish(SAMPLES / "P02" / "clip.mp4"))
        app.pump(lambda: app.state.gallery.pictures.name == "clip.mp4", "the other clip")

    assert ffmpegs_reading(long_clip) == []
    assert not half.exists()
    assert list(long_clip.parent.iterdir()) == [long_clip]

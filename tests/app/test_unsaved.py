"""Marks that the disk refused: nothing is left, closed or told before they are safe."""

import errno
import json
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.desk import BUSY_MS, RETRY_MS, Desk
from tapmark.app.holding import GIVE_UP, let_go
from tapmark.app.main import tell_own_mistake
from tapmark.app.mark_deeds import tap_at
from tapmark.errors import NotSaved
from tapmark.marks.people import Athlete
from tapmark.store import files, schema
from tapmark.store.squad import open_squad
from tests.app.driving import Driver, OpenWindow
from tests.app.looks import texts
from tests.app.made import desk_with_run
from tests.long.kills import kill_window_many

WHERE = ("P02", "2026-05-14", "run-1")


@pytest.fixture
def desk(tmp_path: Path, squad_folder: Path) -> Iterator[Desk]:
    """A run with its key frames and nothing tapped; a second athlete and an older run wait."""
    open_squad(squad_folder).save_athlete(Athlete("P03"))
    made = desk_with_run(tmp_path, squad_folder)
    yield made
    made.give_up()
    let_go(made)


class Disk:
    """Refuses every write until it is mended."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.folder, self._patch, self._real = folder, monkeypatch, os.open

    def fill(self) -> None:
        def refuse(path: Any, flags: int, *more: Any, **named: Any) -> int:
            if flags & os.O_CREAT and str(path).endswith(".part"):
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            return self._real(path, flags, *more, **named)

        self._patch.setattr(os, "open", refuse)

    def unplug(self) -> None:
        self.folder.rename(self.folder.with_name("unplugged"))

    def mend(self) -> None:
        self._patch.setattr(os, "open", self._real)
        if not self.folder.exists():
            self.folder.with_name("unplugged").rename(self.folder)


@pytest.fixture
def disk(squad_folder: Path, monkeypatch: pytest.MonkeyPatch) -> Disk:
    return Disk(squad_folder, monkeypatch)


def tap(desk: Desk, *places: float) -> None:
    for x in places:
        desk.attempt(lambda x=x: tap_at(desk, (x, 50.0)))


def n_kept(folder: Path) -> int:
    return sum(1 for _ in open_squad(folder).load_run(*WHERE).taps())


WAYS = ("fill", "unplug")


LEAVING: dict[str, Callable[[Desk], object]] = {
    "close": lambda d: d.perform("close"),
    "another athlete": lambda d: d.attempt(lambda: _choose(d, "P03")),
    "another run": lambda d: d.attempt(lambda: _open_run(d)),
    "new visit": lambda d: d.perform("new visit"),
    "another squad": lambda d: d.perform("open squad"),
    "make a squad": lambda d: d.perform("make squad"),
    "practise": lambda d: d.perform("practise"),
    "find clips": lambda d: d.perform("find clips"),
    "the sheet": lambda d: d.perform("make sheet"),
    "back up": lambda d: d.perform("back up"),
    "tables": lambda d: d.perform("export"),
}


def _choose(desk: Desk, code: str) -> None:
    from tapmark.app.squad_deeds import choose_athlete

    choose_athlete(desk, code)


def _open_run(desk: Desk) -> None:
    from tapmark.app.run_deeds import open_run

    open_run(desk, *WHERE)


class Window:
    """Stands for the window: says whether it was closed."""

    def __init__(self, desk: Desk) -> None:
        self.desk, self.is_closed = desk, False
        desk.places = self  # type: ignore[assignment]

    def close(self) -> None:
        self.desk.refuse_unsaved()
        self.is_closed = True


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("leaving", LEAVING)
def test_nothing_is_left_or_told_while_the_last_taps_are_only_in_the_window(
    leaving: str, way: str, desk: Desk, disk: Disk, squad_folder: Path
) -> None:
    window, before = Window(desk), open_squad(squad_folder).codes()
    tap(desk, 100, 110)
    getattr(disk, way)()
    tap(desk, 120, 130, 140)
    marked = desk.state.run
    desk.state.side.rows = ()

    LEAVING[leaving](desk)

    assert desk.state.run == marked and desk.held and not window.is_closed
    assert desk.state.athlete is not None and desk.state.athlete.code == "P02"
    proposal = desk.state.side.proposal
    assert desk.state.page == "proposal" and proposal is not None and proposal.typed == GIVE_UP
    assert "only in this window" in desk.state.unsaved and desk.state.saved_at == ""

    disk.mend()
    desk.attempt(lambda: proposal.more[0][1](desk))

    assert n_kept(squad_folder) == 5
    assert open_squad(squad_folder).codes() == before
    assert not desk.state.unsaved
    if leaving == "close":
        assert window.is_closed
    if leaving == "another athlete":
        assert desk.state.athlete.code == "P03" and desk.state.run is None


@pytest.mark.parametrize("way", WAYS)
def test_the_message_stays_until_the_disk_is_back_and_then_all_is_saved_by_itself(
    way: str, desk: Desk, disk: Disk, squad_folder: Path
) -> None:
    asked: list[tuple[int, Callable[[], None]]] = []
    desk.later = lambda ms, deed: None if deed == desk.write_settings else asked.append((ms, deed))
    tap(desk, 100)
    assert desk.state.saved_at == "20:58:31"
    getattr(disk, way)()
    tap(desk, 110, 120)
    said = desk.state.unsaved
    desk.perform("leave")
    desk.go("frames")

    assert said and desk.state.unsaved == said and desk.state.saved_at == ""
    assert [ms for ms, _ in asked].count(RETRY_MS) == 1, "one try at a time"
    for _ in range(3):
        asked.pop()[1]()
        assert desk.state.unsaved == said

    disk.mend()
    asked.pop()[1]()

    assert not desk.state.unsaved and not desk.state.trouble and n_kept(squad_folder) == 3
    assert desk.state.saved_at == "20:58:31" and asked == []


def test_a_visit_that_was_refused_is_kept_and_tried_again_too(
    desk: Desk, disk: Disk, squad_folder: Path
) -> None:
    from dataclasses import replace

    disk.fill()
    desk.attempt(
        lambda: desk.state.record_visit("reason", replace(desk.state.visit, reason="dusk"))
    )
    assert desk.is_unsaved and "visit.json" in desk.state.unsaved
    with pytest.raises(NotSaved):
        desk.refuse_unsaved()
    disk.mend()

    assert desk.flush() and open_squad(squad_folder).visit(*WHERE[:2]).reason == "dusk"


def test_undo_of_what_was_half_saved_is_saved_as_well(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, squad_folder: Path
) -> None:
    """The visit reached the disk, the run did not; undone, the disk must hold the old visit."""
    from dataclasses import replace

    from tapmark.app.state import Work
    from tapmark.errors import CannotWrite

    old = desk.state.work
    new = Work(replace(old.visit, reason="dusk"), replace(old.run, marked_by="AB"))

    def refuse(run: object, patience_s: float) -> None:
        raise CannotWrite("“run-1.json” cannot be written: the disk is full.")

    with monkeypatch.context() as full:
        full.setattr(desk.held, "save", refuse)
        desk.state.save(old, new, False)
    assert open_squad(squad_folder).visit(*WHERE[:2]).reason == "dusk"
    desk.state.save(new, old, False)

    assert open_squad(squad_folder).visit(*WHERE[:2]) == old.visit and not desk.is_unsaved


def test_given_up_in_words_the_run_is_what_was_saved_last_and_the_deed_goes_on(
    desk: Desk, disk: Disk, squad_folder: Path
) -> None:
    tap(desk, 100)
    disk.fill()
    tap(desk, 110)
    LEAVING["another run"](desk)
    desk.perform("do it")
    assert desk.is_unsaved, "the words were not typed"
    desk.state.side.typed = GIVE_UP
    disk.mend()

    desk.perform("do it")

    assert not desk.is_unsaved and n_kept(squad_folder) == 1
    assert desk.state.run == open_squad(squad_folder).load_run(*WHERE)


def test_saved_elsewhere_the_marks_are_in_that_folder_and_the_window_may_close(
    desk: Desk, disk: Disk, tmp_path: Path
) -> None:
    window, stick = Window(desk), tmp_path / "stick"
    stick.mkdir()
    disk.unplug()
    tap(desk, 100, 110)
    marked, visit = desk.state.run, desk.state.visit
    desk.perform("close")
    desk.ask.ready.append(stick)
    desk.attempt(lambda: desk.state.side.proposal.more[1][1](desk))

    assert window.is_closed
    plain = {path.name: json.loads(path.read_text("utf-8")) for path in stick.iterdir()}
    assert schema.run_from_plain(plain["P02 2026-05-14 run-1 saved at 205831.json"]) == marked
    assert schema.visit_from_plain(plain["P02 2026-05-14 visit saved at 205831.json"]) == visit
    disk.mend()


def test_a_folder_for_saving_elsewhere_that_refuses_too_closes_nothing(
    desk: Desk, disk: Disk, tmp_path: Path
) -> None:
    window = Window(desk)
    disk.fill()
    tap(desk, 100)
    desk.perform("close")
    desk.ask.ready.append(tmp_path)
    desk.attempt(lambda: desk.state.side.proposal.more[1][1](desk))

    assert not window.is_closed and desk.is_unsaved and "disk is full" in desk.state.trouble


@pytest.mark.parametrize("way", WAYS)
def test_our_own_mistake_never_says_saved_of_what_is_not(way: str, desk: Desk, disk: Disk) -> None:
    getattr(disk, way)()
    tap(desk, 100)
    tell_own_mistake(desk, KeyError, KeyError("hip"), None)
    assert "NOT saved" in desk.state.trouble and "are saved" not in desk.state.trouble
    disk.mend()
    tell_own_mistake(desk, KeyError, KeyError("hip"), None)
    assert "Your marks are saved" in desk.state.trouble


def test_a_tap_is_on_the_disk_before_anybody_is_told_of_it(desk: Desk, squad_folder: Path) -> None:
    """What is painted is painted after listeners were told, so no kill can take a shown tap."""
    told: list[bool] = []
    desk.state.listen(
        lambda: told.append(desk.state.run == open_squad(squad_folder).load_run(*WHERE))
    )

    tap(desk, 100, 110, 120)
    desk.perform("undo")
    desk.perform("key frame 1")
    desk.perform("remove tap")

    assert told and all(told)


def test_while_a_tap_is_moved_nothing_says_that_it_is_saved(desk: Desk) -> None:
    asked: list[Callable[[], None]] = []
    desk.later = lambda ms, deed: None if deed == desk.write_settings else asked.append(deed)
    tap(desk, 100)
    desk.state.save(desk.state.work, desk.state.work, True)
    assert desk.state.saved_at == "" and len(asked) == 1
    asked.pop()()
    assert desk.state.saved_at == "20:58:31"


# Windows: a file that another program reads cannot be replaced


@pytest.fixture
def busy(monkeypatch: pytest.MonkeyPatch) -> Callable[[int], list[float]]:
    """Return a function that lets os.replace be refused n times, and gives the pauses made."""

    def hold(n: int) -> list[float]:
        pauses: list[float] = []
        real, left = os.replace, iter(range(n))

        def replace(part: Any, path: Any) -> None:
            if next(left, None) is not None:
                raise PermissionError(errno.EACCES, "Access is denied")
            real(part, path)

        monkeypatch.setattr(files, "WAITS_FOR_OTHERS", True)
        monkeypatch.setattr(os, "replace", replace)
        monkeypatch.setattr(files.time, "sleep", pauses.append)
        return pauses

    return hold


def test_a_file_that_is_free_again_soon_is_saved_and_nobody_hears_of_it(
    desk: Desk, busy: Callable[[int], list[float]], squad_folder: Path
) -> None:
    tap(desk, 100)
    busy(2)
    tap(desk, 110)

    assert n_kept(squad_folder) == 2 and not desk.state.unsaved and desk.state.saved_at


def test_the_window_lives_between_tries_and_then_says_who_may_have_the_file(
    desk: Desk, busy: Callable[[int], list[float]], squad_folder: Path
) -> None:
    tap(desk, 100)
    pauses, stood_ms, asked = busy(10**9), [], list[tuple[int, Callable[[], None]]]()
    desk.later = lambda ms, deed: None if deed == desk.write_settings else asked.append((ms, deed))
    tap(desk, 110)
    waited_ms = 0.0
    while not desk.state.unsaved:
        stood_ms.append(1000 * sum(pauses))
        waited_ms += stood_ms[-1]
        pauses.clear()
        ms, again = asked.pop()
        waited_ms += ms
        again()

    assert len(stood_ms) == len(BUSY_MS) and max(stood_ms) < 250, "never still for long"
    assert 1500 < waited_ms < 2600
    assert "a virus scanner, a sync program or a preview" in desk.state.unsaved
    assert n_kept(squad_folder) == 1, "the old file is whole"


def test_the_window_itself_says_not_saved_and_stays(
    open_app: OpenWindow, marked_squad: Callable[[], Path], disk: Disk, squad_folder: Path
) -> None:
    app: Driver = open_app(marked_squad())
    app.open_last_run()
    app.go("taps")
    app.press("Key-1", "Delete")
    app.pump(lambda: app.window.status.saved.cget("text").startswith("Saved"), "the time")
    disk.unplug()
    app.press("Key-1", "Delete")
    app.pump(lambda: app.window.status.saved.cget("text") == "Not saved", "the words")
    app.go("squad")
    rows = app.view.list.get_children()
    assert rows and not app.view.empty.winfo_ismapped(), "nobody says there is no athlete"
    app.pump(lambda: "is gone" in app.window.status.line.cget("text"), "the reason")
    app.window.lay_out_again()
    app.pump(lambda: "The squad's folder is gone" in texts(app.root), "the athlete's panel")
    assert "No visit yet" not in texts(app.root)
    app.root.tk.call(*app.root.tk.splitlist(app.root.protocol("WM_DELETE_WINDOW")))
    app.pump(lambda: app.state.page == "proposal", "the question")

    disk.mend()
    app.pump(lambda: app.window.status.saved.cget("text").startswith("Saved"), "the time again")
    assert app.state.page == "squad", "nothing is asked any more"
    assert app.window.status.line.cget("text").startswith("Saved again")
    run = app.state.run
    app.close()
    assert open_squad(squad_folder).load_run(*WHERE) == run


def test_no_painted_tap_is_lost_in_two_kills_of_the_window(screen: None, tmp_path: Path) -> None:
    """The forty are python -m tests.long.kills."""
    assert len(kill_window_many(2, 7, tmp_path)) == 2

"""Marks that the disk refused: nothing is left, closed or told before they are safe."""

import errno
import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tapmark import disk as the_disk
from tapmark.app.main import tell_own_mistake
from tapmark.app.mark.taps_actions import tap_at
from tapmark.app.shell.context import Context
from tapmark.app.shell.run_lock import GIVE_UP, let_go
from tapmark.app.shell.saving import BUSY_MS, RETRY_MS
from tapmark.errors import NotSaved
from tapmark.marks.people import Athlete
from tapmark.store import schema
from tapmark.store.squad import open_squad
from tests.app.driving import Driver, OpenWindow
from tests.app.looks import texts
from tests.app.made import context_with_run
from tests.long.kills import kill_window_many
from tests.store.made import standard_run

WHERE = ("P02", "2026-05-14", "run-1")


@pytest.fixture
def context(tmp_path: Path, squad_folder: Path) -> Iterator[Context]:
    """A run with its key frames and nothing tapped; a second athlete and an older run wait."""
    open_squad(squad_folder).save_athlete(Athlete("P03"))
    made = context_with_run(tmp_path, squad_folder)
    yield made
    made.saver.give_up()
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


def tap(context: Context, *places: float) -> None:
    for x in places:
        context.attempt(lambda x=x: tap_at(context, (x, 50.0)))


def n_kept(folder: Path) -> int:
    return sum(1 for _ in open_squad(folder).load_run(*WHERE).taps())


WAYS = ("fill", "unplug")


LEAVING: dict[str, Callable[[Context], object]] = {
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


def _choose(context: Context, code: str) -> None:
    from tapmark.app.shell.squads import choose_athlete

    choose_athlete(context, code)


def _open_run(context: Context) -> None:
    from tapmark.app.shell.runs import open_run

    open_run(context, *WHERE)


class Window:
    """Stands for the window: says whether it was closed."""

    def __init__(self, context: Context) -> None:
        self.context, self.is_closed = context, False
        context.places = self  # type: ignore[assignment]

    def close(self) -> None:
        self.context.saver.refuse_unsaved()
        self.is_closed = True


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("leaving", LEAVING)
def test_nothing_is_left_or_told_while_the_last_taps_are_only_in_the_window(
    leaving: str, way: str, context: Context, disk: Disk, squad_folder: Path
) -> None:
    window, before = Window(context), open_squad(squad_folder).codes()
    tap(context, 100, 110)
    getattr(disk, way)()
    tap(context, 120, 130, 140)
    marked = context.state.run
    context.state.around.squad.rows = ()

    LEAVING[leaving](context)

    assert context.state.run == marked and context.saver.held and not window.is_closed
    assert context.state.athlete is not None and context.state.athlete.code == "P02"
    proposal = context.state.around.proposal.proposal
    assert context.state.page == "proposal" and proposal is not None and proposal.typed == GIVE_UP
    assert (
        "only in this window" in context.state.session.unsaved
        and context.state.session.saved_at == ""
    )

    disk.mend()
    context.attempt(lambda: proposal.more[0][1](context))

    assert n_kept(squad_folder) == 5
    assert open_squad(squad_folder).codes() == before
    assert not context.state.session.unsaved
    if leaving == "close":
        assert window.is_closed
    if leaving == "another athlete":
        assert context.state.athlete.code == "P03" and context.state.run is None


@pytest.mark.parametrize("way", WAYS)
def test_the_message_stays_until_the_disk_is_back_and_then_all_is_saved_by_itself(
    way: str, context: Context, disk: Disk, squad_folder: Path
) -> None:
    asked: list[tuple[int, Callable[[], None]]] = []
    context.saver.later = context.settings.later = lambda ms, action: (
        None if action == context.settings.write else asked.append((ms, action))
    )
    tap(context, 100)
    assert context.state.session.saved_at == "20:58:31"
    getattr(disk, way)()
    tap(context, 110, 120)
    said = context.state.session.unsaved
    context.perform("leave")
    context.go("frames")

    assert said and context.state.session.unsaved == said and context.state.session.saved_at == ""
    assert [ms for ms, _ in asked].count(RETRY_MS) == 1, "one try at a time"
    for _ in range(3):
        asked.pop()[1]()
        assert context.state.session.unsaved == said

    disk.mend()
    asked.pop()[1]()

    assert (
        not context.state.session.unsaved and not context.state.error and n_kept(squad_folder) == 3
    )
    assert context.state.session.saved_at == "20:58:31" and asked == []


def test_a_visit_that_was_refused_is_kept_and_tried_again_too(
    context: Context, disk: Disk, squad_folder: Path
) -> None:
    from dataclasses import replace

    disk.fill()
    context.attempt(
        lambda: context.state.record("reason", visit=replace(context.state.visit, reason="dusk"))
    )
    assert context.saver.is_unsaved and "visit.json" in context.state.session.unsaved
    with pytest.raises(NotSaved):
        context.saver.refuse_unsaved()
    disk.mend()

    assert context.saver.flush() and open_squad(squad_folder).visit(*WHERE[:2]).reason == "dusk"


def test_undo_of_what_was_half_saved_is_saved_as_well(
    context: Context, monkeypatch: pytest.MonkeyPatch, squad_folder: Path
) -> None:
    """The visit reached the disk, the run did not; undone, the disk must hold the old visit."""
    from dataclasses import replace

    from tapmark.app.state.session import Work
    from tapmark.errors import CannotWrite

    old = context.state.work
    new = Work(replace(old.visit, reason="dusk"), replace(old.run, marked_by="AB"))

    def refuse(run: object, patience_s: float) -> None:
        raise CannotWrite("“run-1.json” cannot be written: the disk is full.")

    with monkeypatch.context() as full:
        full.setattr(context.saver.held, "save", refuse)
        context.state.session.save(old, new, False)
    assert open_squad(squad_folder).visit(*WHERE[:2]).reason == "dusk"
    context.state.session.save(new, old, False)

    assert open_squad(squad_folder).visit(*WHERE[:2]) == old.visit and not context.saver.is_unsaved


def test_given_up_in_words_the_run_is_what_was_saved_last_and_the_deed_goes_on(
    context: Context, disk: Disk, squad_folder: Path
) -> None:
    tap(context, 100)
    disk.fill()
    tap(context, 110)
    LEAVING["another run"](context)
    context.perform("do it")
    assert context.saver.is_unsaved, "the words were not typed"
    context.state.around.proposal.typed = GIVE_UP
    disk.mend()

    context.perform("do it")

    assert not context.saver.is_unsaved and n_kept(squad_folder) == 1
    assert context.state.run == open_squad(squad_folder).load_run(*WHERE)


def test_saved_elsewhere_the_marks_are_in_that_folder_and_the_window_may_close(
    context: Context, disk: Disk, tmp_path: Path
) -> None:
    window, stick = Window(context), tmp_path / "stick"
    stick.mkdir()
    disk.unplug()
    tap(context, 100, 110)
    marked, visit = context.state.run, context.state.visit
    context.perform("close")
    context.ask.ready.append(stick)
    context.attempt(lambda: context.state.around.proposal.proposal.more[1][1](context))

    assert window.is_closed
    plain = {path.name: json.loads(path.read_text("utf-8")) for path in stick.iterdir()}
    assert schema.RUN_FILE.read(plain["P02 2026-05-14 run-1 saved at 205831.json"]) == marked
    assert schema.VISIT_FILE.read(plain["P02 2026-05-14 visit saved at 205831.json"]) == visit
    disk.mend()


def test_a_folder_for_saving_elsewhere_that_refuses_too_closes_nothing(
    context: Context, disk: Disk, tmp_path: Path
) -> None:
    window = Window(context)
    disk.fill()
    tap(context, 100)
    context.perform("close")
    context.ask.ready.append(tmp_path)
    context.attempt(lambda: context.state.around.proposal.proposal.more[1][1](context))

    assert (
        not window.is_closed and context.saver.is_unsaved and "disk is full" in context.state.error
    )


@pytest.mark.parametrize("way", WAYS)
def test_our_own_mistake_never_says_saved_of_what_is_not(
    way: str, context: Context, disk: Disk
) -> None:
    getattr(disk, way)()
    tap(context, 100)
    tell_own_mistake(context, KeyError, KeyError("hip"), None)
    assert "NOT saved" in context.state.error and "are saved" not in context.state.error
    disk.mend()
    tell_own_mistake(context, KeyError, KeyError("hip"), None)
    assert "Your marks are saved" in context.state.error


def test_a_tap_is_on_the_disk_before_anybody_is_told_of_it(
    context: Context, squad_folder: Path
) -> None:
    """What is painted is painted after listeners were told, so no kill can take a shown tap."""
    told: list[bool] = []
    context.state.listen(
        lambda: told.append(context.state.run == open_squad(squad_folder).load_run(*WHERE))
    )

    tap(context, 100, 110, 120)
    context.perform("undo")
    context.perform("key frame 1")
    context.perform("remove tap")

    assert told and all(told)


def test_while_a_tap_is_moved_nothing_says_that_it_is_saved(context: Context) -> None:
    asked: list[Callable[[], None]] = []
    context.saver.later = context.settings.later = lambda ms, action: (
        None if action == context.settings.write else asked.append(action)
    )
    tap(context, 100)
    context.state.session.save(context.state.work, context.state.work, True)
    assert context.state.session.saved_at == "" and len(asked) == 1
    asked.pop()()
    assert context.state.session.saved_at == "20:58:31"


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

        monkeypatch.setattr(the_disk, "WAITS_FOR_OTHERS", True)
        monkeypatch.setattr(os, "replace", replace)
        monkeypatch.setattr(the_disk.time, "sleep", pauses.append)
        return pauses

    return hold


def test_a_file_that_is_free_again_soon_is_saved_and_nobody_hears_of_it(
    context: Context, busy: Callable[[int], list[float]], squad_folder: Path
) -> None:
    tap(context, 100)
    busy(2)
    tap(context, 110)

    assert (
        n_kept(squad_folder) == 2
        and not context.state.session.unsaved
        and context.state.session.saved_at
    )


def test_the_window_lives_between_tries_and_then_says_who_may_have_the_file(
    context: Context, busy: Callable[[int], list[float]], squad_folder: Path
) -> None:
    tap(context, 100)
    pauses, stood_ms, asked = busy(10**9), [], list[tuple[int, Callable[[], None]]]()
    context.saver.later = context.settings.later = lambda ms, action: (
        None if action == context.settings.write else asked.append((ms, action))
    )
    tap(context, 110)
    waited_ms = 0.0
    while not context.state.session.unsaved:
        stood_ms.append(1000 * sum(pauses))
        waited_ms += stood_ms[-1]
        pauses.clear()
        ms, again = asked.pop()
        waited_ms += ms
        again()

    assert len(stood_ms) == len(BUSY_MS) and max(stood_ms) < 250, "never still for long"
    assert 1500 < waited_ms < 2600
    assert "a virus scanner, a sync program or a preview" in context.state.session.unsaved
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
    rows = app.view.roster.codes
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


@pytest.mark.long
def test_no_painted_tap_is_lost_in_two_kills_of_the_window(screen: None, tmp_path: Path) -> None:
    """The forty are python -m tests.long.kills."""
    assert len(kill_window_many(2, 7, tmp_path)) == 2


OPENED = """
import sys
from datetime import datetime
from pathlib import Path
from tapmark.app import main
from tapmark.app.shell.runs import open_run
begin = main.begin
def begin_with_run(context, *where):
    begin(context, *where)
    open_run(context, "P02", "2026-05-14", "run-1")
    assert context.saver.held
    context.later(300, lambda: print("stands", flush=True))
main.begin = begin_with_run
sys.exit(main.open_window(Path(sys.argv[1])))
"""


@pytest.mark.skipif(os.name == "nt", reason="Windows knows no such signals")
@pytest.mark.parametrize("told", ["SIGTERM", "SIGHUP", "SIGINT"])
def test_a_window_that_the_system_tells_to_end_closes_as_by_its_button(
    told: str, screen: None, squad_folder: Path, tmp_path: Path
) -> None:
    """A real program: the run is given free and the window's place is written, exit code 0."""
    open_squad(squad_folder).new_run(*WHERE[:2], standard_run())
    home = {"HOME": str(tmp_path / "h"), "XDG_CONFIG_HOME": str(tmp_path / "h" / "config")}
    command = [sys.executable, "-c", OPENED, str(squad_folder)]
    root = Path(__file__).parents[2]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, encoding="utf-8", cwd=root, env=os.environ | home
    ) as program:
        assert program.stdout is not None and program.stdout.readline() == "stands\n"
        assert list(squad_folder.rglob("*.lock"))
        program.send_signal(getattr(signal, told))
        program.communicate(timeout=60)

    assert program.returncode == 0
    assert not list(squad_folder.rglob("*.lock")), "given free"
    (settings,) = (tmp_path / "h").rglob("settings.json")
    assert "run-1" in settings.read_text("utf-8")

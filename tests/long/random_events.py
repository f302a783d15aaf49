"""Random events in the real window: python -m tests.long.random_events [MINUTES] [SEED…]

For each seed (1 2 3 unless told) a process of its own opens the window on the sample squad in a
temporary home and sends real events for so many minutes (10 unless told): the keys of all actions,
letters, pointer and wheel on every widget, drags, pages, menus. File dialogs are cancelled or given
a sample. Opening and printing files and closing the window are noted, not done. A seed fails where

- anything raises: a callback, a thread, Tcl;
- anything outside the temporary home is written, moved or deleted, or a program other than ffmpeg
  is started;
- a mark that the window holds as saved is not on the disk: looked at each minute and whenever
  another run is opened;
- a minute of events leads nowhere: fewer than three pages were shown in it, or nothing was done;
- memory or the number of widgets has grown after the first minute by more than the bounds below.
  Both are counted after each minute in one place: a new sample squad is opened, a run of it is
  shown on every page, and then Squad, where no run is open and no frame of one may be left.

Needs a screen. When events fall depends on the machine, so a seed does not repeat exactly; the last
events before a failure are printed.
"""

import contextlib
import gc
import os
import random
import shutil
import subprocess
import sys
import tempfile
import threading
import time
import tkinter as tk
import traceback
import weakref
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

from tapmark.app.state.frames_shown import Gallery
from tapmark.errors import NotSaved, TapmarkError
from tapmark.marks.run import Run
from tapmark.services.demo import make_sample_squad
from tapmark.store.squad import Squad, open_squad
from tests.app.driving import SAMPLES, Asked, Driver

MOST_MORE_MB = 40.0
MOST_MORE_WIDGETS = 40
LEAST_PAGES = 3  # that a minute of events shows
LETTERS = ("a", "b", "P", "0", "1", "2", "7", "minus", "period", "space", "BackSpace")
MOVES = ("Tab", "Return", "Escape", "space", "Up", "Down", "Left", "Right", "Delete", "Home", "End")
LATEST_S = 60.0  # a window that does not come to rest within it hangs
WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC
CHANGES = (
    "os.remove", "os.rename", "os.mkdir", "os.rmdir", "os.truncate", "os.link", "os.symlink",
    "shutil.rmtree",
)  # fmt: skip


class Guard:
    """Refuses every change outside one folder, and remembers that it was asked for."""

    def __init__(self, home: Path) -> None:
        self.home, self.refused = os.path.realpath(home), list[str]()
        sys.addaudithook(self._look)

    def _look(self, event: str, args: tuple[Any, ...]) -> None:
        if event == "subprocess.Popen" and "ffmpeg" not in Path(str(args[0])).name:
            self._refuse(f"started {args[0]}")
        elif event == "open" and int(args[2] or 0) & WRITING:
            self._inside(event, args[0])
        elif event in CHANGES and not _is_below_a_folder_held_open(args):
            for place in args[: 2 if event in ("os.rename", "os.link", "os.symlink") else 1]:
                self._inside(event, place)

    def _inside(self, event: str, place: object) -> None:
        if not isinstance(place, str | bytes | os.PathLike):
            return  # a file that is open already
        path = os.path.realpath(os.fsdecode(place))
        if not path.startswith((self.home, "/dev/")):
            self._refuse(f"{event} outside the temporary home: {path}")

    def _refuse(self, what: str) -> None:
        self.refused.append(what)
        raise AssertionError(what)


def _is_below_a_folder_held_open(args: tuple[Any, ...]) -> bool:
    """As rmtree does it: the folder itself was looked at already."""
    is_relative = isinstance(args[0], str | bytes) and not os.fsdecode(args[0]).startswith(os.sep)
    return is_relative and isinstance(args[-1], int) and args[-1] >= 0


class Dice(Asked):
    """File dialogs that are cancelled by chance, or given something of the temporary home."""

    def __init__(self, dice: random.Random, home: Path) -> None:
        super().__init__()
        self.dice, self.home = dice, home

    def _by_chance(self, what: str, choice: Callable[[], Path]) -> Path | None:
        self.boxes.append(what)
        return choice() if self.dice.random() < 0.4 else None

    def _one(self, pattern: str) -> Path:
        return self.dice.choice(sorted(self.home.glob(pattern)) or [self.home / "not there"])

    def clip(self) -> Path | None:
        return self._by_chance("clip", lambda: self._one("samples/*/clip.mp4"))

    def folder(self, title: str) -> Path | None:
        return self._by_chance(title, lambda: self.home / f"folder {self.dice.randrange(9)}")

    def stills(self) -> tuple[Path, ...]:
        found = sorted(self.home.glob("samples/P02/*.jpg"))
        return tuple(found) if self._by_chance("stills", lambda: found[0]) else ()

    def list_file(self) -> Path | None:
        return self._by_chance("list", lambda: self.home / "list.csv")

    def zip_file(self) -> Path | None:
        return self._by_chance("back-up", lambda: self._one("out/*.zip"))

    def save_as(self, title: str, name: str) -> Path | None:
        return self._by_chance(title, lambda: self.home / "out" / name)


class Kept:
    """What the window held as saved, and whether the disk has it."""

    def __init__(self, driver: Driver) -> None:
        self.driver, self.lost, self.n_looked = driver, list[str](), 0
        self.squad: Squad | None = None
        self.where: tuple[str, str, str] | None = None
        self.run: Run | None = None
        driver.state.listen(self.note)

    def note(self) -> None:
        """Remember the open run where it is saved; look at the last one when another is open."""
        state, saver = self.driver.state, self.driver.context.saver
        where = (*state.at_hand()[1:3], state.run_name) if state.run_name else None
        if (where, state.squad) != (self.where, self.squad):
            self.look()
            self.where, self.squad, self.run = where, state.squad, None
        if saver.held and not saver.is_unsaved and not saver.is_read_only:
            self.run = state.run

    def look(self) -> None:
        """Compare with the disk; a run that was deleted meanwhile has nothing to compare."""
        if not (
            self.squad and self.where and self.run and self.squad.run_path(*self.where).exists()
        ):
            return
        self.n_looked += 1
        try:
            found = open_squad(self.squad.folder).load_run(*self.where)
        except TapmarkError as trouble:
            self.lost.append(f"{self.where}: {trouble}")
            return
        if found != self.run:
            self.lost.append(f"{self.where}: the disk has {found}\nthe window had {self.run}")


class Hands:
    """Random hands on one window."""

    def __init__(self, driver: Driver, dice: random.Random, guard: Guard) -> None:
        self.driver, self.dice, self.guard = driver, dice, guard
        self.root, self.context = driver.root, driver.context
        self.errors: list[str] = []
        self.last: deque[str] = deque(maxlen=40)
        self.n_closed = self.n_events = 0
        self._shown, self._n_done = set[str](), 0
        self._last_run: Run | None = None
        self.context.state.listen(self._note_shown)
        self.root.report_callback_exception = self._raised  # type: ignore[method-assign]
        self.root.tk.createcommand("bgerror", lambda *words: self.errors.append(" ".join(words)))
        threading.excepthook = lambda a: self.errors.append(repr(a.exc_value))
        self.context.places.close = self._close
        self.kinds: tuple[tuple[Callable[[], None], int], ...] = (
            (self.key_of_action, 30), (self.letter, 12), (self.click, 30), (self.drag, 10),
            (self.wheel, 8), (self.on_picture, 40), (self.page, 3), (self.menu, 6),
        )  # fmt: skip

    def _note_shown(self) -> None:
        state = self.context.state
        self._shown.add(state.page)
        if state.run is not self._last_run:
            self._last_run = state.run
            self._n_done += 1

    def reset_shown(self) -> tuple[int, int]:
        """Return how many pages were shown and how much was done to runs, and count anew."""
        counts = len(self._shown), self._n_done
        self._shown, self._n_done = set(), 0
        return counts

    def let_go(self) -> None:
        """Close a menu that is posted, and give the pointer free."""
        call = self.root.tk.call
        for path in self.widgets():
            if call("winfo", "class", path) == "Menu":
                call(path, "unpost")
        for holder in self.root.tk.splitlist(call("grab", "current")):
            call("grab", "release", holder)

    def _raised(self, *error: Any) -> None:
        self.errors.append("".join(traceback.format_exception(*error)))

    def _close(self) -> None:
        self.context.saver.refuse_unsaved()
        self.n_closed += 1

    def once(self) -> None:
        """Send one event, and turn the loop a little or until it is empty."""
        kinds, weights = zip(*self.kinds, strict=True)
        self.dice.choices(kinds, weights)[0]()
        self.n_events += 1
        if self.dice.random() < 0.15:
            self.rest(self.dice.uniform(0.01, 0.15))
        for _ in range(self.dice.choice((0, 3, 60))):
            if not self.root.tk.dooneevent(2):
                break

    def rest(self, seconds: float) -> None:
        """Turn the loop for so long."""
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            if not self.root.tk.dooneevent(2):
                time.sleep(0.002)

    def rest_until(self, holds: Callable[[], bool]) -> None:
        """Turn the loop until something holds, at most LATEST_S: a film may take longer."""
        until = time.monotonic() + LATEST_S
        while not holds() and time.monotonic() < until:
            self.rest(0.05)

    def send(self, path: str, event: str, **options: object) -> None:
        """Send one event to a widget by its Tcl name."""
        self.last.append(f"{self.context.state.page}: {path} {event} {options or ''}")
        words = [word for key, value in options.items() for word in (f"-{key}", str(value))]
        try:
            self.root.tk.call("event", "generate", path, event, *words)
        except tk.TclError as trouble:  # the widget went with an event before this one
            if "bad window path" not in str(trouble):
                raise

    def widgets(self) -> list[str]:
        """Return every widget by its Tcl name."""
        found, todo = [], ["."]
        while todo:
            path = todo.pop()
            found.append(path)
            todo += self.root.tk.splitlist(self.root.tk.call("winfo", "children", path))
        return found

    def shown(self) -> str:
        """Return a random widget that is on the screen."""
        is_there = [p for p in self.widgets() if int(self.root.tk.call("winfo", "viewable", p))]
        return self.dice.choice(is_there or ["."])

    def focus(self) -> str:
        return str(self.root.tk.call("focus")) or "."

    def key_of_action(self) -> None:
        from tapmark.app.shell.keys import sequence

        page = self.context.state.page
        actions = [action for action in self.context.actions.values() if action.keys]
        if self.dice.random() < 0.7:
            actions = [action for action in actions if action.is_on(page)]
        key = self.dice.choice(self.dice.choice(actions).keys)
        for _ in range(self.dice.choice((1, 1, 1, 4))):
            self.send(self.focus(), sequence(key))
        if self.dice.random() < 0.5:
            bound = sequence(key).replace("Key-", "KeyRelease-")
            self.send(self.focus(), bound if "KeyRelease" in bound else "<KeyRelease-Tab>")

    def letter(self) -> None:
        for _ in range(self.dice.randrange(1, 6)):
            self.send(self.focus(), "<Key>", keysym=self.dice.choice(LETTERS + MOVES))

    def _place(self, path: str) -> dict[str, int]:
        call, wide, tall = self.root.tk.call, 0, 0
        if int(call("winfo", "exists", path)):  # or it went with an event before this one
            wide, tall = (int(call("winfo", side, path)) for side in ("width", "height"))
        return {"x": self.dice.randrange(-3, wide + 4), "y": self.dice.randrange(-3, tall + 4)}

    def _press(self, path: str, n_moves: int) -> None:
        button = self.dice.choices((1, 2, 3), (8, 1, 2))[0]
        at = self._place(path)
        self.send(path, "<Enter>", **at)
        self.send(path, "<Motion>", **at)
        self.send(path, f"<ButtonPress-{button}>", **at)
        for _ in range(n_moves):
            self.rest(0.004)
            at = self._place(path)
            self.send(path, f"<B{button}-Motion>", **at)
        if self.dice.random() < 0.97:
            self.send(path, f"<ButtonRelease-{button}>", **at)

    def click(self) -> None:
        self._press(self.shown(), 0)

    def drag(self) -> None:
        self._press(self.shown(), self.dice.randrange(1, 8))

    def wheel(self) -> None:
        path, held = self.shown(), self.dice.choice(("", "Control-", "Shift-"))
        self.send(path, f"<{held}ButtonPress-{self.dice.choice((4, 5))}>", **self._place(path))

    def on_picture(self) -> None:
        bench = self.context.places.bench
        if bench is None or not bench.pane.canvas.winfo_viewable():
            return self.click()
        return self._press(str(bench.pane.canvas), self.dice.choice((0, 0, 0, 0, 3)))

    def page(self) -> None:
        from tapmark.app.main import VIEWS

        page = self.dice.choice([*VIEWS])
        if f"page {page}" in self.context.actions:
            self.last.append(f"page {page}")
            self.context.perform(f"page {page}")

    def menu(self) -> None:
        menus = self.context.places.menus
        name = self.dice.choice([*menus.menus])
        menus.fill(name)
        menu = menus.menus[name]
        if (last := menu.index("end")) is None:
            return
        i = self.dice.randint(0, last)
        if menu.type(i) == "cascade":
            menu = self.root.nametowidget(menu.entrycget(i, "menu"))
            if (last := menu.index("end")) is None:
                return
            i = self.dice.randint(0, last)
        if menu.type(i) == "command":
            self.last.append(f"menu {name}: {menu.entrycget(i, 'label')}")
            menu.invoke(i)

    def come_to_rest(self) -> None:
        """Wait until what is marked is saved, or the disk has refused it."""
        until = time.monotonic() + LATEST_S
        self.rest(0.3)
        while self.context.saver.is_unsaved and not self.context.state.session.unsaved:
            assert time.monotonic() < until, "marks are neither saved nor refused"
            self.rest(0.05)

    def troubles(self, kept: Kept) -> list[str]:
        """Return what went wrong so far, the last events first."""
        found = [*self.errors, *self.guard.refused, *kept.lost]
        return [*self.last, *found] if found else []


def memory_mb() -> float:
    """Return the memory that this process holds, MB."""
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith("VmRSS:"):
            return int(line.split()[1]) / 1024
    raise SystemExit("Memory is read from /proc: run this on Linux.")


@dataclass(frozen=True)
class Count:
    """What is held where it is counted; galleries: of frames, none when all is well."""

    mb: float
    n_widgets: int
    n_images: int
    n_galleries: int

    def __str__(self) -> str:
        """In words for the line of a minute."""
        held = f"{self.mb:.0f} MB, {self.n_widgets} widgets, {self.n_images} images"
        return f"{held}, frames of {self.n_galleries} runs"


ALIVE: "weakref.WeakSet[Gallery]" = weakref.WeakSet()
"""Frames of runs that somebody holds. To ask Python for all objects would break those that a worker
is just making."""


def note_galleries() -> None:
    """Let every gallery that is made be found in ALIVE until it is let go of."""
    make = Gallery.__init__

    def noted(self: Gallery, *rest: Any) -> None:
        make(self, *rest)
        ALIVE.add(self)

    Gallery.__init__ = noted  # type: ignore[method-assign]


def counted(hands: Hands, folder: Path) -> Count:
    """Show a run of a new sample squad on every page, go to Squad, and count what is held there."""
    from tapmark.app.main import VIEWS
    from tapmark.app.shell.runs import open_run
    from tapmark.app.shell.squads import use_squad
    from tapmark.store.settings import Settings

    context, state = hands.context, hands.context.state
    usual, now = Settings(), context.settings.value
    if (now.text_size, now.left_handed) != (usual.text_size, usual.left_handed):
        context.settings.change(
            replace(now, text_size=usual.text_size, left_handed=usual.left_handed)
        )
        context.places.lay_out_again()
    hands.let_go()
    squad = make_sample_squad(folder, date(2026, 5, 14))
    use_squad(context, squad.folder)
    code = next(code for code in squad.codes() if squad.visit_dates(code))
    dated = squad.visit_dates(code)[-1]
    open_run(context, code, dated, squad.run_names(code, dated)[-1])
    for page in VIEWS:
        context.go(page)
        hands.rest_until(lambda page=page: context.places._shown == page)  # type: ignore[misc]  # noqa: SLF001
        hands.rest(0.4)
    use_squad(context, squad.folder)
    context.go("squad")
    hands.rest_until(lambda: context.jobs.is_idle and context.painter.is_idle)
    hands.rest(0.5)
    gc.collect()  # the window does so each minute; what is held then is held for good
    assert state.page == "squad", state.page
    return Count(memory_mb(), len(hands.widgets()), len(hands.root.image_names()), len(ALIVE))


def opened(home: Path, dice: random.Random) -> Driver:
    """Open the window on the sample squad in the home."""
    from tapmark.app.main import assemble, begin

    shutil.copytree(SAMPLES, home / "samples")
    (home / "out").mkdir()
    (home / "list.csv").write_text("code,birth year,event\nQ01,2001,800 m\nQ02,x,\n", "utf-8")
    squad = make_sample_squad(home / "demo", date(2026, 5, 14))
    root, asked = tk.Tk(), Dice(dice, home)
    environment = {"HOME": str(home), "XDG_CACHE_HOME": str(home / "cache")}
    context = assemble(root, environment, "linux", datetime.now, asked)
    driver = Driver(root, context, asked)
    begin(context, squad.folder)
    driver.pump()
    return driver


def renew(hands: Hands, home: Path, n: int) -> None:
    """Open a new sample squad where too little is left, and a run where none is open."""
    from tapmark.app.shell.runs import open_run
    from tapmark.app.shell.squads import use_squad

    context, found = hands.context, list[tuple[str, str, str]]()
    squad = context.state.squad
    with contextlib.suppress(TapmarkError, OSError):
        found = [(c, d, r) for c in squad.codes() for d in squad.visit_dates(c)
                 for r in squad.run_names(c, d)] if squad else []  # fmt: skip
    if len(found) < 4:
        folder = make_sample_squad(home / f"demo-{n}", date(2026, 5, 14)).folder
        context.attempt(lambda: use_squad(context, folder))
    elif not context.state.run_name:
        where = hands.dice.choice(found)
        hands.last.append(f"open {where}")
        context.attempt(lambda: open_run(context, *where))


def one_seed(minutes: int, seed: int, home: Path) -> None:
    """Send events for so long and print a line a minute; raise SystemExit(1) on any trouble."""
    note_galleries()
    dice, guard = random.Random(seed), Guard(home)
    driver = opened(home, dice)
    hands = Hands(driver, dice, guard)
    kept = Kept(driver)
    first = last = counted(hands, home / "at first")
    hands.reset_shown()
    print(f"seed {seed}, at first: {first}", flush=True)
    for minute in range(1, minutes + 1):
        until = time.monotonic() + 60
        while time.monotonic() < until:
            try:
                hands.once()
                if hands.n_events % 200 == 0:
                    renew(hands, home, hands.n_events)
            except Exception:  # noqa: BLE001 - whatever it is, it is a failure to tell of
                hands.errors.append(traceback.format_exc())
            if troubles := hands.troubles(kept):
                raise SystemExit("\n".join([f"seed {seed}, minute {minute}:", *troubles]))
        hands.come_to_rest()
        kept.note()
        kept.look()
        n_pages, n_done = hands.reset_shown()
        if n_pages < LEAST_PAGES or not n_done:
            hands.errors.append(f"led nowhere: {n_pages} pages shown, {n_done} things done")
        try:
            last = counted(hands, home / f"counted {minute}")
            first = last if minute == 1 else first
            hands.reset_shown()  # what counting shows leads nowhere
        except NotSaved as why:  # marks that the disk refused: nothing may be closed
            print(f"seed {seed}, minute {minute}: not counted. {why}", flush=True)
        print(
            f"seed {seed}, minute {minute}: {hands.n_events} events, {last}; "
            f"{n_pages} pages shown, {n_done} things done, "
            f"{kept.n_looked} runs compared with the disk, "
            f"{len(driver.opened)} files handed over, {hands.n_closed} times closed, "
            f"{len(driver.asked.boxes)} dialogs",
            flush=True,
        )
        if troubles := hands.troubles(kept):
            raise SystemExit("\n".join([f"seed {seed}, minute {minute}:", *troubles]))
    more_mb, more_widgets = last.mb - first.mb, last.n_widgets - first.n_widgets
    if more_mb > MOST_MORE_MB or more_widgets > MOST_MORE_WIDGETS or last.n_galleries:
        raise SystemExit(
            f"seed {seed}: grown by {more_mb:.0f} MB and {more_widgets} widgets, "
            f"frames of {last.n_galleries} closed runs held"
        )


def main() -> None:
    """Run each seed in a process and a home of its own; end with 1 where one failed."""
    minutes = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    seeds = [int(word) for word in sys.argv[2:]] or [1, 2, 3]
    failed = []
    for seed in seeds:
        with tempfile.TemporaryDirectory() as folder:
            home = {"HOME": folder, "TMPDIR": folder, "TAPMARK_SEED_HOME": folder}
            command = [sys.executable, "-B", "-m", "tests.long.random_events"]
            done = subprocess.run(
                [*command, str(minutes), str(seed)], env={**os.environ, **home}, check=False
            )
        if done.returncode:
            failed.append(seed)
    print(f"{len(seeds)} seeds of {minutes} minutes: " + (f"{failed} FAILED" if failed else "held"))
    raise SystemExit(bool(failed))


if __name__ == "__main__":
    if home := os.environ.get("TAPMARK_SEED_HOME"):
        one_seed(int(sys.argv[1]), int(sys.argv[2]), Path(home))
    else:
        main()

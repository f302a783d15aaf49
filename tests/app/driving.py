"""Driving the real window: what a coach does with keys and pointer, and how long we wait."""

import hashlib
import sys
import threading
import time
import tkinter as tk
from collections.abc import Callable, Iterator
from functools import partial
from heapq import heappop, heappush
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.widgets.pieces import ActionButton

SAMPLES = Path(__file__).resolve().parents[2] / "sample_frames"
LIMIT_MS = 120_000
drawn_by_tk = pytest.mark.skipif(
    sys.platform != "linux", reason="the system draws the menus, and Tk sends them no events"
)
TURN_MS = 4
REST_MS = 12
WORK_MS = 2  # while a worker is at work the clock goes on as a real one does
MOST_KEPT = 100  # results of each kind; a frame takes 4 MB
MISSING = object()
KEYSYMS = {" ": "space", "-": "minus", ".": "period", ",": "comma", "/": "slash"}


class Asked:
    """Stands for the file dialogs: gives what was laid ready and remembers what was asked."""

    def __init__(self) -> None:
        self.ready: list[Any] = []
        self.boxes: list[str] = []

    def _next(self, what: str, otherwise: Any) -> Any:
        self.boxes.append(what)
        return self.ready.pop(0) if self.ready else otherwise

    def clip(self) -> Path | None:
        return self._next("clip", None)

    def folder(self, title: str) -> Path | None:
        return self._next(title, None)

    def stills(self) -> tuple[Path, ...]:
        return self._next("stills", ())

    def list_file(self) -> Path | None:
        return self._next("list", None)

    def zip_file(self) -> Path | None:
        return self._next("back-up", None)

    def save_as(self, title: str, name: str) -> Path | None:
        return self._next(title, None)


def skip_if_smaller(app: "Driver", size: str) -> None:
    """Skip a test whose window the system made smaller than the test asked for."""
    wide, tall = map(int, size.split("+")[0].split("x"))
    is_smaller = app.root.winfo_width() < wide or app.root.winfo_height() < tall
    if sys.platform == "win32" and is_smaller:
        pytest.skip("Windows makes no window larger than its screen")


class Timers:
    """Stand for Tk's timers: time in which nobody works is skipped, not waited for.

    What was put off is done in the order of its time. now_ms goes on only by go_on.
    """

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.now_ms, self._count = 0.0, 0
        self._queue: list[tuple[float, int]] = []
        self._put_off: dict[int, tuple[tk.Misc, Callable[[], object]]] = {}
        after, cancel = tk.Misc.after, tk.Misc.after_cancel

        def put_off(widget: tk.Misc, ms: Any, func: Any = None, *args: Any) -> str:
            if ms == "idle":
                return after(widget, ms, func, *args)
            self._count += 1
            due_ms = self.now_ms + max(0, int(ms))
            heappush(self._queue, (due_ms, self._count))
            self._put_off[self._count] = widget, partial(func, *args)
            return f"timer {self._count}"

        def taken_back(widget: tk.Misc, name: str) -> None:
            if name.startswith("timer "):
                self._put_off.pop(int(name.removeprefix("timer ")), None)
            else:
                cancel(widget, name)

        monkeypatch.setattr(tk.Misc, "after", put_off)
        monkeypatch.setattr(tk.Misc, "after_cancel", taken_back)

    def next_ms(self) -> float:
        """How long it is until something is due; as long as can be when nothing was put off."""
        while self._queue and self._queue[0][1] not in self._put_off:
            heappop(self._queue)
        return self._queue[0][0] - self.now_ms if self._queue else float("inf")

    def go_on(self, ms: float) -> None:
        """Let so much time go by, at most until the first timer, and do what is due."""
        ms = min(ms, self.next_ms())
        self.now_ms += ms
        if self.next_ms() > 0:
            return
        widget, action = self._put_off.pop(heappop(self._queue)[1])
        try:
            widget.winfo_exists()
        except tk.TclError:  # its window was closed
            return
        try:
            action()
        except Exception:  # noqa: BLE001 - told as Tk tells it
            widget._report_exception()  # type: ignore[attr-defined]  # noqa: SLF001


def same_again(
    function: Callable[..., Any], key: Callable[..., Any], kept: dict[Any, Any]
) -> Callable[..., Any]:
    """Return a function of values that works out what it is asked for the first time only.

    key: arguments → what the result depends on. What was asked longest ago goes, see MOST_KEPT.
    """
    lock = threading.Lock()  # workers ask as well

    def asked(*args: Any) -> Any:
        name = key(*args)
        with lock:
            found = kept.pop(name, MISSING)
        if found is MISSING:
            found = function(*args)
        with lock:
            kept[name] = found
            if len(kept) > MOST_KEPT:
                kept.pop(next(iter(kept)))
        return found

    return asked


def smoothed_again(paint: Callable[..., None], kept: dict[Any, Any]) -> Callable[..., None]:
    """Return what paints shapes over an image, but paints the same over the same only once."""

    def key(image: Any, shapes: Any, fonts: Any) -> tuple[Any, ...]:
        seen = hashlib.blake2b(image.tobytes()).digest()
        return seen, image.size, image.mode, tuple(shapes), fonts.px_per_unit, fonts.family

    def whole(image: Any, shapes: Any, fonts: Any) -> Any:
        paint(image, shapes, fonts)
        return image.copy()

    again = same_again(whole, key, kept)
    return lambda image, shapes, fonts: image.paste(again(image, shapes, fonts))


class Driver:
    """Drives one window by keyboard and pointer, and turns its event loop.

    timers: those of a test; without them time is that of the computer.
    """

    def __init__(
        self, root: tk.Tk, context: Any, asked: Asked, timers: Timers | None = None
    ) -> None:
        self.root, self.context, self.asked, self.timers = root, context, asked, timers
        self.state = context.state
        self.opened: list[Path] = []
        context.open_file = context.print_file = self.opened.append

    @property
    def window(self) -> Any:
        return self.context.places

    @property
    def view(self) -> Any:
        return self.window.views[self.state.page]

    @property
    def bench(self) -> Any:
        """Picture, transport and step line from Film to Review."""
        return self.window.bench

    def pump(self, until: Callable[[], object] = lambda: True, what: str = "") -> None:
        """Turn the loop until something holds and nothing is left to draw."""
        self.rest()
        waited_ms = 0.0
        while not until():
            assert waited_ms < LIMIT_MS, f"waited too long for {what or until}"
            waited_ms += self._turn_once(LIMIT_MS)
        self.rest()

    def rest(self, ms: float = REST_MS) -> None:
        """Let so much time go by."""
        rested_ms = 0.0
        while rested_ms < ms:
            rested_ms += self._turn_once(ms - rested_ms)

    def _turn_once(self, most_ms: float) -> float:
        """Do what is due within a moment and all that is ready; return how long it was, in ms."""
        if self.timers is None:
            turned: list[bool] = []
            self.root.after(TURN_MS, lambda: turned.append(True))
            while not turned:
                self.root.tk.dooneevent(0)
            self.do_what_is_ready()
            return TURN_MS
        self.do_what_is_ready()  # as Tk does before it looks at its timers
        is_at_work = self._is_at_work()
        if is_at_work:
            time.sleep(WORK_MS / 1000)
        turn_ms = min(WORK_MS if is_at_work else most_ms, max(self.timers.next_ms(), 0))
        self.timers.go_on(turn_ms)
        self.do_what_is_ready()
        self.root.winfo_pointerxy()
        while self.do_what_is_ready():
            self.root.winfo_pointerxy()  # the screen has answered all that was asked of it
        return turn_ms

    def _is_at_work(self) -> bool:
        """Say whether a worker or a program is at work, whose result is not there yet."""
        for jobs in (self.context.jobs, self.context.painter):
            if not jobs.is_idle and jobs._results.empty():  # noqa: SLF001
                return True
        return any(thread.name.startswith("ffmpeg") for thread in threading.enumerate())

    def do_what_is_ready(self) -> bool:
        """Handle all events that are there, without waiting; return whether there were any."""
        is_any = False
        while self.root.tk.dooneevent(2):
            is_any = True
        return is_any

    def press(self, *keys: str) -> None:
        """Press keys with the keyboard where it is."""
        for key in keys:
            if key == "Shift-Tab" and self.window.look.system == "x11":
                key = "ISO_Left_Tab"
            widget = self.root.focus_get() or self.root
            widget.event_generate(f"<{key}>")
            self.do_what_is_ready()
        self.pump()

    def keyboard_on(self, widget: tk.Misc) -> None:
        widget.focus_force()
        self.pump(lambda: self.root.focus_get() is widget, "the focus")

    def click(self, widget: tk.Misc, x: float | None = None, y: float | None = None) -> None:
        """Move there, press and let go."""
        at = {
            "x": round(widget.winfo_width() / 2 if x is None else x),
            "y": round(widget.winfo_height() / 2 if y is None else y),
        }
        widget.event_generate("<Enter>", **at)
        widget.event_generate("<Motion>", **at)
        widget.event_generate("<ButtonPress-1>", **at)
        widget.event_generate("<ButtonRelease-1>", **at)
        self.pump()

    def button(self, name: str) -> ActionButton:
        """Return the button of an action, by its name, on the page at hand."""

        def seen(widget: tk.Misc) -> Iterator[ActionButton]:
            for child in widget.children.values():
                if isinstance(child, ActionButton) and child.winfo_ismapped():
                    yield child
                yield from seen(child)

        return next(each for each in seen(self.root) if each.name == name)

    def write(self, field: tk.Misc, text: str) -> None:
        """Type a text into a field, letter by letter."""
        self.keyboard_on(field)
        for letter in text:
            field.event_generate("<Key>", keysym=KEYSYMS.get(letter, letter))
        self.pump()

    def choose(self, box: Any, text: str) -> None:
        """Choose from a list the way a person does: the list's own event follows."""
        box.set(text)
        box.event_generate("<<ComboboxSelected>>")
        self.pump()

    def answer(self, field: str, value: str) -> None:
        """Press the button of an answer to one of the five questions of Film."""
        self.click(self.view.five.asked[field].buttons[value])

    def ask_more(self) -> Any:
        """Put the other questions about the film into the column and return them."""
        if not self.state.film.more:
            self.click(self.button("more about film"))
        return self.view.more

    def go(self, page: str) -> None:
        """Press the step on the ground line."""
        button, _ = self.window.top._steps[page]  # noqa: SLF001
        self.click(button)
        self.pump(lambda: self.state.page == page, page)

    def pick(self, code: str) -> None:
        """Press the row of an athlete on Squad, scrolled to where it is."""
        roster = self.view.roster
        self.pump(lambda: code in roster.codes, code)
        roster.select(code)
        self.pump()
        self.click(roster.canvas, 60, roster.middle_of(code))
        self.pump(lambda: self.state.athlete and self.state.athlete.code == code, code)

    def open_last_run(self) -> None:
        """Press Return on the list of athletes, and wait until the clip is read to its end."""
        self.keyboard_on(self.view.list)
        self.press("Return")
        self.wait_for_clip()

    def wait_for_clip(self) -> None:
        """Turn the loop until every picture of the clip is read."""
        state = self.state
        self.pump(
            lambda: state.marking.gallery and state.marking.gallery.pictures.is_done, "the clip"
        )

    def tap(self, at_px: tuple[float, float]) -> None:
        """Click a picture point on the canvas of the page at hand, to the nearest screen px.

        A person waits until the finished figure of the last key frame has gone.
        """
        self.pump(lambda: not self.state.is_pausing, "the next frame")
        pane = self.bench.pane
        x, y = pane.view.to_canvas(at_px)
        self.click(pane.canvas, x + 2, y + 2)

    def close(self) -> None:
        if self.window:
            self.window.close()


OpenWindow = Callable[..., Driver]

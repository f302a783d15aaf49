"""Driving the real window: what a coach does with keys and pointer, and how long we wait."""

import tkinter as tk
from collections.abc import Callable
from pathlib import Path
from typing import Any

SAMPLES = Path(__file__).resolve().parents[2] / "sample_frames"
LIMIT_MS = 120_000
TURN_MS = 4
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


class Driver:
    """Drives one window by keyboard and pointer, and turns its event loop."""

    def __init__(self, root: tk.Tk, context: Any, asked: Asked) -> None:
        self.root, self.context, self.asked = root, context, asked
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
        late: list[bool] = []
        timer = self.root.after(LIMIT_MS, lambda: late.append(True))
        for _ in range(3):
            self._turn_once()
        while not until():
            assert not late, f"waited too long for {what or until}"
            self._turn_once()
        for _ in range(3):
            self._turn_once()
        self.root.after_cancel(timer)

    def _turn_once(self) -> None:
        turned: list[bool] = []
        self.root.after(TURN_MS, lambda: turned.append(True))
        while not turned:
            self.root.tk.dooneevent(0)
        while self.root.tk.dooneevent(2):  # whatever is ready, without waiting
            pass

    def press(self, *keys: str) -> None:
        """Press keys with the keyboard where it is."""
        for key in keys:
            widget = self.root.focus_get() or self.root
            widget.event_generate(f"<{key}>")
            while self.root.tk.dooneevent(2):  # what the key led to, without waiting
                pass
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
            self.click(self.view.five.more.button)
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

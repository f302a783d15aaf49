"""Small pieces that several pages use."""

import tkinter as tk
from collections.abc import Callable, Sequence
from functools import partial
from tkinter import ttk
from typing import Any

from tapmark.app.action import Action
from tapmark.app.cells import cut
from tapmark.app.column import Column
from tapmark.app.desk import Desk
from tapmark.app.fresh import Fresh
from tapmark.app.keys import spoken
from tapmark.app.style import Look


class ActionButton:
    """A button for one action: greyed out when it cannot be done, with its key in the label."""

    def __init__(
        self,
        parent: tk.Misc,
        desk: Desk,
        look: Look,
        name: str,
        text: str = "",
        *,
        is_primary: bool = False,
        has_key: bool = False,
    ) -> None:
        self.desk, self.name = desk, name
        self._text, self._fresh = text or self.action.label, Fresh()
        keys = self.action.keys if has_key else ()
        self._key = f"  {spoken(keys[0], look.system)}" if keys else ""
        self.button = ttk.Button(
            parent,
            text=self._text + self._key,
            command=partial(desk.perform, name),
            style="Primary.TButton" if is_primary else "TButton",
        )

    @property
    def action(self) -> Action:
        """What the button does; looked up late, since the window stands before all is read."""
        return self.desk.actions[self.name]

    def refresh(self, text: str = "") -> None:
        """Grey out or wake up; show another text where one is given."""
        state = "normal" if self.action.is_available(self.desk) else "disabled"
        if self._fresh.is_new(text, state):
            self.button.configure(text=(text or self._text) + self._key, state=state)

    def grid(self, **options: Any) -> "ActionButton":
        """Place the button and return this."""
        self.button.grid(**options)
        return self


class Typed:
    """A field whose text counts: kept when it is left, on Return, and before any action acts.

    keep: takes the text; returns why it cannot be used, "" when it can.
    What somebody is typing is not overwritten by what is read meanwhile, but goes with its run.
    """

    def __init__(self, desk: Desk, entry: ttk.Entry, keep: Callable[[str], str]) -> None:
        self.desk, self.entry, self._keep = desk, entry, keep
        self._filled, self._whose = entry.get(), desk.state.at_hand()
        for event in ("<FocusOut>", "<Return>"):
            entry.bind(event, lambda event: self.commit())
        desk.fields[str(entry)] = lambda: self.commit()

    @property
    def is_typed(self) -> bool:
        """True when it holds what nobody has kept yet, for the run that is open."""
        now, was = self.desk.state.at_hand(), self._whose
        is_same = now[:3] == was[:3] and was.run in ("", now.run)
        return is_same and self.entry.get() != self._filled

    def fill(self, text: str) -> None:
        """Show the text as it stands, where nobody is typing."""
        if self.is_typed:
            return
        self._whose, self._filled = self.desk.state.at_hand(), text
        if self.entry.get() != text:
            self.entry.delete(0, "end")
            self.entry.insert(0, text)
        self.entry.state(["!invalid"])

    def commit(self) -> str:
        """Keep what was typed; return why it cannot be used, "" when it can or nothing was."""
        if not self.entry.winfo_exists() or not self.is_typed:
            return ""
        text, before = self.entry.get(), self._filled
        self._filled = text
        why = self._keep(text)
        if why:
            self._filled = before
        self.entry.state(["invalid" if why else "!invalid"])
        return why


def button_row(
    foot: ttk.Frame, desk: Desk, look: Look, named: Sequence[tuple[str, str]]
) -> tuple[ttk.Frame, list[ActionButton]]:
    """Put buttons at the right end of a foot and return their box and them.

    named: (action, text or "" for the action's own); the last one is the page's primary button.
    """
    box = ttk.Frame(foot)
    box.grid(row=0, column=0, sticky="e")
    return box, [
        ActionButton(box, desk, look, name, text, is_primary=i == len(named) - 1).grid(
            row=0, column=i, padx=(look.em(1) if i else 0, 0)
        )
        for i, (name, text) in enumerate(named)
    ]


MOST_OF_WINDOW = 0.54  # that words may take: large text on a small screen leaves room for pictures


class Side:
    """A page of two parts: the large one and a column of words, on the side of the free hand.

    width_em: of the column, as asked for or what the window can spare.
    """

    def __init__(self, parent: tk.Misc, desk: Desk, look: Look, width_em: float) -> None:
        self.frame = ttk.Frame(parent)
        pad = look.em(2)
        words, picture = (0, 1) if desk.settings.left_handed else (1, 0)
        self.frame.columnconfigure(picture, weight=1)
        self.frame.rowconfigure(0, weight=1)
        self.large = ttk.Frame(self.frame)
        self.width_em = min(width_em, MOST_OF_WINDOW * _window_px(parent) / look.em(1))
        self.column = Column(self.frame, look, look.em(self.width_em))
        self.words, self.foot = self.column.body, self.column.foot
        left, right = (pad, look.em(1)), (look.em(1), pad)
        self.large.grid(
            row=0,
            column=picture,
            sticky="nsew",
            padx=left if picture == 0 else right,
            pady=(look.em(1.5), look.em(1.5)),
        )
        self.column.outer.grid(
            row=0,
            column=words,
            sticky="nsew",
            padx=(right[0], max(0, pad - self.column.rim)) if words else left,
            pady=(look.em(1.5), look.em(1.5)),
        )
        self.large.columnconfigure(0, weight=1)


def _window_px(widget: tk.Misc) -> int:
    """Return the width of the window, also before it is shown for the first time."""
    window = widget.winfo_toplevel()
    wide = int(str(window.tk.call("wm", "geometry", window)).split("x")[0])
    return wide if wide > 1 else window.winfo_screenwidth()


def fitting(button: ttk.Button, look: Look, text: str) -> str:
    """Return a text that is no wider than a button is now, with an ellipsis where it is cut."""
    room = max(button.winfo_width() - look.em(4), look.em(12))
    return cut(text, room, look.font("body").measure)


def scrolled(tree: ttk.Treeview, parent: tk.Misc, row: int) -> ttk.Scrollbar:
    """Give a list in column 0 a bar in column 1 that shows only when it is needed."""
    bar = ttk.Scrollbar(parent, command=tree.yview, takefocus=0)
    bar.grid(row=row, column=1, sticky="ns")

    def set_bar(first: float, last: float) -> None:
        bar.set(first, last)
        is_whole = float(first) <= 0 and float(last) >= 1  # they come as text
        bar.grid_remove() if is_whole else bar.grid()

    tree.configure(yscrollcommand=set_bar)
    return bar


def wrapped(label: ttk.Label, width: int) -> ttk.Label:
    """Let a label break its lines at a width in px, and return it."""
    label.configure(wraplength=max(1, width - 6), justify="left")  # ttk keeps a rim
    return label

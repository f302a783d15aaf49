"""What the coach should know about the squad, above the list: bold label, sentence, one button."""

import tkinter as tk
from functools import partial
from tkinter import ttk

from tapmark.app.desk import Desk
from tapmark.app.fresh import Fresh
from tapmark.app.squad_side import Notice
from tapmark.app.style import Look

MOST = 3
LABEL_EM = 13


class NoticeStrip:
    """A line for each notice, the first few; it takes no room when there is nothing to say."""

    def __init__(self, parent: tk.Misc, desk: Desk, look: Look) -> None:
        self.desk, self.look, self._fresh = desk, look, Fresh()
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(0, minsize=look.em(LABEL_EM))
        self.frame.columnconfigure(1, weight=1)
        self._words: list[ttk.Label] = []
        self.frame.bind("<Configure>", lambda event: self._wrap())

    def refresh(self, notices: tuple[Notice, ...]) -> None:
        """Show the first few, and how many more there are."""
        if not self._fresh.is_new(notices):
            return
        for child in self.frame.winfo_children():
            child.destroy()
        self._words = []
        if not notices:
            self.frame.grid_remove()
            return
        self.frame.grid()
        shown = [*notices[:MOST]]
        if len(notices) > MOST:
            shown.append(Notice("", f"and {len(notices) - MOST} more, when these are seen to"))
        for row, notice in enumerate(shown):
            self._add(row, notice)
        self._wrap()

    def _add(self, row: int, notice: Notice) -> None:
        pad = (0, self.look.em(1))
        ttk.Label(self.frame, text=notice.label, style="Bold.TLabel").grid(
            row=row, column=0, sticky="nw", pady=pad
        )
        words = ttk.Label(self.frame, text=notice.words, justify="left")
        words.grid(row=row, column=1, sticky="nw", pady=pad)
        self._words.append(words)
        if notice.action:
            ttk.Button(
                self.frame, text=notice.button, command=partial(self.desk.perform, notice.action)
            ).grid(row=row, column=2, sticky="e", padx=(self.look.em(1), 0), pady=pad)

    def _wrap(self) -> None:
        buttons = [w for w in self.frame.winfo_children() if isinstance(w, ttk.Button)]
        taken = max((button.winfo_reqwidth() for button in buttons), default=0)
        room = self.frame.winfo_width() - self.look.em(LABEL_EM + 2) - taken
        for words in self._words:
            words.configure(wraplength=max(self.look.em(20), room))

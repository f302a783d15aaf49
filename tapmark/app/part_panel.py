"""The question for a part of a long clip: small pictures to press, and two fields."""

import tkinter as tk
from tkinter import ttk
from typing import Any

from PIL import ImageTk

from tapmark.app.desk import Desk
from tapmark.app.form import FieldTrouble
from tapmark.app.fresh import Fresh
from tapmark.app.part_deeds import LongClip, around, read_all, read_part
from tapmark.app.style import Look
from tapmark.app.widgets import wrapped

ACROSS = 5
WIDE_EM = 19


class PartPanel:
    """Stands in the place of the picture until a part is chosen."""

    def __init__(self, parent: tk.Misc, desk: Desk, look: Look) -> None:
        self.desk, self.look, self._fresh = desk, look, Fresh()
        self._photos: list[ImageTk.PhotoImage] = []
        self.frame = ttk.Frame(parent)
        self.words = wrapped(ttk.Label(self.frame), look.em(WIDE_EM * ACROSS))
        self.words.grid(row=0, column=0, sticky="w", pady=(0, look.em(1)))
        self.grid = ttk.Frame(self.frame)
        self.grid.grid(row=1, column=0, sticky="w")
        self._build_fields()

    def _build_fields(self) -> None:
        look, box = self.look, ttk.Frame(self.frame)
        box.grid(row=2, column=0, sticky="ew", pady=(look.em(1), 0))
        self.fields: dict[str, ttk.Entry] = {}
        for i, (key, words) in enumerate((("start", "From, s"), ("end", "To, s"))):
            ttk.Label(box, text=words).grid(row=0, column=2 * i, padx=(0, look.em(0.8)))
            field = ttk.Entry(box, width=8)
            field.grid(row=0, column=2 * i + 1, padx=(0, look.em(1.6)))
            field.bind("<Return>", lambda event: self._read())
            self.fields[key] = field
        box.columnconfigure(4, weight=1)
        self.whole = ttk.Button(box, text="Read all of it", command=self._read_all)
        self.whole.grid(row=0, column=5, padx=look.em(1))
        self.part = ttk.Button(box, text="Read this part", command=self._read)
        self.part.grid(row=0, column=6)
        self.trouble = ttk.Label(self.frame, style="Error.TLabel")
        self.trouble.grid(row=3, column=0, sticky="w")

    def _read(self) -> None:
        try:
            read_part(self.desk, self.fields["start"].get(), self.fields["end"].get())
        except FieldTrouble as trouble:
            self.trouble.configure(text=str(trouble))
            self.fields[trouble.field].state(["invalid"])
            return
        self.desk.state.tell()

    def _read_all(self) -> None:
        self.desk.attempt(lambda: read_all(self.desk))

    def refresh(self, found: LongClip) -> None:
        """Show the clip and the part that is offered."""
        if self._fresh.is_new(found.wish):
            self._show_strip(found)
        if self._fresh_part(found):
            for key, value in (("start", found.start_s), ("end", found.end_s)):
                self.fields[key].state(["!invalid"])
                self.fields[key].delete(0, "end")
                self.fields[key].insert(0, f"{value:.1f}")
            self.trouble.configure(text="")

    def _fresh_part(self, found: LongClip) -> bool:
        before, self._part = getattr(self, "_part", None), (found.start_s, found.end_s)
        return before != self._part

    def _show_strip(self, found: LongClip) -> None:
        self.words.configure(text=found.words)
        for child in self.grid.winfo_children():
            child.destroy()
        self._photos = []
        for i, (at_s, image) in enumerate(found.strip):
            small = image.copy()
            small.thumbnail((self.look.em(WIDE_EM - 2), self.look.em(WIDE_EM - 2)))
            photo = ImageTk.PhotoImage(small, master=self.frame)
            self._photos.append(photo)
            button = ttk.Button(
                self.grid,
                image=photo,
                text=f"{at_s:.0f} s",
                compound="top",
                style="Quiet.TButton",
                command=self._around(at_s),
            )
            button.grid(row=i // ACROSS, column=i % ACROSS, padx=self.look.em(0.3))

    def _around(self, at_s: float) -> Any:
        return lambda: self.desk.attempt(lambda: around(self.desk, at_s))

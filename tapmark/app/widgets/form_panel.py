"""Any form, in the place of the athlete's panel: fields, troubles below them, two buttons.

Never a dialog: the list stays in sight, Escape leaves, Return saves.
"""

import tkinter as tk
from collections.abc import Callable, Mapping
from functools import partial
from tkinter import ttk

from tapmark.app.shell.context import Context
from tapmark.app.state.form import NO, YES, Field, FieldTrouble, Form
from tapmark.app.widgets.fields import write_in
from tapmark.app.widgets.pieces import box, emptied, label, put, show, wrapped
from tapmark.app.widgets.theme import Look
from tapmark.errors import TapmarkError

LABEL_EM = 15.5
MORE = "More about the athlete"
NO_FORM = Form("", "", (), {}, lambda entries: None, "")
HALF_TYPED = "Save what you typed here first, or press “Cancel”."


class Tick(ttk.Checkbutton):
    """A box to tick that is read and set like a field."""

    def __init__(self, parent: tk.Misc, words: str) -> None:
        super().__init__(parent, text=words, style="White.TCheckbutton")
        self.state(["!alternate"])

    def get(self) -> str:
        """Return YES or NO."""
        return YES if self.instate(["selected"]) else NO

    def set(self, text: str) -> None:
        """Tick it for YES."""
        self.state(["selected" if text == YES else "!selected"])


class FormPanel:
    """Shows one form at a time.

    opened: makes the form of a name, e.g. "consent". foot: where the buttons stand.
    """

    def __init__(
        self,
        parent: tk.Misc,
        foot: ttk.Frame,
        context: Context,
        look: Look,
        width_em: float,
        opened: Callable[[str], Form],
    ) -> None:
        self.context, self.look, self._opened = context, look, opened
        self._width = look.units(width_em - 6)
        self._name = ""
        self.form = NO_FORM
        self.fields: dict[str, ttk.Entry | Tick] = {}
        self._notes: dict[str, ttk.Label] = {}
        white, gap = "White.TFrame", look.units(1)
        self.frame = ttk.Frame(parent, style=white, padding=(look.units(2.4), look.units(2)))
        self.frame.columnconfigure(0, weight=1)
        self.frame.rowconfigure(5, weight=1)
        pad = (0, look.units(0.8))
        self.title = label(self.frame, 0, "", "WhiteTitle.TLabel", pady=pad)
        self.about = label(self.frame, 1, "", "WhiteMuted.TLabel", wrap=self._width, pady=pad)
        self.inner = box(self.frame, 3, 0, "nsew", grows=1, style=white)
        self.inner.columnconfigure(0, minsize=look.units(LABEL_EM))
        self._shown_later: list[ttk.Widget] = []
        more = ttk.Button(self.frame, text=MORE, command=self._show_more)
        self.more = put(more, 4, 0, "w", pady=(gap, 0))
        self.shortcuts = box(self.frame, 2, 0, "w", style=white, pady=(0, gap))
        self.foot = box(foot, 0, grows=0)
        leave = ttk.Button(self.foot, text="Cancel", command=partial(context.perform, "leave"))
        self.leave = put(leave, 0, 1, padx=look.units(1))
        save = ttk.Button(self.foot, text="Save", style="Primary.TButton", command=self.save)
        self.save_button = put(save, 0, 2)
        self._filled: dict[str, str] = {}
        context.fields[f"{self.frame} form"] = self._half_typed

    def show(self, name: str) -> bool:
        """Bring a form to the front, filled once; return whether its fields are new."""
        put(self.frame, 0, 0, "nsew")
        self.foot.grid()
        if name == self._name:
            return False
        self._name = name
        self.form = form = self._opened(name)
        self.title.configure(text=form.title)
        self.about.configure(text=form.about)
        show(self.about, bool(form.about))
        emptied(self.inner)
        self.fields, self._notes, self._shown_later = {}, {}, []
        for i, field in enumerate(form.fields):
            self._make_field(self.inner, 2 * i, field)
        self._fill(form.entries)
        self._filled = self._entries()
        show(self.more, bool(self._shown_later))
        for widget in self._shown_later:
            widget.grid_remove()
        emptied(self.shortcuts)
        show(self.shortcuts, bool(form.shortcuts))
        for i, (words, entries) in enumerate(form.shortcuts):
            take = partial(self._take_shortcut, entries)
            made = ttk.Button(self.shortcuts, text=words, command=take)
            put(made, 0, i, padx=(0, self.look.units(1)))
        self.fields[form.first].focus_set()
        return True

    def hide(self) -> bool:
        """Put the form away; return whether it was open."""
        was_open, self._name = bool(self._name), ""
        self.frame.grid_remove()
        self.foot.grid_remove()
        return was_open

    def _show_more(self) -> None:
        """Show the fields that may be filled in later; what is typed stays."""
        self.more.grid_remove()
        for widget in self._shown_later:
            if not (isinstance(widget, ttk.Label) and not widget.cget("text")):
                widget.grid()
        later = next(field for field in self.form.fields if field.is_later)
        self.fields[later.key].focus_set()

    def _entries(self) -> dict[str, str]:
        return {key: entry.get() for key, entry in self.fields.items()}

    def _half_typed(self) -> str:
        """Why nothing else can be done: what was typed here is neither saved nor left."""
        if not self.frame.winfo_exists():
            return ""
        is_open = bool(self._name) and self.context.state.around.squad.form == self._name
        return HALF_TYPED if is_open and self._entries() != self._filled else ""

    def _make_field(self, inner: ttk.Frame, row: int, field: Field) -> None:
        look, width = self.look, self._width - self.look.units(LABEL_EM + 2)
        note = ttk.Label(inner, text=field.note, style="WhiteMuted.TLabel")
        entry: ttk.Entry | Tick
        if field.is_tick:
            entry = put(Tick(inner, field.words), row, 0, "w", columnspan=2)
            wrapped(note, self._width - look.units(3))
            put(note, row + 1, 0, "w", columnspan=2, padx=(look.units(3), 0))
        else:
            named = label(inner, row, field.words, "White.TLabel", padx=(0, look.units(1)))
            self._shown_later += [named] if field.is_later else []
            if field.choices:
                entry = ttk.Combobox(inner, values=field.choices, state="readonly")
            else:
                entry = ttk.Entry(inner)
            put(entry, row, 1, "ew", pady=(look.units(0.5), look.units(0.2)))
            entry.bind("<Configure>", lambda event: wrapped(note, event.width))
            put(wrapped(note, width), row + 1, 1, "w")
        entry.bind("<Return>", lambda event: self.save())
        show(note, bool(field.note))
        self.fields[field.key], self._notes[field.key] = entry, note
        self._shown_later += [entry, note] if field.is_later else []

    def _fill(self, entries: Mapping[str, str]) -> None:
        for key, text in entries.items():
            entry = self.fields[key]
            if isinstance(entry, ttk.Combobox | Tick):
                entry.set(text)
            else:
                write_in(entry, text)
        for field in self.form.fields:
            if field.is_fixed:
                self.fields[field.key].state(["disabled"])

    def _take_shortcut(self, entries: Mapping[str, str]) -> None:
        """Fill fields in one go; the keyboard goes on to the first one that is typed in."""
        self._fill(entries)
        typed = (self.fields[f.key] for f in self.form.fields if not f.is_tick)
        next(iter(typed), self.save_button).focus_set()

    def save(self) -> None:
        """Write what was typed; a field that cannot be used says so below itself."""
        for field in self.form.fields:
            note = self._notes[field.key]
            self.fields[field.key].state(["!invalid"])
            note.configure(text=field.note, style="WhiteMuted.TLabel")
            show(note, bool(field.note))
        try:
            self.form.save(self._entries())
            self._filled = self._entries()
            self.context.state.notify()
        except FieldTrouble as trouble:
            self._show_trouble(trouble)
        except TapmarkError as trouble:
            self.context.failed(trouble)

    def _show_trouble(self, trouble: FieldTrouble) -> None:
        note, entry = self._notes[trouble.field], self.fields[trouble.field]
        if entry in self._shown_later:
            self._show_more()
        note.configure(text=str(trouble), style="WhiteError.TLabel")
        note.grid()
        entry.state(["invalid"])
        entry.focus_set()

"""Any form, in the place of the athlete's panel: fields, troubles below them, two buttons.

Never a dialog: the list stays in sight, Escape leaves, Return saves.
"""

import tkinter as tk
from collections.abc import Callable, Mapping
from functools import partial
from tkinter import ttk

from tapmark.app.shell.context import Context
from tapmark.app.state.form import NO, YES, Field, FieldTrouble, Form
from tapmark.app.widgets.pieces import emptied, label, put, wrapped, write_in
from tapmark.app.widgets.theme import Look
from tapmark.errors import TapmarkError

LABEL_EM = 15.5
MORE = "More about the athlete"
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
        self.form: Form | None = None
        self.fields: dict[str, ttk.Entry | Tick] = {}
        self._notes: dict[str, ttk.Label] = {}
        self.frame = ttk.Frame(
            parent, style="White.TFrame", padding=(look.units(2.4), look.units(2))
        )
        self.frame.columnconfigure(0, weight=1)
        self.frame.rowconfigure(5, weight=1)
        pad = (0, look.units(0.8))
        self.title = label(self.frame, 0, "", "WhiteTitle.TLabel", pady=pad)
        self.about = label(self.frame, 1, "", "WhiteMuted.TLabel", wrap=self._width, pady=pad)
        self.inner = put(ttk.Frame(self.frame, style="White.TFrame"), 3, 0, "nsew")
        self._shown_later: list[ttk.Widget] = []
        more = ttk.Button(self.frame, text=MORE, command=self._show_more)
        self.more = put(more, 4, 0, "w", pady=(look.units(1), 0))
        self.shortcuts = ttk.Frame(self.frame, style="White.TFrame")
        self.foot = put(ttk.Frame(foot), 0, 0, "ew")
        self.foot.columnconfigure(0, weight=1)
        leave = ttk.Button(self.foot, text="Cancel", command=partial(context.perform, "leave"))
        self.leave = put(leave, 0, 1, padx=look.units(1))
        save = ttk.Button(self.foot, text="Save", style="Primary.TButton", command=self.save)
        self.save_button = put(save, 0, 2)
        self._filled: dict[str, str] = {}
        context.fields[f"{self.frame} form"] = self._half_typed

    def show(self, name: str) -> bool:
        """Bring a form to the front, filled once; return whether its fields are new."""
        self.frame.grid(row=0, column=0, sticky="nsew")
        self.foot.grid()
        if name == self._name:
            return False
        self._name = name
        self.form = form = self._opened(name)
        self.title.configure(text=form.title)
        self.about.configure(text=form.about)
        self.about.grid() if form.about else self.about.grid_remove()
        self._make_fields(form)
        self._make_shortcuts(form)
        self.fields[form.first].focus_set()
        return True

    def hide(self) -> bool:
        """Put the form away; return whether it was open."""
        was_open, self._name = bool(self._name), ""
        self.frame.grid_remove()
        self.foot.grid_remove()
        return was_open

    def _make_fields(self, form: Form) -> None:
        inner = emptied(self.inner)
        inner.columnconfigure(0, minsize=self.look.units(LABEL_EM))
        inner.columnconfigure(1, weight=1)
        self.fields, self._notes, self._shown_later = {}, {}, []
        for i, field in enumerate(form.fields):
            self._make_field(inner, 2 * i, field)
        self._fill(form.entries)
        self._filled = self._entries()
        has_more = bool(self._shown_later)
        self.more.grid() if has_more else self.more.grid_remove()
        for widget in self._shown_later:
            widget.grid_remove()

    def _make_shortcuts(self, form: Form) -> None:
        emptied(self.shortcuts)
        if not form.shortcuts:
            self.shortcuts.grid_remove()
            return
        gap = self.look.units(1)
        self.shortcuts.grid(row=2, column=0, sticky="w", pady=(0, gap))
        for i, (words, entries) in enumerate(form.shortcuts):
            take = partial(self._take_shortcut, entries)
            button = ttk.Button(self.shortcuts, text=words, command=take)
            button.grid(row=0, column=i, padx=(0, gap))

    def _show_more(self) -> None:
        """Show the fields that may be filled in later; what is typed stays."""
        self.more.grid_remove()
        for widget in self._shown_later:
            if not (isinstance(widget, ttk.Label) and not widget.cget("text")):
                widget.grid()
        later = next(field for field in self.form.fields if field.is_later) if self.form else None
        if later:
            self.fields[later.key].focus_set()

    def _entries(self) -> dict[str, str]:
        return {key: entry.get() for key, entry in self.fields.items()}

    def _half_typed(self) -> str:
        """Why nothing else can be done: what was typed here is neither saved nor left."""
        if not self.frame.winfo_exists() or self.form is None:
            return ""
        is_open = bool(self._name) and self.context.state.around.squad.form == self._name
        return HALF_TYPED if is_open and self._entries() != self._filled else ""

    def _make_field(self, inner: ttk.Frame, row: int, field: Field) -> None:
        look = self.look
        entry: ttk.Entry | Tick
        if field.is_tick:
            entry = Tick(inner, field.words)
            entry.grid(row=row, column=0, columnspan=2, sticky="w")
        else:
            named = label(inner, row, field.words, "White.TLabel", padx=(0, look.units(1)))
            self._shown_later += [named] if field.is_later else []
            if field.choices:
                entry = ttk.Combobox(inner, values=field.choices, state="readonly")
            else:
                entry = ttk.Entry(inner)
            entry.grid(row=row, column=1, sticky="ew", pady=(look.units(0.5), look.units(0.2)))
        entry.bind("<Return>", lambda event: self.save())
        width = self._width - look.units(3 if field.is_tick else LABEL_EM + 2)
        note = wrapped(ttk.Label(inner, text=field.note, style="WhiteMuted.TLabel"), width)
        if not field.is_tick:
            entry.bind("<Configure>", lambda event: wrapped(note, event.width))
        if field.is_tick:
            note.grid(row=row + 1, column=0, columnspan=2, sticky="w", padx=(look.units(3), 0))
        else:
            note.grid(row=row + 1, column=1, sticky="w")
        if not field.note:
            note.grid_remove()
        self.fields[field.key], self._notes[field.key] = entry, note
        if field.is_later:
            self._shown_later += [entry, note]

    def _fill(self, entries: Mapping[str, str]) -> None:
        for key, text in entries.items():
            entry = self.fields[key]
            if isinstance(entry, ttk.Combobox | Tick):
                entry.set(text)
            else:
                write_in(entry, text)
        for field in self.form.fields if self.form else ():
            if field.is_fixed:
                self.fields[field.key].state(["disabled"])

    def _take_shortcut(self, entries: Mapping[str, str]) -> None:
        """Fill fields in one go; the keyboard goes on to the first one that is typed in."""
        self._fill(entries)
        typed = (self.fields[f.key] for f in self.form.fields if not f.is_tick) if self.form else ()
        next(iter(typed), self.save_button).focus_set()

    def save(self) -> None:
        """Write what was typed; a field that cannot be used says so below itself."""
        form = self.form
        if form is None:
            return
        self._clear_troubles(form)
        try:
            form.save(self._entries())
            self._filled = self._entries()
            self.context.state.notify()
        except FieldTrouble as trouble:
            self._show_trouble(trouble)
        except TapmarkError as trouble:
            self.context.failed(trouble)

    def _clear_troubles(self, form: Form) -> None:
        for field in form.fields:
            note = self._notes[field.key]
            self.fields[field.key].state(["!invalid"])
            note.configure(text=field.note, style="WhiteMuted.TLabel")
            note.grid() if field.note else note.grid_remove()

    def _show_trouble(self, trouble: FieldTrouble) -> None:
        note, entry = self._notes[trouble.field], self.fields[trouble.field]
        if entry in self._shown_later:
            self._show_more()
        note.configure(text=str(trouble), style="WhiteError.TLabel")
        note.grid()
        entry.state(["invalid"])
        entry.focus_set()

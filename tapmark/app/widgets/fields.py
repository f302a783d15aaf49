"""Fields whose text or choice counts, kept when they are left and before any action acts."""

import tkinter as tk
from collections.abc import Callable
from tkinter import ttk
from typing import Any

from tapmark.app.shell.context import Context
from tapmark.app.state.form import FieldTrouble
from tapmark.errors import StopwatchUnusable, TapmarkError


class Typed:
    """A field whose text counts: kept when it is left, on Return, and before any action acts.

    keep: takes the text, as an action; where it cannot be used it raises FieldTrouble, or returns
        why.
    What is being typed is not overwritten by what is read meanwhile; another run empties it.
    """

    def __init__(self, context: Context, entry: ttk.Entry, keep: Callable[[str], object]) -> None:
        self.context, self.entry, self._keep = context, entry, keep
        self._filled, self._whose, self._why = entry.get(), context.state.at_hand(), ""
        for event in ("<FocusOut>", "<Return>"):
            entry.bind(event, lambda event: self.commit())
        context.fields[str(entry)] = self.commit

    @property
    def is_typed(self) -> bool:
        """True when it holds text of the open run that is not kept yet."""
        now, was = self.context.state.at_hand(), self._whose
        is_same = now[:3] == was[:3] and was.run in ("", now.run)
        return is_same and self.entry.get() != self._filled

    def fill(self, text: str) -> None:
        """Show the text as it stands, unless the field is being typed in."""
        if self.is_typed:
            return
        self._whose, self._filled = self.context.state.at_hand(), text
        if self.entry.get() != text:
            write_in(self.entry, text)
        self.entry.state(["!invalid"])

    def commit(self) -> str:
        """Keep what was typed; return why it cannot be used, "" when it can or nothing was."""
        if not self.entry.winfo_exists() or not self.is_typed:
            return ""
        text, before = self.entry.get(), self._filled
        self._filled, self._why, has_acted = text, "", False

        def keep() -> None:
            nonlocal has_acted
            has_acted = True
            try:
                told = self._keep(text)
                self._why = told if isinstance(told, str) else ""
            except FieldTrouble as trouble:
                self._why = str(trouble)

        self.context.attempt(keep)
        if self._why or not has_acted:  # or another field is to be mended first: kept after that
            self._filled = before
        if not has_acted:
            return ""
        self.entry.state(["invalid" if self._why else "!invalid"])
        return self._why


def tried(
    context: Context, action: Callable[[], object], field: ttk.Entry, words: ttk.Label
) -> str:
    """Do what takes a typed text; return why that cannot be used, also told in words, or ""."""
    try:
        action()
    except (FieldTrouble, StopwatchUnusable) as trouble:
        words.configure(text=str(trouble), style="Error.TLabel")
        field.state(["invalid"])
        return str(trouble)
    except TapmarkError as trouble:
        context.failed(trouble)
        return str(trouble)
    return ""


def choice(parent: tk.Misc, keep: Callable[[str], object], **options: Any) -> ttk.Combobox:
    """Return a list to choose from; keep gets the words that were chosen."""
    box = ttk.Combobox(parent, state="readonly", **options)
    box.bind("<<ComboboxSelected>>", lambda event: keep(box.get()))
    return box


def write_in(entry: ttk.Entry, text: str) -> None:
    """Put a text into a field in place of what stands in it."""
    entry.delete(0, "end")
    entry.insert(0, text)

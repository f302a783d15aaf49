"""What may be a slip, said beside the frame, with a button that goes there or mends it.

Never a dialog.
"""

import tkinter as tk
from tkinter import ttk

from tapmark.app.shell.context import Context
from tapmark.app.shell.rates import offer_words
from tapmark.app.widgets.pieces import ActionButton, Fresh, fold, wrap_within, wrapped
from tapmark.app.widgets.theme import Look
from tapmark.measures.result import MarkingCheck


class CheckPanel:
    """A bold label, plain sentences, a button to go there, one to take the rate that fits.

    It takes no room when there is nothing to say.
    """

    def __init__(
        self,
        parent: tk.Misc,
        context: Context,
        look: Look,
        width: int,
        most: int,
    ) -> None:
        self._fresh, self._most = Fresh(), most
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(0, weight=1)
        self.title = ttk.Label(self.frame, style="Bold.TLabel")
        self.title.grid(row=0, column=0, sticky="w")
        self.button = ActionButton(context=context, parent=self.frame, look=look, name="look again")
        self.words = wrapped(ttk.Label(self.frame), width)
        wrap_within(self.words, self.frame)
        self.words.grid(row=1, column=0, columnspan=2, sticky="w", pady=(look.units(0.3), 0))
        self.context = context
        self.offer = ActionButton(context=context, parent=self.frame, look=look, name="take rate")
        self.offer.grid(row=3, column=0, columnspan=2, sticky="w", pady=(look.units(0.5), 0))
        fold(self.frame, (self.title, self.button.button), look.units(1), self._lay_out)

    def _lay_out(self, is_folded: bool) -> None:
        if is_folded:
            self.button.grid(row=2, column=0, sticky="w")
        else:
            self.button.grid(row=0, column=1, sticky="e")

    def refresh(self, checks: tuple[MarkingCheck, ...]) -> None:
        """Show the first few, and how many more there are."""
        offer = offer_words(self.context.state)
        if not self._fresh.is_new(checks, offer):
            return
        if not checks:
            self.frame.grid_remove()
            return
        self.frame.grid()
        more = len(checks) - self._most
        self.title.configure(text="Marking check" if len(checks) == 1 else "Marking checks")
        words = [check.words for check in checks[: self._most]]
        self.words.configure(text="\n".join([*words, *([f"and {more} more"] if more > 0 else [])]))
        self.button.refresh("Look again  K")
        can_go = self.button.action.is_available(self.context)
        self.button.button.grid() if can_go else self.button.button.grid_remove()
        self.offer.button.grid() if offer else self.offer.button.grid_remove()
        self.offer.refresh(f"{offer}  Y")


class RetapPanel:
    """What to tap once more, and a button that leads there; no room when nothing would help."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look, width: int) -> None:
        self._fresh = Fresh()
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(0, weight=1)
        self.words = wrapped(ttk.Label(self.frame), width)
        wrap_within(self.words, self.frame)
        self.words.grid(row=0, column=0, sticky="w")
        self.button = ActionButton(self.frame, context, look, "tap more", has_key=True)
        self.button.grid(row=1, column=0, sticky="w", pady=(look.units(0.3), 0))

    def refresh(self, words: str) -> None:
        """Show the sentence, or nothing."""
        if self._fresh.is_new(words):
            self.words.configure(text=words)
            self.frame.grid() if words else self.frame.grid_remove()
            self.button.refresh()

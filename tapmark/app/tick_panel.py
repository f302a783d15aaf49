"""The boxes of one sheet typed back in: a line of letters, read back in words at once."""

import tkinter as tk
from tkinter import ttk

from tapmark.app.desk import Desk
from tapmark.app.form import FieldTrouble
from tapmark.app.fresh import Fresh
from tapmark.app.season_deeds import keep_ticks, visit_of
from tapmark.app.style import Look
from tapmark.app.ticks import HELP, SAW, ticks_from, ticks_text, ticks_words
from tapmark.app.widgets import wrapped
from tapmark.errands.season import WorkedOn
from tapmark.errors import TapmarkError
from tapmark.marks.days import long_day


class TickPanel:
    """Field, the coach's own box, and what was read."""

    def __init__(self, parent: tk.Misc, desk: Desk, look: Look, width_em: float) -> None:
        self.desk, self.look, self._fresh = desk, look, Fresh()
        self._visit: WorkedOn | None = None
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(1, weight=1)
        self.title = ttk.Label(self.frame, style="Bold.TLabel")
        self.title.grid(row=0, column=0, columnspan=3, sticky="w", pady=(0, look.em(0.6)))
        ttk.Label(self.frame, text="Boxes").grid(row=1, column=0, sticky="w")
        self.field = ttk.Entry(self.frame)
        self.field.grid(row=1, column=1, sticky="ew", padx=look.em(1), pady=look.em(0.4))
        self.field.bind("<Key>", lambda event: self.field.after_idle(self._read))
        self.field.bind("<Return>", lambda event: self.keep())
        ttk.Label(self.frame, text="I saw it").grid(row=2, column=0, sticky="w")
        self.saw = ttk.Combobox(self.frame, values=SAW, state="readonly", width=14)
        self.saw.grid(row=2, column=1, sticky="w", padx=look.em(1), pady=look.em(0.4))
        self.button = ttk.Button(self.frame, text="Keep the boxes", command=self.keep)
        self.button.grid(row=2, column=2)
        self._filled = ("", "")
        self._whose: tuple[tuple[str, ...], str] = ((), "")
        desk.fields[f"{self.frame} boxes"] = self._commit
        self.words = wrapped(ttk.Label(self.frame, style="Muted.TLabel"), look.em(width_em - 2))
        self.words.grid(row=3, column=0, columnspan=3, sticky="w", pady=(look.em(0.4), 0))

    def refresh(self, visit: WorkedOn | None) -> None:
        """Show the boxes of a visit."""
        side = self.desk.state.side
        if visit is None:
            self.frame.grid_remove()
            return
        self.frame.grid()
        if self._fresh.is_new(visit):
            self._visit = visit
            sheet = f"sheet {visit.sheet_number}" if visit.sheet_number else "the sheet"
            self.title.configure(text=f"The boxes of {sheet}, {long_day(visit.dated)}")
            self._fill(visit)
        if side.wants_ticks:
            side.wants_ticks = False
            self.field.focus_set()
            self.field.icursor("end")

    def _fill(self, visit: WorkedOn) -> None:
        squad, athlete = self.desk.state.squad, self.desk.state.athlete
        if squad is None or athlete is None:
            return
        try:
            ticked = squad.visit(athlete.code, visit.dated).ticked
        except TapmarkError:
            ticked = ()  # the list has told it already
        self.field.delete(0, "end")
        self.field.insert(0, ticks_text(ticked))
        self.saw.set(visit.coach_saw if visit.coach_saw in SAW else "")
        self._filled = (self.field.get(), self.saw.get())
        self._whose = (self.desk.state.at_hand()[:2], visit.dated)
        self._read()

    def _commit(self) -> str:
        """Keep what was typed before anything else is done; return why it cannot be."""
        if not self.frame.winfo_exists() or self._visit is None:
            return ""
        now = visit_of(self.desk)
        is_mine = self._whose == (self.desk.state.at_hand()[:2], now.dated if now else "")
        if not is_mine or (self.field.get(), self.saw.get()) == self._filled:
            return ""
        return self.keep()

    def _read(self) -> None:
        """Say back what was typed."""
        today = self.desk.now().date().isoformat()
        try:
            ticked = ticks_from(self.field.get(), self._visit.dated if self._visit else "", today)
        except FieldTrouble as trouble:
            self._tell(str(trouble), is_trouble=True)
            return
        self._tell(ticks_words(ticked) or HELP)

    def _tell(self, words: str, *, is_trouble: bool = False) -> None:
        self.words.configure(text=words, style="Error.TLabel" if is_trouble else "Muted.TLabel")
        self.field.state(["invalid" if is_trouble else "!invalid"])

    def keep(self) -> str:
        """Write the boxes; what cannot be read says so below. Return why, "" when they are kept."""
        typed = (self.field.get(), self.saw.get())
        try:
            keep_ticks(self.desk, *typed)
        except FieldTrouble as trouble:
            self._tell(str(trouble), is_trouble=True)
            return str(trouble)
        except TapmarkError as trouble:
            self.desk.failed(trouble)
            return str(trouble)
        self._filled = typed
        return ""

"""The Squad page: who is due, who may be filmed, and one athlete beside the list."""

import tkinter as tk
from tkinter import ttk

from tapmark.app.athlete_form import AthleteForm
from tapmark.app.athlete_panel import AthletePanel
from tapmark.app.desk import Desk
from tapmark.app.fresh import Fresh
from tapmark.app.review_deeds import thing_of
from tapmark.app.roster import LATER, NOT_NOW, NOW, Row, rows
from tapmark.app.squad_deeds import choose_athlete
from tapmark.app.style import Look
from tapmark.app.titles import day
from tapmark.app.widgets import ActionButton, Side
from tapmark.drawing import palette

COLUMNS = (
    ("event", "event", 14),
    ("last", "last visit", 13),
    ("thing", "one thing now", 24),
    ("again", "film again", 19),
    ("consent", "consent", 24),
)
WORDS_EM = 49


class SquadView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, desk: Desk, look: Look) -> ttk.Frame:
        """Make the widgets."""
        self.desk, self.look, self._fresh = desk, look, Fresh()
        self._is_filling = False
        side = Side(parent, desk, look, WORDS_EM)
        side.large.rowconfigure(1, weight=1)
        self._build_bar(side.large)
        self._build_list(side.large)
        self._build_empty(side.large)
        self.white = ttk.Frame(side.words, style="White.TFrame")
        self.white.grid(row=0, column=0, sticky="nsew")
        side.words.rowconfigure(0, weight=1)
        self.white.columnconfigure(0, weight=1)
        self.white.rowconfigure(0, weight=1)
        self.panel = AthletePanel(self.white, desk, look, WORDS_EM)
        self.form = AthleteForm(self.white, desk, look, WORDS_EM)
        return side.frame

    def _build_bar(self, parent: ttk.Frame) -> None:
        look = self.look
        self.bar = ttk.Frame(parent)
        self.bar.grid(row=0, column=0, sticky="ew", pady=(0, look.em(1.2)))
        self.bar.columnconfigure(2, weight=1)
        ttk.Label(self.bar, text="Find", style="Muted.TLabel").grid(row=0, column=0)
        self.find = ttk.Entry(self.bar, width=14)
        self.find.grid(row=0, column=1, padx=look.em(1.2))
        self.find.bind("<KeyRelease>", lambda event: self.refresh())
        self.find.bind("<Return>", lambda event: self._first_found())
        for i, name in enumerate(("open squad", "add athlete")):
            ActionButton(self.bar, self.desk, look, name).grid(
                row=0, column=3 + i, padx=(look.em(1), 0)
            )

    def _build_list(self, parent: ttk.Frame) -> None:
        look = self.look
        self.list = ttk.Treeview(
            parent, columns=[key for key, _, _ in COLUMNS], selectmode="browse"
        )
        self.list.heading("#0", text="code", anchor="w")
        self.list.column("#0", width=look.em(16), minwidth=look.em(12), stretch=False)
        for key, words, width in COLUMNS:
            self.list.heading(key, text=words, anchor="w")
            self.list.column(key, width=look.em(width), minwidth=look.em(8), anchor="w")
        self.list.tag_configure("group", font=look.font("bold"))
        self.list.tag_configure("quiet", foreground=palette.MUTED)
        self.list.grid(row=1, column=0, sticky="nsew")
        self.list.bind("<<TreeviewSelect>>", self._selected)
        self.list.bind("<Return>", lambda event: self.desk.perform("open last"))
        self.list.bind("<Double-1>", lambda event: self.desk.perform("open last"))

    def _build_empty(self, parent: ttk.Frame) -> None:
        look = self.look
        self.empty = ttk.Frame(parent)
        self.empty_words = ttk.Label(self.empty, style="Head.TLabel")
        self.empty_words.grid(row=0, column=0, columnspan=2, sticky="w", pady=look.em(2))
        self.empty_buttons: dict[str, ttk.Button] = {}
        for i, name in enumerate(("make squad", "open squad", "add athlete")):
            made = ActionButton(self.empty, self.desk, look, name)
            made.grid(row=1, column=i, sticky="w", padx=(0, look.em(1)))
            self.empty_buttons[name] = made.button

    def show(self) -> None:
        """Give the keyboard to the list, on the athlete who is due first."""
        self._fresh.forget()
        self.list.focus_set()
        rows_there = self._rows()
        if self.desk.state.athlete is None and rows_there:
            self.desk.attempt(lambda: choose_athlete(self.desk, rows_there[0].code))

    def refresh(self) -> None:
        """Show the list, the athlete, or the form."""
        state = self.desk.state
        found = self._found(self._rows())
        if self._fresh.is_new(found, state.squad is None):
            self._fill(found)
        self._refresh_empty(bool(state.squad), bool(state.roster))
        self._select(state.athlete.code if state.athlete else "")
        if state.form:
            self.panel.frame.grid_remove()
            self.form.show(state.form)
        else:
            self.panel.refresh()
            if self.form.hide():  # the keyboard was in a field that is gone now
                self.list.focus_set()

    def _rows(self) -> tuple[Row, ...]:
        state = self.desk.state
        squad = state.squad
        if squad is None:
            return ()
        return rows(
            state.roster,
            squad.visit_dates,
            thing_of(self.desk),
            self.desk.now().date(),
            squad.choices.rota_weeks,
        )

    def _found(self, every: tuple[Row, ...]) -> tuple[Row, ...]:
        wanted = self.find.get().strip().lower()
        return tuple(row for row in every if wanted in f"{row.code} {row.event}".lower())

    def _first_found(self) -> None:
        found = self._found(self._rows())
        if found:
            self.desk.attempt(lambda: choose_athlete(self.desk, found[0].code))
            self.list.focus_set()

    def _fill(self, found: tuple[Row, ...]) -> None:
        self._is_filling = True
        self.list.delete(*self.list.get_children())
        for group in (NOW, LATER, NOT_NOW):
            mine = [row for row in found if row.group == group]
            if not mine:
                continue
            if self.list.get_children():
                self.list.insert("", "end", values=("",))
            self.list.insert("", "end", text=group, tags=("group",))
            for row in mine:
                values = (row.event, row.last, row.thing, row.again, row.consent)
                tags = ("quiet",) if group == NOT_NOW else ()
                self.list.insert(
                    "", "end", f"athlete {row.code}", text=f"  {row.code}", values=values, tags=tags
                )
        self._is_filling = False

    def _refresh_empty(self, has_squad: bool, has_athletes: bool) -> None:
        if has_squad and has_athletes:
            self.empty.grid_remove()
            self.bar.grid()
            self.list.grid()
            return
        self.bar.grid_remove()
        self.list.grid_remove()
        words = "No athletes yet. Add one." if has_squad else "No squad open. Make one or open one."
        self.empty_words.configure(text=words)
        for name, button in self.empty_buttons.items():
            if (name == "add athlete") == has_squad:
                button.grid()
            else:
                button.grid_remove()
        self.empty.grid(row=1, column=0, sticky="n")

    def _select(self, code: str) -> None:
        item = f"athlete {code}"
        if code and self.list.exists(item) and self.list.selection() != (item,):
            self.list.selection_set(item)
            self.list.focus(item)
            self.list.see(item)

    def _selected(self, event: "tk.Event[tk.Misc]") -> None:
        chosen = self.list.selection()
        if self._is_filling or not chosen or not chosen[0].startswith("athlete "):
            return
        code = chosen[0].removeprefix("athlete ")
        athlete = self.desk.state.athlete
        if athlete is None or athlete.code != code:
            self.desk.attempt(lambda: choose_athlete(self.desk, code))

    def hint(self) -> str:
        """What to do now."""
        state = self.desk.state
        if not state.squad:
            return "A squad is a folder with everything of one training group."
        if state.form:
            return "Tab moves through the fields, Return saves, Escape leaves the form."
        return "Return opens the athlete. Type a code to find it."

    def corner(self) -> str:
        """When the last back-up was made."""
        squad = self.desk.state.squad
        if not squad:
            return ""
        backed_up = squad.choices.backed_up
        return f"Last back-up {day(backed_up, with_year=False)}" if backed_up else "No back-up yet"

"""The Squad page: who is due, who may be filmed, and one athlete beside the list."""

import tkinter as tk
from tkinter import ttk

from tapmark.app.athlete_panel import AthletePanel
from tapmark.app.cells import Cells
from tapmark.app.desk import Desk
from tapmark.app.folding import fold_second
from tapmark.app.form_panel import FormPanel
from tapmark.app.fresh import Fresh
from tapmark.app.notice_strip import NoticeStrip
from tapmark.app.squad_deeds import choose_athlete, refresh_roster
from tapmark.app.squad_forms import form_of
from tapmark.app.squad_side import ARCHIVED, GROUPS, NOT_NOW, NOW, Row
from tapmark.app.style import Look
from tapmark.app.widgets import ActionButton, Side, scrolled
from tapmark.drawing import palette
from tapmark.marks.days import long_day

COLUMNS = (
    ("event", "event"),
    ("last", "last visit"),
    ("thing", "one thing now"),
    ("again", "film again"),
    ("consent", "consent"),
)
WORDS_EM = 49
NEEDS = {"event": 100, "last": 84, "thing": 0, "again": 0, "consent": 70}
"""Width of the list, in u, below which a column is left out rather than cut."""


class SquadView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, desk: Desk, look: Look) -> ttk.Frame:
        """Make the widgets."""
        self.desk, self.look, self._fresh = desk, look, Fresh()
        self._is_filling = False
        side = Side(parent, desk, look, WORDS_EM)
        side.large.rowconfigure(2, weight=1)
        self._build_bar(side.large)
        self.notices = NoticeStrip(side.large, desk, look)
        self.notices.frame.grid(row=1, column=0, columnspan=2, sticky="ew")
        self._build_list(side.large)
        self._build_empty(side.large)
        self.white = ttk.Frame(side.words, style="White.TFrame")
        self.white.grid(row=0, column=0, sticky="nsew")
        side.words.rowconfigure(0, weight=1)
        self.white.columnconfigure(0, weight=1)
        self.white.rowconfigure(0, weight=1)
        self.panel = AthletePanel(self.white, side.foot, desk, look, side.width_em)
        self.form = FormPanel(
            self.white, side.foot, desk, look, side.width_em, lambda name: form_of(desk, name)
        )
        self.column = side.column
        return side.frame

    def _build_bar(self, parent: ttk.Frame) -> None:
        look = self.look
        self.bar = ttk.Frame(parent)
        self.bar.grid(row=0, column=0, columnspan=2, sticky="ew", pady=(0, look.em(1.2)))
        self.bar.columnconfigure(1, weight=1)
        finder, buttons = ttk.Frame(self.bar), ttk.Frame(self.bar)
        finder.grid(row=0, column=0, sticky="w")
        ttk.Label(finder, text="Find", style="Muted.TLabel").grid(row=0, column=0)
        self.find = ttk.Entry(finder, width=14)
        self.find.grid(row=0, column=1, padx=look.em(1.2))
        self.find.bind("<Key>", lambda event: self.find.after_idle(self.desk.state.tell))
        self.find.bind("<Return>", lambda event: self._first_found())
        self.find.bind("<Down>", lambda event: self._first_found())
        for i, (name, words) in enumerate(BAR):
            ActionButton(buttons, self.desk, look, name, words).grid(
                row=0, column=i, padx=(look.em(1) if i else 0, 0)
            )

        fold_second(self.bar, finder, buttons, look.em(1), look.em(0.8))

    def _build_list(self, parent: ttk.Frame) -> None:
        look = self.look
        self.list = ttk.Treeview(parent, columns=[key for key, _ in COLUMNS], selectmode="browse")
        self.list.heading("#0", text="code", anchor="w")
        for key, words in COLUMNS:
            self.list.heading(key, text=words, anchor="w")
        self.list.tag_configure("group", font=look.font("bold"))
        self.list.tag_configure("quiet", foreground=palette.MUTED)
        self.list.bind("<Configure>", self._leave_out)
        self.cells = Cells(self.list, look)
        self.list.grid(row=2, column=0, sticky="nsew")
        self.scroll = scrolled(self.list, parent, 2)
        self.list.bind("<<TreeviewSelect>>", self._selected)
        self.list.bind("<Return>", lambda event: self.desk.perform("open last"))
        self.list.bind("<Double-1>", lambda event: self.desk.perform("open last"))

    def _leave_out(self, event: "tk.Event[tk.Misc]") -> None:
        """Leave a column out of a narrow list rather than cut all of them."""
        shown = [key for key, _ in COLUMNS if event.width >= self.look.em(NEEDS[key])]
        self.list.configure(displaycolumns=shown)

    def _build_empty(self, parent: ttk.Frame) -> None:
        look = self.look
        self.empty = ttk.Frame(parent)
        self.empty_words = ttk.Label(self.empty, style="Head.TLabel")
        self.empty_words.grid(row=0, column=0, columnspan=5, sticky="w", pady=(0, look.em(2)))
        self.empty.columnconfigure(4, weight=1)  # or the words would part the buttons
        self.empty_buttons: dict[str, ttk.Button] = {}
        for i, name in enumerate((*WITHOUT_SQUAD, *WITHOUT_ATHLETES)):
            made = ActionButton(self.empty, self.desk, look, name)
            made.grid(row=1, column=i, sticky="w", padx=(0, look.em(1)))
            self.empty_buttons[name] = made.button

    def show(self) -> None:
        """Read the squad again; give the keyboard to the list, on who is due first."""
        self._fresh.forget()
        self.desk.attempt(lambda: refresh_roster(self.desk))
        self.list.focus_set()
        rows = self.desk.state.side.found("")
        if self.desk.state.athlete is None and rows:
            self.desk.attempt(lambda: choose_athlete(self.desk, rows[0].code))

    def refresh(self) -> None:
        """Show the list, the athlete, or the form."""
        state, side = self.desk.state, self.desk.state.side
        found = side.found(self.find.get())
        if self._fresh.is_new(found, state.squad is None):
            self._fill(found)
        self.notices.refresh(side.notices)
        self._refresh_empty(bool(state.squad), bool(side.rows))
        self._select(state.athlete.code if state.athlete else "")
        has_panel = bool(state.form or state.athlete)
        self.white.grid() if has_panel else self.white.grid_remove()
        if state.form:
            self.panel.hide()
            if self.form.show(state.form):
                self.column.follow_keyboard()
        else:
            self.panel.refresh()
            if self.form.hide():  # the keyboard was in a field that is gone now
                self.list.focus_set()
        if side.wants_find:
            side.wants_find = False
            self.find.focus_set()
            self.find.selection_range(0, "end")

    def _first_found(self) -> None:
        found = self.desk.state.side.found(self.find.get())
        if found:
            self.desk.attempt(lambda: choose_athlete(self.desk, found[0].code))
            self.list.focus_set()

    def _fill(self, found: tuple[Row, ...]) -> None:
        self._is_filling = True
        self.cells.clear()
        evening = None
        for group in GROUPS:
            for row in (row for row in found if row.group == group):
                if (group, row.evening) != evening:
                    evening = (group, row.evening)
                    self._insert_heading(group, row.evening)
                self._insert(row)
        self.cells.lay_out()
        self._is_filling = False

    def _insert_heading(self, group: str, evening: str) -> None:
        if self.list.get_children():
            self.cells.insert(None, ("",))
        self.cells.insert(None, ("", "", evening), group, ("group",))

    def _insert(self, row: Row) -> None:
        self.cells.insert(
            f"athlete {row.code}",
            (row.event, row.last, row.thing, row.again, row.consent),
            f"  {row.code}",
            ("quiet",) if row.group in (NOT_NOW, ARCHIVED) else (),
        )

    def _refresh_empty(self, has_squad: bool, has_athletes: bool) -> None:
        if has_squad and has_athletes:
            self.empty.grid_remove()
            self.bar.grid()
            self.list.grid()
            return
        for widget in (self.bar, self.list, self.scroll):
            widget.grid_remove()
        words = "No athletes yet. Add one or import a list." if has_squad else NO_SQUAD
        self.empty_words.configure(text=words)
        for name, button in self.empty_buttons.items():
            if (name in WITHOUT_ATHLETES) == has_squad:
                button.grid()
            else:
                button.grid_remove()
        self.empty.grid(row=2, column=0, sticky="nw")

    def _select(self, code: str) -> None:
        item = f"athlete {code}"
        if code and self.list.exists(item) and self.list.selection() != (item,):
            self.list.selection_set(item)
            self.list.focus(item)
            self.list.see(item)
            if item == self._first():
                self.list.yview_moveto(0)  # with the heading above it

    def _first(self) -> str:
        return next((i for i in self.list.get_children() if i.startswith("athlete ")), "")

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
        if not state.side.rows:
            return "A adds somebody by hand, I imports a list. Codes or initials, never names."
        wanted = self.find.get()
        if wanted and not state.side.found(wanted):
            return f"Nobody here has “{wanted[:20]}”. Empty the field to see everybody again."
        due = [row for row in state.side.rows if row.group == NOW]
        first = f"{len(due)} to film this week. " if due else ""
        whole = self.cells.cut_words(next(iter(self.list.selection()), ""))
        if whole:
            return f"{first}In full: {whole}."
        return f"{first}Return opens the athlete, N begins a visit, / finds a code, F1 shows all."

    def corner(self) -> str:
        """When the last back-up was made."""
        squad = self.desk.state.squad
        if not squad:
            return ""
        last = long_day(squad.choices.backed_up, with_year=False)
        return f"Last back-up {last}" if last else "No back-up yet"


NO_SQUAD = "No squad open. Make one or open one."
BAR = (
    ("group", "Group overview"),
    ("import list", "Import a list…"),
    ("add athlete", "Add athlete"),
)
WITHOUT_SQUAD = ("make squad", "open squad")
WITHOUT_ATHLETES = ("add athlete", "import list")

"""The Squad page: who is due, notices, and one athlete beside the list."""

import tkinter as tk
from functools import partial
from tkinter import ttk

from PIL import ImageTk

from tapmark.app.shell.context import Context
from tapmark.app.shell.squads import choose_athlete, open_visit, refresh_roster, thing_of
from tapmark.app.shell.why_disabled import today
from tapmark.app.squad.forms import form_of
from tapmark.app.state.session import ARCHIVED, GROUPS, NOT_NOW, NOW, Notice, Row, SquadPage
from tapmark.app.state.titles import several
from tapmark.app.widgets.form_panel import FormPanel
from tapmark.app.widgets.painting import em_px, photo, window_fonts
from tapmark.app.widgets.pieces import (
    ActionButton,
    Fresh,
    Side,
    button_row,
    fold_second,
    scrolled,
    wrapped,
)
from tapmark.app.widgets.step_line import LastStep, last_step
from tapmark.app.widgets.table import Cells
from tapmark.app.widgets.theme import Look
from tapmark.marks.days import long_day
from tapmark.marks.people import CONSENT_WORDS, CONSENTS, Athlete
from tapmark.report.drawing import palette
from tapmark.store.consent import consent_state
from tapmark.store.season import length_asked, quiet_period
from tapmark.store.squad import Squad

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

    def build(self, parent: tk.Misc, context: Context, look: Look) -> ttk.Frame:
        """Make the widgets."""
        self.context, self.look, self._fresh = context, look, Fresh()
        self._is_filling = False
        side = Side(parent, context, look, WORDS_EM)
        side.large.rowconfigure(2, weight=1)
        self._build_bar(side.large)
        self.notices = NoticeStrip(side.large, context, look)
        self.notices.frame.grid(row=1, column=0, columnspan=2, sticky="ew")
        self._build_list(side.large)
        self._build_empty(side.large)
        self.white = ttk.Frame(side.words, style="White.TFrame")
        self.white.grid(row=0, column=0, sticky="nsew")
        side.words.rowconfigure(0, weight=1)
        self.white.columnconfigure(0, weight=1)
        self.white.rowconfigure(0, weight=1)
        self.panel = AthletePanel(self.white, side.foot, context, look, side.width_em)
        self.form = FormPanel(
            self.white, side.foot, context, look, side.width_em, lambda name: form_of(context, name)
        )
        self.column = side.column
        return side.frame

    def _build_bar(self, parent: ttk.Frame) -> None:
        look = self.look
        self.bar = ttk.Frame(parent)
        self.bar.grid(row=0, column=0, columnspan=2, sticky="ew", pady=(0, look.units(1.2)))
        self.bar.columnconfigure(1, weight=1)
        finder, buttons = ttk.Frame(self.bar), ttk.Frame(self.bar)
        finder.grid(row=0, column=0, sticky="w")
        ttk.Label(finder, text="Find", style="Muted.TLabel").grid(row=0, column=0)
        self.find = ttk.Entry(finder, width=14)
        self.find.grid(row=0, column=1, padx=look.units(1.2))
        self.find.bind("<Key>", lambda event: self.find.after_idle(self.context.state.notify))
        self.find.bind("<Return>", lambda event: self._first_found())
        self.find.bind("<Down>", lambda event: self._first_found())
        for i, (name, words) in enumerate(BAR):
            ActionButton(buttons, self.context, look, name, words).grid(
                row=0, column=i, padx=(look.units(1) if i else 0, 0)
            )

        fold_second(self.bar, finder, buttons, look.units(1), look.units(0.8))

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
        self.list.bind("<Return>", lambda event: self.context.perform("open last"))
        self.list.bind("<Double-1>", lambda event: self.context.perform("open last"))

    def _leave_out(self, event: "tk.Event[tk.Misc]") -> None:
        """Leave a column out of a narrow list rather than cut all of them."""
        shown = [key for key, _ in COLUMNS if event.width >= self.look.units(NEEDS[key])]
        self.list.configure(displaycolumns=shown)

    def _build_empty(self, parent: ttk.Frame) -> None:
        look = self.look
        self.empty = ttk.Frame(parent)
        self.empty_words = ttk.Label(self.empty, style="Head.TLabel")
        self.empty_words.grid(row=0, column=0, columnspan=5, sticky="w", pady=(0, look.units(2)))
        self.empty.columnconfigure(4, weight=1)  # or the words would part the buttons
        self.empty_buttons: dict[str, ttk.Button] = {}
        for i, name in enumerate((*WITHOUT_SQUAD, *WITHOUT_ATHLETES)):
            made = ActionButton(self.empty, self.context, look, name)
            made.grid(row=1, column=i, sticky="w", padx=(0, look.units(1)))
            self.empty_buttons[name] = made.button

    def show(self) -> None:
        """Read the squad again; give the keyboard to the list, on who is due first."""
        self._fresh.forget()
        self.context.attempt(lambda: refresh_roster(self.context))
        self.list.focus_set()
        rows = self.page.found("")
        if self.context.state.athlete is None and rows:
            self.context.attempt(lambda: choose_athlete(self.context, rows[0].code))

    def refresh(self) -> None:
        """Show the list, the athlete, or the form."""
        state, page = self.context.state, self.page
        found = page.found(self.find.get())
        if self._fresh.is_new(found, state.squad is None):
            self._fill(found)
        self.notices.refresh(page.notices)
        self._refresh_empty(bool(state.squad), bool(page.rows))
        self._select(state.athlete.code if state.athlete else "")
        has_panel = bool(page.form or state.athlete)
        self.white.grid() if has_panel else self.white.grid_remove()
        if page.form:
            self.panel.hide()
            if self.form.show(page.form):
                self.column.follow_keyboard()
        else:
            self.panel.refresh()
            if self.form.hide():  # the keyboard was in a field that is gone now
                self.list.focus_set()
        if page.wants_find:
            page.wants_find = False
            self.find.focus_set()
            self.find.selection_range(0, "end")

    @property
    def page(self) -> SquadPage:
        """What the state says of this page."""
        return self.context.state.around.squad

    def _first_found(self) -> None:
        found = self.page.found(self.find.get())
        if found:
            self.context.attempt(lambda: choose_athlete(self.context, found[0].code))
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
            button.grid() if (name in WITHOUT_ATHLETES) == has_squad else button.grid_remove()
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
        athlete = self.context.state.athlete
        if athlete is None or athlete.code != code:
            self.context.attempt(lambda: choose_athlete(self.context, code))

    def hint(self) -> str:
        """What to do now."""
        page = self.page
        if not self.context.state.squad:
            return "A squad is a folder with everything of one training group."
        if page.form:
            return "Tab moves through the fields, Return saves, Escape leaves the form."
        if not page.rows:
            return "A adds an athlete, I imports a list. Codes or initials, never names."
        wanted = self.find.get()
        if wanted and not page.found(wanted):
            return f"No athlete has “{wanted[:20]}”. Empty the field to see all again."
        due = [row for row in page.rows if row.group == NOW]
        first = f"{len(due)} to film this week. " if due else ""
        whole = self.cells.cut_words(next(iter(self.list.selection()), ""))
        if whole:
            return f"{first}In full: {whole}."
        return f"{first}Return opens the athlete, N begins a visit, / finds a code, F1 shows all."

    def corner(self) -> str:
        """When the last back-up was made."""
        squad = self.context.state.squad
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
MOST = 3
LABEL_EM = 13


class NoticeStrip:
    """A line for each notice, the first few; it takes no room when there is nothing to say."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look) -> None:
        self.context, self.look, self._fresh = context, look, Fresh()
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(0, minsize=look.units(LABEL_EM))
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
        pad = (0, self.look.units(1))
        ttk.Label(self.frame, text=notice.label, style="Bold.TLabel").grid(
            row=row, column=0, sticky="nw", pady=pad
        )
        words = ttk.Label(self.frame, text=notice.words, justify="left")
        words.grid(row=row, column=1, sticky="nw", pady=pad)
        self._words.append(words)
        if notice.action:
            ttk.Button(
                self.frame, text=notice.button, command=partial(self.context.perform, notice.action)
            ).grid(row=row, column=2, sticky="e", padx=(self.look.units(1), 0), pady=pad)

    def _wrap(self) -> None:
        buttons = [w for w in self.frame.winfo_children() if isinstance(w, ttk.Button)]
        taken = max((button.winfo_reqwidth() for button in buttons), default=0)
        room = self.frame.winfo_width() - self.look.units(LABEL_EM + 2) - taken
        for words in self._words:
            words.configure(wraplength=max(self.look.units(20), room))


MOST_VISITS = 5


class AthletePanel:
    """The right column of the Squad page."""

    def __init__(
        self, parent: tk.Misc, foot: ttk.Frame, context: Context, look: Look, width_em: float
    ) -> None:
        self.context, self.look, self._fresh = context, look, Fresh()
        self.width = look.units(width_em - 5)
        pad = look.units(2.4)
        self.frame = ttk.Frame(parent, style="White.TFrame", padding=(pad, look.units(2)))
        self.frame.columnconfigure(0, weight=1)
        self.frame.rowconfigure(12, weight=1)
        self._build_head()
        self.step_words = ttk.Label(self.frame, style="WhiteMuted.TLabel")
        self.step_words.grid(row=5, column=0, sticky="w", pady=(look.units(1.6), 0))
        self.step = ttk.Label(self.frame, style="White.TLabel")
        self.step.grid(row=6, column=0, sticky="w")
        self._photo: ImageTk.PhotoImage | None = None
        self._build_consent()
        self.visits_label = ttk.Label(self.frame, style="WhiteMuted.TLabel")
        self.visits_label.grid(row=9, column=0, sticky="w", pady=(look.units(1.4), look.units(0.2)))
        self.visits = ttk.Frame(self.frame, style="White.TFrame")
        self.visits.grid(row=10, column=0, sticky="ew")
        names = (("season", "Season"), ("open last", "Open last"), ("new visit", ""))
        self.foot, self.buttons = button_row(foot, context, look, names)

    def _build_head(self) -> None:
        look = self.look
        head = ttk.Frame(self.frame, style="White.TFrame")
        head.grid(row=0, column=0, sticky="ew")
        head.columnconfigure(1, weight=1)
        self.code = ttk.Label(head, style="WhiteTitle.TLabel")
        self.code.grid(row=0, column=0)
        self.change = ActionButton(head, self.context, look, "edit athlete", "Change")
        self.change.grid(row=0, column=1, sticky="e")
        self.about = wrapped(ttk.Label(self.frame, style="WhiteMuted.TLabel"), self.width)
        self.about.grid(row=1, column=0, sticky="w", pady=(look.units(0.4), 0))
        self.thing = wrapped(ttk.Label(self.frame, style="WhiteHead.TLabel"), self.width)
        self.thing.grid(row=2, column=0, sticky="w", pady=(look.units(1.4), 0))
        self.cue = wrapped(ttk.Label(self.frame, style="White.TLabel"), self.width)
        self.cue.grid(row=3, column=0, sticky="w", pady=(look.units(0.4), 0))
        self.note = wrapped(ttk.Label(self.frame, style="White.TLabel"), self.width)
        self.note.grid(row=4, column=0, sticky="w", pady=(look.units(0.8), 0))

    def _build_consent(self) -> None:
        look = self.look
        head = ttk.Frame(self.frame, style="White.TFrame")
        head.grid(row=7, column=0, sticky="ew", pady=(look.units(1), 0))
        head.columnconfigure(0, weight=1)
        self.consent = wrapped(ttk.Label(head, style="WhiteMuted.TLabel"), look.units(32))
        self.consent.grid(row=0, column=0, sticky="w")
        self.ask = ActionButton(head, self.context, look, "consent", "Consent")
        self.ask.grid(row=0, column=1, sticky="e")
        box = ttk.Frame(self.frame, style="White.TFrame")
        box.grid(row=8, column=0, sticky="ew")
        self.ticks: dict[str, ttk.Checkbutton] = {}
        for i, use in enumerate(CONSENTS):
            box.columnconfigure(i // 3, weight=1, uniform="half")
            tick = ttk.Checkbutton(
                box,
                text=CONSENT_WORDS[use],
                style="White.TCheckbutton",
                command=partial(self.context.perform, "consent"),
                takefocus=0,
            )
            tick.grid(row=i % 3, column=i // 3, sticky="w")
            tick.state(["!alternate"])
            self.ticks[use] = tick

    def hide(self) -> None:
        """Make room for a form."""
        self.frame.grid_remove()
        self.foot.grid_remove()

    def refresh(self) -> None:
        """Show the athlete chosen; an empty panel when there is none."""
        athlete = self.context.state.athlete
        if athlete is None:
            self.hide()
            return
        self.frame.grid(row=0, column=0, sticky="nsew")
        self.foot.grid()
        for button in (*self.buttons, self.change, self.ask):
            button.refresh()
        if self._fresh.is_new(athlete, self.context.state.around.squad.rows):
            self._show(athlete)

    def _show(self, athlete: Athlete) -> None:
        squad, day = self.context.state.the_squad, today(self.context)
        self.code.configure(text=athlete.code)
        self.about.configure(text=_about(athlete))
        dates = squad.visit_dates(athlete.code)
        thing = thing_of(squad, self.context.state.session.criteria().words)(athlete.code)
        nothing = "Nothing chosen yet" if dates else "No visit yet"
        _fill(self.thing, thing or ("The squad's folder is gone" if squad.is_gone else nothing))
        _fill(self.cue, f"“{athlete.own_cue}”" if athlete.own_cue else "")
        notes = (quiet_period(athlete, day), length_asked(athlete, day), athlete.notes)
        _fill(self.note, "\n".join(filter(None, notes)))
        self._show_consent(athlete, day)
        self._show_visits(squad, athlete.code, dates)
        self._show_step(last_step(squad, athlete.code))

    def _show_consent(self, athlete: Athlete, day: str) -> None:
        film = athlete.consent("film")
        until = f" until {long_day(film.expires)}" if film and film.expires else ""
        words = {
            "given": f"Consent{until}",
            "expired": f"Consent ended {long_day(film.expires)}" if film else "",
            "withdrawn": f"Consent withdrawn {long_day(film.withdrawn)}" if film else "",
            "refused": "Consent refused",
        }
        state = consent_state(athlete, "film", day)
        self.consent.configure(text=words.get(state, "Consent: ask first"))
        for use, tick in self.ticks.items():
            given = consent_state(athlete, use, day) == "given"
            tick.state(["selected" if given else "!selected"])

    def _show_visits(self, squad: Squad, code: str, dates: tuple[str, ...]) -> None:
        for child in self.visits.winfo_children():
            child.destroy()
        more = f" ({len(dates)} in all)" if len(dates) > MOST_VISITS else ""
        self.visits_label.configure(text=f"Visits{more}" if dates else "")
        for row, dated in enumerate(reversed(dates[-MOST_VISITS:])):
            runs = several(len(squad.run_names(code, dated)), "run")
            button = ttk.Button(
                self.visits,
                text=f"{long_day(dated)}    {runs}",
                style="Quiet.TButton",
                command=partial(self.context.attempt, partial(open_visit, self.context, dated)),
            )
            button.grid(row=row, column=0, sticky="w")

    def _show_step(self, step: LastStep | None) -> None:
        if step is None:
            self.step_words.grid_remove()
            self.step.grid_remove()
            return
        near = f"{step.run.near_side} leg near"
        self.step_words.configure(text=f"Last step, {long_day(step.dated)}, {near}")
        self.step_words.grid()
        fonts = window_fonts(self.frame)
        width = self.width - self.look.units(1)  # a label keeps a rim
        shapes, height = step.shapes(width, em_px(self.frame), fonts.width)
        self._photo = photo(self.frame, shapes, (width, height), fonts, palette.WHITE)
        self.step.configure(image=self._photo)
        self.step.grid()


def _about(athlete: Athlete) -> str:
    words = [f"born {athlete.birth_year}"] if athlete.birth_year else []
    words += [athlete.group] if athlete.group else []
    words += [f"{length.what} {length.cm:g} cm" for length in athlete.lengths[-1:]]
    words += [athlete.clearance] if athlete.clearance else []
    return ", ".join(words)


def _fill(label: ttk.Label, text: str) -> None:
    """Show a text; an empty one takes no room."""
    label.configure(text=text)
    label.grid() if text else label.grid_remove()

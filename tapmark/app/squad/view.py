"""The Squad page: who is due, notices, and one athlete beside the list."""

import tkinter as tk
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from tkinter import ttk

from tapmark import disk
from tapmark.app.jobs import Task
from tapmark.app.shell.context import Context
from tapmark.app.shell.squads import choose_athlete, refresh_roster
from tapmark.app.shell.why_disabled import today
from tapmark.app.squad.forms import form_of
from tapmark.app.squad.roster import Artist, Drawn, Roster
from tapmark.app.squad.start import StartColumn, StartPicture
from tapmark.app.state.pages import SquadPage
from tapmark.app.state.roster_lines import NOT_NOW, NOW, Notice, due_rule, thing_of, whom_to_ask
from tapmark.app.widgets.columns import Side
from tapmark.app.widgets.fields import write_in
from tapmark.app.widgets.form_panel import FormPanel
from tapmark.app.widgets.painting import pair_photo, trend_photo
from tapmark.app.widgets.pieces import (
    ActionButton,
    Fresh,
    Panel,
    emptied,
    fold_second,
    label,
    put,
    say,
    show,
    when_idle,
    window_px,
    wrap_within,
    wrapped,
)
from tapmark.app.widgets.theme import Look
from tapmark.checklist.verdict import Band
from tapmark.marks.days import long_day, short_day
from tapmark.marks.people import CONSENT_WORDS, CONSENTS, Athlete
from tapmark.measures.result import printed
from tapmark.report.drawing import palette
from tapmark.report.drawing.pair import Caption
from tapmark.services.standing import Standing, standing
from tapmark.store.consent import consent_state
from tapmark.store.season import length_asked, quiet_period
from tapmark.store.squad import Squad

WORDS_EM, WIDE_EM, WIDE_WINDOW_EM = 47, 54, 200
"""Width of the column, of that beside a wide list, and from which width of the window on, in u."""
BAR = (
    ("group", "Group overview"),
    ("import list", "Import a list…"),
    ("add athlete", "Add athlete"),
)
WITHOUT_ATHLETES = ("add athlete", "import list")
HELD = 0x4 | 0x8 | 0x20000  # Control, Alt: with them a letter means something else


class SquadView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, context: Context, look: Look) -> ttk.Frame:
        self.context, self.look, self._fresh = context, look, Fresh()
        is_wide = window_px(parent) >= look.units(WIDE_WINDOW_EM)
        side = Side(parent, context, look, WIDE_EM if is_wide else WORDS_EM)
        side.large.rowconfigure(2, weight=1)
        self._build_bar(side.large)
        self.notices = NoticeStrip(side.large, context, look)
        put(self.notices.frame, 1, 0, "ew", columnspan=2)
        self.roster = Roster(side.large, look, self._choose, self._open_season)
        put(self.roster.frame, 2, 0, "nsew", columnspan=2)
        self.list = self.roster.canvas
        self.readings = Readings(context, Artist(parent, look), self.roster)
        self._build_empty(side.large)
        self.picture = StartPicture(side.large, context, look)
        put(self.picture.frame, 0, 0, "nsew", rowspan=3, columnspan=2)
        white = self.white = put(ttk.Frame(side.words, style="White.TFrame"), 0, 0, "nsew")
        for place in (side.words, white):
            place.rowconfigure(0, weight=1)
        white.columnconfigure(0, weight=1)
        wide = side.width_em
        self.panel = AthletePanel(white, side.foot, context, look, wide)
        self.readings.shown = self.panel.show_standing
        self.form = FormPanel(white, side.foot, context, look, wide, partial(form_of, context))
        self.begin = StartColumn(white, context, look, look.units(wide - 4))
        put(self.begin.frame, 0, 0, "nsew")
        self.column = side.column
        root = parent.winfo_toplevel()
        bound = root.bind_all("<Key>", self._type_ahead)

        def let_go(event: "tk.Event[tk.Misc]") -> None:
            root.unbind_all("<Key>")
            root.deletecommand(bound)  # or it would hold this page for as long as the window

        side.frame.bind("<Destroy>", let_go)
        return side.frame

    def _build_bar(self, parent: ttk.Frame) -> None:
        """Build the field to find an athlete, who waits to be filmed, and three buttons."""
        context, look = self.context, self.look
        self.bar = put(ttk.Frame(parent), 0, 0, "ew", columnspan=2, pady=(0, look.units(1)))
        self.bar.columnconfigure(1, weight=1)
        finder, buttons = put(ttk.Frame(self.bar), 0, 0, "w"), ttk.Frame(self.bar)
        label(finder, 0, "Find", "Muted.TLabel", sticky="")
        self.find = put(ttk.Entry(finder, width=12), 0, 1, padx=look.units(1.2))
        self.find.bind("<Key>", lambda event: when_idle(self.find, self._found))
        self.find.bind("<Return>", lambda event: context.perform("open last"))
        for key in ("<Down>", "<Up>", "<Escape>"):
            self.find.bind(key, self._back_to_list)
        self.tonight = label(finder, 0, style="Muted.TLabel", column=2, sticky="")
        for i, (name, words) in enumerate(BAR):
            pad = look.units(1) if i else 0, 0
            put(ActionButton(buttons, context, look, name, words), 0, i, padx=pad)
        fold_second(self.bar, finder, buttons, look.units(1), look.units(0.8))

    def _build_empty(self, parent: ttk.Frame) -> None:
        """Build what stands in the place of a list without athletes."""
        look = self.look
        self.empty = put(ttk.Frame(parent), 2, 0, "nw")
        words = "No athletes yet. Add one or import a list."
        pad = 0, look.units(2)
        self.empty_words = label(self.empty, 0, words, "Head.TLabel", columnspan=5, pady=pad)
        self.empty.columnconfigure(4, weight=1)  # or the words would part the buttons
        self.empty_buttons: dict[str, ttk.Button] = {}
        for i, name in enumerate(WITHOUT_ATHLETES):
            made = ActionButton(self.empty, self.context, look, name)
            self.empty_buttons[name] = put(made, 1, i, "w", padx=(0, look.units(1)))

    def show(self) -> None:
        self._fresh.forget()
        self.context.attempt(lambda: refresh_roster(self.context))
        self.list.focus_set()
        rows = self.page.found("")
        if self.context.state.athlete is None and rows:
            self._choose(rows[0].code)
        self.readings.check()

    def refresh(self) -> None:
        state, page = self.context.state, self.page
        found = page.found(self.find.get())
        if self._fresh.is_new(found, state.squad):
            self.readings.check()
            self.roster.fill(found, due_rule(state.squad.choices.rota_weeks) if state.squad else "")
            groups = Counter(row.group for row in page.rows)
            tonight = f"{groups[NOW]} to film" if groups[NOW] else "Nobody to film this week"
            not_now = f", {groups[NOT_NOW]} not now" if groups[NOT_NOW] else ""
            self.tonight.configure(text=tonight + not_now)
        self.notices.refresh(page.notices)
        self._show_parts(bool(state.squad), bool(page.rows))
        self.roster.select(state.athlete.code if state.athlete else "")
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
        self.readings.go_on()

    def _show_parts(self, has_squad: bool, has_athletes: bool) -> None:
        """Show the start where no squad is open, and what to do first in an empty one."""
        has_list = has_squad and has_athletes
        for widget, is_shown in (
            (self.picture.frame, not has_squad),
            (self.begin.frame, not has_squad),
            (self.empty, has_squad and not has_athletes),
            (self.bar, has_list),
            (self.roster.frame, has_list),
            (self.white, self.page.form or self.context.state.athlete or not has_squad),
        ):
            show(widget, bool(is_shown))
        if not has_squad:
            self.begin.refresh()
            self.picture.draw()

    @property
    def page(self) -> SquadPage:
        return self.context.state.around.squad

    def _choose(self, code: str) -> None:
        self.context.attempt(lambda: choose_athlete(self.context, code))

    def _open_season(self, code: str) -> None:
        self._choose(code)
        self.context.perform("season")

    def _type_ahead(self, event: "tk.Event[tk.Misc]") -> None:
        """Let a letter typed anywhere on the page find an athlete; a form keeps its letters."""
        is_here = self.context.state.page == "squad" and not self.page.form and self.page.rows
        is_held = int(event.state) & HELD
        if not (is_here and event.char.isalnum()) or is_held:
            return
        if not (self.find.winfo_exists() and self.find.winfo_viewable()):  # or it is built anew
            return
        if str(event.widget.winfo_class()) in ("TEntry", "TCombobox", "Menu"):
            return
        self.find.focus_set()
        write_in(self.find, event.char)
        self._found()

    def _found(self) -> None:
        """Choose the first athlete who is found, so that Return opens the last visit."""
        found = self.page.found(self.find.get())
        now = self.context.state.athlete
        if self.find.get().strip() and found and not (now and now.code in {r.code for r in found}):
            self._choose(found[0].code)
        self.context.state.notify()

    def _back_to_list(self, event: "tk.Event[tk.Misc]") -> str | None:
        """Give the keyboard to the list; Escape shows all athletes again."""
        if event.keysym == "Escape" and self.find.get():
            self.find.delete(0, "end")
            self.context.state.notify()
        self.list.focus_set()
        return "break"

    def hint(self) -> str:
        page, wanted = self.page, self.find.get()
        if not self.context.state.squad:
            return "Nothing leaves this computer: no account, no network. You tap, it measures."
        if page.form:
            return "Tab moves through the fields, Return saves, Escape leaves the form."
        if not page.rows:
            return "Codes or initials, never names."
        if wanted and not page.found(wanted):
            return f"No athlete has “{wanted[:20]}”. Empty the field to see all again."
        whole = self.roster.cut_words()
        if whole:
            return f"In full: {whole}."
        return "Type a code to find it. Return opens the last visit. Double click: the season."

    def corner(self) -> str:
        squad = self.context.state.squad
        if not squad:
            return ""
        last = long_day(squad.choices.backed_up, with_year=False)
        return f"Last back-up {last}" if last else "No back-up yet"


class Readings:
    """Reads where each athlete on the screen stands, one at a time and beside the window.

    A row is read when it is seen, and again when a file of its visits has changed.
    shown: gets code and standing each time one is there.
    """

    def __init__(self, context: Context, artist: Artist, roster: Roster) -> None:
        self.context, self.artist, self.roster = context, artist, roster
        self.shown: Callable[[str, Standing | None], object] = lambda code, standing: None
        self.known: dict[str, tuple[object, Standing | None]] = {}
        self._squad: Squad | None = None
        roster.seen = self.go_on

    def check(self) -> None:
        """Forget what is not true any more: visits were marked, changed or deleted."""
        squad = self.context.state.squad
        for code, (key, _) in tuple(self.known.items()):
            if squad is not self._squad or squad is None or key != files_of(squad, code):
                self.known.pop(code)
                self.roster.forget(code)
        self._squad = squad
        self.context.painter.cancel("standing")

    def go_on(self) -> None:
        """Read the next athlete who is seen and not known yet, the one chosen first."""
        state, painter, artist = self.context.state, self.context.painter, self.artist
        squad, day = state.squad, self.context.today()
        if squad is None or painter.is_busy("standing") or state.page != "squad":
            return
        if squad is not self._squad:
            self.check()
        chosen = state.athlete.code if state.athlete else ""
        wanted = (code for code in (chosen, *self.roster.visible()) if code in self.roster.codes)
        code = next((code for code in wanted if code not in self.known), "")
        if not code:
            return
        key = files_of(squad, code)

        def read(task: Task) -> Drawn | None:
            found = standing(squad, code, day)
            return artist.draw(found) if found else None

        def keep(drawn: Drawn | None) -> None:
            if not self.roster.canvas.winfo_exists():
                return
            found = drawn.standing if drawn else None
            self.known[code] = key, found
            if drawn:
                self.roster.put(code, drawn)
            self.shown(code, found)
            self.go_on()

        painter.run("standing", read, keep, lambda trouble: keep(None), by="squad")


def files_of(squad: Squad, code: str) -> object:
    """Return what changes when a file of an athlete does: names and times of all that are read."""
    folder = squad.athlete_folder(code)
    paths = [folder / "athlete.json", *folder.glob("*/visit.json"), *folder.glob("*/run-*.json")]
    facts = ((path, disk.facts(path)) for path in sorted(paths))
    return tuple((str(path), each.st_mtime_ns, each.st_size) for path, each in facts if each)


MOST = 3
LABEL_EM = 13


class NoticeStrip(Panel):
    """A line for each notice, the first few; it takes no room when there is nothing to say."""

    grows = 1

    def build(self, frame: ttk.Frame) -> None:
        frame.columnconfigure(0, minsize=self.look.units(LABEL_EM))

    def refresh(self, notices: tuple[Notice, ...]) -> None:
        if not self.fresh.is_new(notices):
            return
        frame, look = emptied(self.frame), self.look
        show(frame, bool(notices))
        shown = [*notices[:MOST]]
        if len(notices) > MOST:
            shown.append(Notice("", f"and {len(notices) - MOST} more, when these are seen to"))
        pad, least = (0, look.units(1)), look.units(20)
        for row, notice in enumerate(shown):
            label(frame, row, notice.label, "Bold.TLabel", sticky="nw", pady=pad)
            words = label(frame, row, notice.words, wrap=least, column=1, sticky="new", pady=pad)
            wrap_within(words, words)
            if notice.action:
                do = partial(self.context.perform, notice.action)
                button = ttk.Button(frame, text=notice.button, style="Low.TButton", command=do)
                put(button, row, 2, "e", padx=(look.units(1), 0), pady=pad)


PAIR_EM, TREND_EM = 13.5, 11  # heights of the drawings
BUTTONS = (
    ("season", "Season"),
    ("open last", "Open last"),
    ("print last page", "Print last page"),
    ("new visit", "New visit"),
)


class AthletePanel:
    """The right column of the Squad page."""

    def __init__(
        self, parent: tk.Misc, foot: ttk.Frame, context: Context, look: Look, width_em: float
    ) -> None:
        self.context, self.look, self._fresh = context, look, Fresh()
        self.width = look.units(width_em - 4)
        pad = look.units(1.7), look.units(0.9)
        self.frame = ttk.Frame(parent, style="White.TFrame", padding=pad)
        self.frame.columnconfigure(0, weight=1)
        self.frame.rowconfigure(12, weight=1)
        self._code = ""
        self._standings: dict[str, Standing | None] = {}
        self._build_column()
        self.foot = put(ttk.Frame(foot), 0, 0, "ew")
        button = partial(ActionButton, self.foot, context, look, has_key=True)
        self.foot.columnconfigure((0, 1), weight=1, uniform="half")
        for i, each in enumerate(BUTTONS):
            row, column = divmod(i, 2)
            left, above = look.units(1.2) * column, look.units(0.7) * row
            made = button(*each, is_primary=each is BUTTONS[-1])
            put(made, row, column, "ew", padx=(left, 0), pady=(above, 0))

    def _line(self, row: int, wide: int, above: float = 0) -> ttk.Frame:
        """Return a line of the column, its part at `wide` as wide as can be."""
        pad = self.look.units(above) if above else 0, 0
        line = put(ttk.Frame(self.frame, style="White.TFrame"), row, 0, "ew", pady=pad)
        line.columnconfigure(wide, weight=1)
        return line

    def _button(self, line: ttk.Frame, name: str, words: str) -> None:
        """Put a low button at the right end of a line."""
        made = ActionButton(line, self.context, self.look, name, words, style="Low.TButton")
        put(made, 0, 1, "e")

    def _build_column(self) -> None:
        """Build the words, the drawings and the consents, from the top."""
        units, width, frame = self.look.units, self.width, self.frame
        head, line = self._line(0, 1), self._line(1, 0, 0.8)
        self.code = label(head, 0, style="WhiteTitle.TLabel")
        pad = units(1), 0
        self.about = label(head, 0, style="WhiteMuted.TLabel", column=1, sticky="e", padx=pad)
        self.since = label(line, 0, style="WhiteMuted.TLabel", sticky="sw")
        self._button(line, "edit athlete", "Change")
        near, apart = (units(0.2), 0), (units(0.8), 0)
        self.thing = label(frame, 3, style="WhiteHead.TLabel", wrap=width, pady=near)
        self.cue = label(frame, 4, style="White.TLabel", wrap=width, pady=near)
        self.note = label(frame, 5, style="White.TLabel", wrap=width, pady=apart)
        self.pair = label(frame, 6, style="White.TLabel", pady=(units(0.6), 0))
        head = self.measure = self._line(7, 1, 0.8)
        self.name = label(head, 0, style="WhiteBold.TLabel", wrap=units(28))
        self.limits = label(head, 0, style="WhiteMuted.TLabel", column=1, sticky="e")
        self.trend = label(frame, 8, style="White.TLabel")
        line, box = self._line(9, 0, 1), self._line(10, 0)
        self.consent = label(line, 0, style="WhiteBold.TLabel", wrap=width - units(14))
        self._button(line, "consent", "Consent")
        ask, style = partial(self.context.perform, "consent"), "White.TCheckbutton"
        self.ticks: dict[str, ttk.Checkbutton] = {}
        for i, use in enumerate(CONSENTS):
            box.columnconfigure(i // 3, weight=1, uniform="half")
            words = CONSENT_WORDS[use]
            tick = ttk.Checkbutton(box, text=words, style=style, command=ask, takefocus=0)
            self.ticks[use] = put(tick, i % 3, i // 3, "w")
            tick.state(["!alternate"])

    def hide(self) -> None:
        self.frame.grid_remove()
        self.foot.grid_remove()

    def refresh(self) -> None:
        athlete = self.context.state.athlete
        if athlete is None:
            self.hide()
            return
        put(self.frame, 0, 0, "nsew")
        self.foot.grid()
        if self._fresh.is_new(athlete, self.context.state.around.squad.rows):
            self._show(athlete)

    def show_standing(self, code: str, found: Standing | None) -> None:
        """Keep what was read of an athlete, and show it where that is the one chosen."""
        self._standings[code] = found
        if code == self._code and self.frame.winfo_exists():
            self._draw(found)

    def _show(self, athlete: Athlete) -> None:
        squad, day = self.context.state.the_squad, today(self.context)
        self._code = athlete.code
        self.code.configure(text=athlete.code)
        code_px = self.look.font("title").measure(athlete.code)
        about = [f"born {athlete.birth_year}"] if athlete.birth_year else []
        lengths = [f"{length.what} {length.cm:g} cm" for length in athlete.lengths[-1:]]
        about += filter(None, [athlete.group, *lengths, athlete.clearance])
        wrapped(self.about, self.width - code_px - self.look.units(2))
        self.about.configure(text=", ".join(about), justify="right")
        has_visits = bool(squad.visit_dates(athlete.code))
        thing, cue = thing_of(squad, self.context.state.session.criteria().words)(athlete.code)
        nothing = "Nothing chosen yet" if has_visits else "No visit yet"
        self.since.configure(text="")
        say(self.thing, thing or ("The squad's folder is gone" if squad.is_gone else nothing))
        cue = athlete.own_cue or cue
        say(self.cue, f"“{cue}”" if cue else "")
        notes = (quiet_period(athlete, day), length_asked(athlete, day), athlete.notes)
        say(self.note, "\n".join(filter(None, notes)))
        self._show_consent(athlete, day)
        self._draw(self._standings.get(athlete.code))

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
        whom = whom_to_ask(athlete, self.context.today())
        self.consent.configure(text=words.get(state, f"Consent: ask {whom}"))
        for use, tick in self.ticks.items():
            given = consent_state(athlete, use, day) == "given"
            tick.state(["selected" if given else "!selected"])

    def _draw(self, found: Standing | None) -> None:
        """Show the pair and the trend; what there is nothing to show for takes no room."""
        for widget in (self.pair, self.measure, self.trend):
            widget.grid_remove()
        if found is None:
            return
        when = long_day(found.since, with_year=False)
        self.since.configure(text=f"One thing since {when}" if when else "")
        say(self.thing, found.thing)
        say(self.cue, f"“{found.about}”" if found.since and found.about else found.about)
        width, units = self.width - self.look.units(1), self.look.units
        if found.pair:
            size = width, units(PAIR_EM)
            words = self.context.state.session.criteria().words
            caption = Caption("now", words.say("page.idea"))
            self._pair = pair_photo(self.frame, found.pair, caption, size, palette.WHITE)
            self.pair.configure(image=self._pair)
            self.pair.grid()
        if found.points and found.band:
            days = [replace(p, label=short_day(p.label, with_year=False)) for p in found.points]
            self._trend = trend_photo(self.frame, days, found.band, (width, units(TREND_EM)), 0.0)
            self.trend.configure(image=self._trend)
            self.name.configure(text=f"{found.name}, {found.unit.strip()}")
            self.limits.configure(text=_edges(found.band))
            self.measure.grid()
            self.trend.grid()


def _edges(band: Band) -> str:
    """Return the edges of a band in a few words."""
    fine = " to ".join(map(printed, band.fine))
    if len(band.fine) == 1:
        fine = f"{'from' if band.fine_high is None else 'to'} {fine}"
    return f"fine {fine}, limit {' and '.join(map(printed, band.limits))}"

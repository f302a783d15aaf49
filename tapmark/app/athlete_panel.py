"""One athlete beside the list: what is worked on, the last step, consent, visits."""

import tkinter as tk
from functools import partial
from tkinter import ttk
from typing import TYPE_CHECKING

from PIL import ImageTk

from tapmark.app.desk import Desk
from tapmark.app.fresh import Fresh
from tapmark.app.painting import em_px, photo, window_fonts
from tapmark.app.squad_deeds import open_visit
from tapmark.app.squad_reading import thing_of
from tapmark.app.style import Look
from tapmark.app.titles import several
from tapmark.app.widgets import ActionButton, button_row, wrapped
from tapmark.drawing import palette
from tapmark.marks.days import long_day
from tapmark.marks.people import CONSENT_WORDS, CONSENTS, Athlete
from tapmark.store.gates import consent_state
from tapmark.store.season import length_asked, quiet_period

if TYPE_CHECKING:
    from tapmark.app.last_step import LastStep

MOST_VISITS = 5


class AthletePanel:
    """The right column of the Squad page."""

    def __init__(
        self, parent: tk.Misc, foot: ttk.Frame, desk: Desk, look: Look, width_em: float
    ) -> None:
        self.desk, self.look, self._fresh = desk, look, Fresh()
        self.width = look.em(width_em - 5)
        pad = look.em(2.4)
        self.frame = ttk.Frame(parent, style="White.TFrame", padding=(pad, look.em(2)))
        self.frame.columnconfigure(0, weight=1)
        self.frame.rowconfigure(12, weight=1)
        self._build_head()
        self.step_words = ttk.Label(self.frame, style="WhiteMuted.TLabel")
        self.step_words.grid(row=5, column=0, sticky="w", pady=(look.em(1.6), 0))
        self.step = ttk.Label(self.frame, style="White.TLabel")
        self.step.grid(row=6, column=0, sticky="w")
        self._photo: ImageTk.PhotoImage | None = None
        self._build_consent()
        self.visits_label = ttk.Label(self.frame, style="WhiteMuted.TLabel")
        self.visits_label.grid(row=9, column=0, sticky="w", pady=(look.em(1.4), look.em(0.2)))
        self.visits = ttk.Frame(self.frame, style="White.TFrame")
        self.visits.grid(row=10, column=0, sticky="ew")
        self._build_buttons(foot)

    def _build_head(self) -> None:
        look = self.look
        head = ttk.Frame(self.frame, style="White.TFrame")
        head.grid(row=0, column=0, sticky="ew")
        head.columnconfigure(1, weight=1)
        self.code = ttk.Label(head, style="WhiteTitle.TLabel")
        self.code.grid(row=0, column=0)
        self.change = ActionButton(head, self.desk, look, "edit athlete", "Change")
        self.change.grid(row=0, column=1, sticky="e")
        self.about = wrapped(ttk.Label(self.frame, style="WhiteMuted.TLabel"), self.width)
        self.about.grid(row=1, column=0, sticky="w", pady=(look.em(0.4), 0))
        self.thing = wrapped(ttk.Label(self.frame, style="WhiteHead.TLabel"), self.width)
        self.thing.grid(row=2, column=0, sticky="w", pady=(look.em(1.4), 0))
        self.cue = wrapped(ttk.Label(self.frame, style="White.TLabel"), self.width)
        self.cue.grid(row=3, column=0, sticky="w", pady=(look.em(0.4), 0))
        self.note = wrapped(ttk.Label(self.frame, style="White.TLabel"), self.width)
        self.note.grid(row=4, column=0, sticky="w", pady=(look.em(0.8), 0))

    def _build_consent(self) -> None:
        look = self.look
        head = ttk.Frame(self.frame, style="White.TFrame")
        head.grid(row=7, column=0, sticky="ew", pady=(look.em(1), 0))
        head.columnconfigure(0, weight=1)
        self.consent = wrapped(ttk.Label(head, style="WhiteMuted.TLabel"), look.em(32))
        self.consent.grid(row=0, column=0, sticky="w")
        self.ask = ActionButton(head, self.desk, look, "consent", "Consent")
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
                command=partial(self.desk.perform, "consent"),
                takefocus=0,
            )
            tick.grid(row=i % 3, column=i // 3, sticky="w")
            tick.state(["!alternate"])
            self.ticks[use] = tick

    def _build_buttons(self, foot: ttk.Frame) -> None:
        names = (("season", "Season"), ("open last", "Open last"), ("new visit", ""))
        self.foot, self.buttons = button_row(foot, self.desk, self.look, names)

    def hide(self) -> None:
        """Make room for a form."""
        self.frame.grid_remove()
        self.foot.grid_remove()

    def refresh(self) -> None:
        """Show the athlete chosen; an empty panel when there is none."""
        athlete = self.desk.state.athlete
        if athlete is None:
            self.hide()
            return
        self.frame.grid(row=0, column=0, sticky="nsew")
        self.foot.grid()
        for button in (*self.buttons, self.change, self.ask):
            button.refresh()
        if self._fresh.is_new(athlete, self.desk.state.side.rows):
            self._show(athlete)

    def _show(self, athlete: Athlete) -> None:
        from tapmark.app.last_step import last_step  # only a chosen athlete has one

        squad, now = self.desk.state.squad, self.desk.now().date()
        if squad is None:
            return
        self.code.configure(text=athlete.code)
        self.about.configure(text=_about(athlete))
        dates = squad.visit_dates(athlete.code)
        thing = thing_of(squad, self.desk.criteria().words)(athlete.code)
        nothing = "Nothing chosen yet" if dates else "No visit yet"
        _fill(self.thing, thing or ("The squad's folder is gone" if squad.is_gone else nothing))
        _fill(self.cue, f"“{athlete.own_cue}”" if athlete.own_cue else "")
        _fill(self.note, "\n".join(_notes(athlete, now.isoformat())))
        self._show_consent(athlete, now.isoformat())
        self._show_visits(athlete.code, dates)
        self._show_step(last_step(squad, athlete.code))

    def _show_consent(self, athlete: Athlete, today: str) -> None:
        film = athlete.consent("film")
        until = f" until {long_day(film.expires)}" if film and film.expires else ""
        words = {
            "given": f"Consent{until}",
            "expired": f"Consent ended {long_day(film.expires)}" if film else "",
            "withdrawn": f"Consent taken back {long_day(film.withdrawn)}" if film else "",
            "refused": "Consent refused",
        }
        state = consent_state(athlete, "film", today)
        self.consent.configure(text=words.get(state, "Consent: ask first"))
        for use, tick in self.ticks.items():
            given = consent_state(athlete, use, today) == "given"
            tick.state(["selected" if given else "!selected"])

    def _show_visits(self, code: str, dates: tuple[str, ...]) -> None:
        squad = self.desk.state.squad
        for child in self.visits.winfo_children():
            child.destroy()
        more = f" ({len(dates)} in all)" if len(dates) > MOST_VISITS else ""
        self.visits_label.configure(text=f"Visits{more}" if dates else "")
        if squad is None:
            return
        for row, dated in enumerate(reversed(dates[-MOST_VISITS:])):
            runs = several(len(squad.run_names(code, dated)), "run")
            button = ttk.Button(
                self.visits,
                text=f"{long_day(dated)}    {runs}",
                style="Quiet.TButton",
                command=partial(self._open, dated),
            )
            button.grid(row=row, column=0, sticky="w")

    def _show_step(self, step: "LastStep | None") -> None:
        if step is None:
            self.step_words.grid_remove()
            self.step.grid_remove()
            return
        near = f"{step.run.near_side} leg near"
        self.step_words.configure(text=f"Last step, {long_day(step.dated)}, {near}")
        self.step_words.grid()
        fonts = window_fonts(self.frame)
        width = self.width - self.look.em(1)  # a label keeps a rim
        shapes, height = step.shapes(width, em_px(self.frame), fonts.width)
        self._photo = photo(self.frame, shapes, (width, height), fonts, palette.WHITE)
        self.step.configure(image=self._photo)
        self.step.grid()

    def _open(self, dated: str) -> None:
        self.desk.attempt(lambda: open_visit(self.desk, dated))


def _about(athlete: Athlete) -> str:
    words = [f"born {athlete.birth_year}"] if athlete.birth_year else []
    words += [athlete.group] if athlete.group else []
    words += [f"{length.what} {length.cm:g} cm" for length in athlete.lengths[-1:]]
    words += [athlete.clearance] if athlete.clearance else []
    return ", ".join(words)


def _notes(athlete: Athlete, today: str) -> list[str]:
    """Return what speaks up by itself: a race near by, a length to measure, the coach's note."""
    return [
        words
        for words in (quiet_period(athlete, today), length_asked(athlete, today), athlete.notes)
        if words
    ]


def _fill(label: ttk.Label, text: str) -> None:
    """Show a text, or give its room away."""
    label.configure(text=text)
    label.grid() if text else label.grid_remove()

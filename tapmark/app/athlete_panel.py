"""One athlete beside the list: what is worked on, consent, visits."""

import tkinter as tk
from functools import partial
from tkinter import ttk

from tapmark.app.desk import Desk
from tapmark.app.fresh import Fresh
from tapmark.app.review_deeds import thing_of
from tapmark.app.squad_deeds import open_visit
from tapmark.app.style import Look
from tapmark.app.titles import day, several
from tapmark.app.widgets import ActionButton, wrapped
from tapmark.marks.people import CONSENTS, Athlete
from tapmark.store.gates import consent_state

MOST_VISITS = 6
CONSENT_WORDS = {
    "film": "film",
    "keep stills": "keep stills",
    "print photo": "photo on the sheet",
    "share with physio": "share with physio",
    "show to group": "show to the group",
}


class AthletePanel:
    """The right column of the Squad page."""

    def __init__(self, parent: tk.Misc, desk: Desk, look: Look, width_em: float) -> None:
        self.desk, self.look, self._fresh = desk, look, Fresh()
        self.width = look.em(width_em - 5)
        pad = look.em(2.4)
        self.frame = ttk.Frame(parent, style="White.TFrame", padding=(pad, look.em(2)))
        self.frame.columnconfigure(0, weight=1)
        self.frame.rowconfigure(8, weight=1)
        self._build_head()
        self._build_consent()
        self.visits_label = ttk.Label(self.frame, text="Visits", style="WhiteMuted.TLabel")
        self.visits_label.grid(row=6, column=0, sticky="w", pady=(look.em(2), look.em(0.4)))
        self.visits = ttk.Frame(self.frame, style="White.TFrame")
        self.visits.grid(row=7, column=0, sticky="ew")
        self._build_buttons()

    def _build_head(self) -> None:
        look = self.look
        head = ttk.Frame(self.frame, style="White.TFrame")
        head.grid(row=0, column=0, sticky="ew")
        self.code = ttk.Label(head, style="WhiteTitle.TLabel")
        self.code.grid(row=0, column=0)
        self.about = ttk.Label(head, style="WhiteMuted.TLabel")
        self.about.grid(row=0, column=1, padx=(look.em(1.7), 0), sticky="s")
        self.since = ttk.Label(self.frame, style="WhiteMuted.TLabel")
        self.since.grid(row=1, column=0, sticky="w", pady=(look.em(1.8), 0))
        self.thing = wrapped(ttk.Label(self.frame, style="WhiteHead.TLabel"), self.width)
        self.thing.grid(row=2, column=0, sticky="w", pady=(look.em(0.5), 0))
        self.cue = wrapped(ttk.Label(self.frame, style="White.TLabel"), self.width)
        self.cue.grid(row=3, column=0, sticky="w", pady=(look.em(0.5), 0))

    def _build_consent(self) -> None:
        look = self.look
        self.consent = ttk.Label(self.frame, style="WhiteMuted.TLabel")
        self.consent.grid(row=4, column=0, sticky="w", pady=(look.em(2), look.em(0.4)))
        box = ttk.Frame(self.frame, style="White.TFrame")
        box.grid(row=5, column=0, sticky="ew")
        self.ticks: dict[str, ttk.Checkbutton] = {}
        for i, use in enumerate(CONSENTS):
            box.columnconfigure(i // 3, weight=1, uniform="half")
            tick = ttk.Checkbutton(
                box,
                text=CONSENT_WORDS[use],
                style="White.TCheckbutton",
                command=partial(self.desk.perform, "edit athlete"),
            )
            tick.grid(row=i % 3, column=i // 3, sticky="w")
            tick.state(["!alternate"])
            self.ticks[use] = tick

    def _build_buttons(self) -> None:
        look = self.look
        box = ttk.Frame(self.frame, style="White.TFrame")
        box.grid(row=9, column=0, sticky="e")
        self.buttons = [
            ActionButton(box, self.desk, look, "edit athlete", "Change").grid(row=0, column=0),
            ActionButton(box, self.desk, look, "open last", "Open last").grid(
                row=0, column=1, padx=look.em(1)
            ),
            ActionButton(box, self.desk, look, "new visit", is_primary=True).grid(row=0, column=2),
        ]

    def refresh(self) -> None:
        """Show the athlete chosen; an empty panel when there is none."""
        athlete = self.desk.state.athlete
        if athlete is None:
            self.frame.grid_remove()
            return
        self.frame.grid(row=0, column=0, sticky="nsew")
        for button in self.buttons:
            button.refresh()
        if self._fresh.is_new(athlete, self.desk.state.visit):
            self._show(athlete)

    def _show(self, athlete: Athlete) -> None:
        squad, today = self.desk.state.squad, self.desk.now().date().isoformat()
        if squad is None:
            return
        self.code.configure(text=athlete.code)
        self.about.configure(text=_about(athlete))
        dates = squad.visit_dates(athlete.code)
        thing = thing_of(self.desk)(athlete.code)
        self.since.configure(text=f"One thing since {day(dates[-1])}" if thing else "")
        self.thing.configure(text=thing)
        self.cue.configure(text=f"“{athlete.own_cue}”" if athlete.own_cue else "")
        film = athlete.consent("film")
        until = f" until {day(film.expires)}" if film and film.expires else ""
        self.consent.configure(text=f"Consent{until}")
        for use, tick in self.ticks.items():
            given = consent_state(athlete, use, today) == "given"
            tick.state(["selected" if given else "!selected"])
        self._show_visits(athlete.code, dates)

    def _show_visits(self, code: str, dates: tuple[str, ...]) -> None:
        squad = self.desk.state.squad
        for child in self.visits.winfo_children():
            child.destroy()
        self.visits_label.configure(text="Visits" if dates else "No visit yet")
        if squad is None:
            return
        for row, dated in enumerate(reversed(dates[-MOST_VISITS:])):
            runs = several(len(squad.run_names(code, dated)), "run")
            button = ttk.Button(
                self.visits,
                text=f"{day(dated)}    {runs}",
                style="Quiet.TButton",
                command=partial(self._open, dated),
            )
            button.grid(row=row, column=0, sticky="w")

    def _open(self, dated: str) -> None:
        self.desk.attempt(lambda: open_visit(self.desk, dated))


def _about(athlete: Athlete) -> str:
    words = [f"born {athlete.birth_year}"] if athlete.birth_year else []
    words += [athlete.group] if athlete.group else []
    words += [f"{length.what} {length.cm:g} cm" for length in athlete.lengths[-1:]]
    return ", ".join(words)

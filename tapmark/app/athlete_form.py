"""The form for a new or a changed athlete, in the place of the panel; never a dialog."""

import tkinter as tk
from tkinter import ttk

from tapmark.app.athlete_panel import CONSENT_WORDS
from tapmark.app.desk import Desk
from tapmark.app.squad_deeds import Entry, FieldTrouble, entry_of, save_entry
from tapmark.app.style import Look
from tapmark.app.widgets import wrapped
from tapmark.errors import TapmarkError
from tapmark.marks.people import CONSENTS

FIELDS = (
    ("code", "Code or initials", "never a full name"),
    ("birth_year", "Year of birth", ""),
    ("group", "Event group", "e.g. 400 and 800 m"),
    ("leg_cm", "Leg length, cm", "bony knob of the hip to the floor, in shoes"),
    ("height_cm", "or height, cm", ""),
)


class AthleteForm:
    """Fields, consent ticks and two buttons."""

    def __init__(self, parent: tk.Misc, desk: Desk, look: Look, width_em: float) -> None:
        self.desk, self.look = desk, look
        self._mode = ""
        self.frame = ttk.Frame(parent, style="White.TFrame", padding=(look.em(2.4), look.em(2)))
        self.frame.columnconfigure(1, weight=1)
        self.title = ttk.Label(self.frame, style="WhiteTitle.TLabel")
        self.title.grid(row=0, column=0, columnspan=2, sticky="w", pady=(0, look.em(1)))
        self.fields: dict[str, ttk.Entry] = {}
        self.troubles: dict[str, ttk.Label] = {}
        for i, (key, words, note) in enumerate(FIELDS):
            self._field(1 + 2 * i, key, words, note, look.em(width_em - 24))
        self._build_consent(12, look.em(width_em - 24))
        self._build_buttons(20)

    def _field(self, row: int, key: str, words: str, note: str, width: int) -> None:
        look = self.look
        ttk.Label(self.frame, text=words, style="White.TLabel").grid(
            row=row, column=0, sticky="w", pady=look.em(0.4)
        )
        field = ttk.Entry(self.frame)
        field.grid(row=row, column=1, sticky="ew", pady=look.em(0.4), padx=(look.em(1.5), 0))
        field.bind("<Return>", lambda event: self.save())
        under = wrapped(ttk.Label(self.frame, text=note, style="WhiteMuted.TLabel"), width)
        under.grid(row=row + 1, column=1, sticky="w", padx=(look.em(1.5), 0))
        if not note:
            under.grid_remove()
        self.fields[key], self.troubles[key] = field, under

    def _build_consent(self, row: int, width: int) -> None:
        look = self.look
        ttk.Label(self.frame, text="Consent in writing", style="WhiteBold.TLabel").grid(
            row=row, column=0, columnspan=2, sticky="w", pady=(look.em(1.4), 0)
        )
        box = ttk.Frame(self.frame, style="White.TFrame")
        box.grid(row=row + 1, column=0, columnspan=2, sticky="ew")
        self.ticks: dict[str, tk.BooleanVar] = {}
        self.tick_buttons: dict[str, ttk.Checkbutton] = {}
        for i, use in enumerate(CONSENTS):
            box.columnconfigure(i // 3, weight=1, uniform="half")
            self.ticks[use] = tk.BooleanVar(self.frame, False)
            self.tick_buttons[use] = ttk.Checkbutton(
                box,
                text=CONSENT_WORDS[use],
                variable=self.ticks[use],
                style="White.TCheckbutton",
            )
            self.tick_buttons[use].grid(row=i % 3, column=i // 3, sticky="w")
        self._field(row + 2, "by", "Signed by", "athlete and, under 18, a parent", width)
        self._field(row + 4, "until", "Until", "year-month-day, e.g. 2026-09-30", width)

    def _build_buttons(self, row: int) -> None:
        look = self.look
        self.frame.rowconfigure(row - 1, weight=1)
        box = ttk.Frame(self.frame, style="White.TFrame")
        box.grid(row=row, column=0, columnspan=2, sticky="e")
        ttk.Button(box, text="Leave as it was", command=lambda: self.desk.perform("leave")).grid(
            row=0, column=0, padx=look.em(1)
        )
        self.save_button = ttk.Button(box, text="Save", style="Primary.TButton", command=self.save)
        self.save_button.grid(row=0, column=1)

    def show(self, mode: str) -> None:
        """Bring the form to the front, filled once."""
        self.frame.grid(row=0, column=0, sticky="nsew")
        if mode == self._mode:
            return
        self._mode = mode
        athlete = None if mode == "new athlete" else self.desk.state.athlete
        self.title.configure(text=f"Change {athlete.code}" if athlete else "New athlete")
        entry = entry_of(athlete)
        for key, field in self.fields.items():
            field.state(["!disabled", "!invalid"])
            field.delete(0, "end")
            field.insert(0, getattr(entry, key))
        for use, tick in self.ticks.items():
            tick.set(use in entry.consents)
        self._clear_troubles()
        if athlete:
            self.fields["code"].state(["disabled"])
        self.fields["birth_year" if athlete else "code"].focus_set()

    def hide(self) -> bool:
        """Put the form away; return whether it was open."""
        was_open, self._mode = bool(self._mode), ""
        self.frame.grid_remove()
        return was_open

    def save(self) -> None:
        """Write what was typed; a field that cannot be used says so below itself."""
        self._clear_troubles()
        state = self.desk.state
        old = None if self._mode == "new athlete" else state.athlete
        try:
            save_entry(self.desk, self._entry(), old)
        except FieldTrouble as trouble:
            self._show_trouble(trouble)
            return
        except TapmarkError as trouble:
            self.desk.failed(trouble)
            return
        state.form = ""
        state.said = ""
        self.desk.attempt(lambda: None)

    def _entry(self) -> Entry:
        typed = {key: field.get() for key, field in self.fields.items()}
        given = frozenset(use for use, tick in self.ticks.items() if tick.get())
        return Entry(consents=given, **typed)

    def _clear_troubles(self) -> None:
        notes = {key: note for key, _, note in FIELDS}
        notes |= {
            "by": "athlete and, under 18, a parent",
            "until": "year-month-day, e.g. 2026-09-30",
        }
        for key, label in self.troubles.items():
            self.fields[key].state(["!invalid"])
            label.configure(text=notes[key], style="WhiteMuted.TLabel")
            if not notes[key]:
                label.grid_remove()

    def _show_trouble(self, trouble: FieldTrouble) -> None:
        label, field = self.troubles[trouble.field], self.fields[trouble.field]
        label.configure(text=str(trouble), style="WhiteError.TLabel")
        label.grid()
        field.state(["invalid"])
        field.focus_set()

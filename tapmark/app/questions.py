"""The questions about filming, with the answers remembered from last time."""

import tkinter as tk
from collections.abc import Callable
from functools import partial
from tkinter import ttk

from tapmark.app.desk import Desk
from tapmark.app.film_deeds import answer, change_view, choose_top, side_words
from tapmark.app.form import FieldTrouble, number
from tapmark.app.fresh import Fresh
from tapmark.app.rate_deeds import answer_rate, rate_choices, rate_words, true_rate_hz
from tapmark.app.state import AppState
from tapmark.app.style import Look
from tapmark.app.widgets import ActionButton, Typed, wrapped
from tapmark.marks.points import VIEWS
from tapmark.marks.run import ANSWERS, CAMERAS, CONTEXTS, DIRECTIONS, SetUp
from tapmark.measures.gates import nothing_graded

TOPS = ("shoulder", "neck base")
NUMBERS = {  # field -> (words, low, high)
    "camera_distance_m": ("camera distance, m", 1, 100),
    "scale_m": ("scale, m", 0.1, 50),
    "leg_cm": ("leg length, cm", 50, 130),
    "effort": ("effort, 1 to 10", 1, 10),
    "speed_mps": ("speed, m/s", 1, 13),
}


class Questions:
    """A form whose every answer is kept at once; nothing has to be sent off."""

    def __init__(
        self, parent: tk.Misc, foot: ttk.Frame, desk: Desk, look: Look, width_em: float
    ) -> None:
        self.desk, self.look, self._fresh = desk, look, Fresh()
        self.frame = ttk.Frame(parent)
        for column in (1, 3):
            self.frame.columnconfigure(column, weight=1, uniform="field")
        self._width = look.em(width_em)
        self.boxes: dict[str, ttk.Combobox] = {}
        self.entries: dict[str, ttk.Entry] = {}
        self._show: list[Callable[[SetUp], None]] = []
        self._row = 0
        self._build_source()
        self._build_runner()
        self._build_camera()
        self._build_day()
        self.trouble = wrapped(ttk.Label(self.frame, style="Error.TLabel"), self._width)
        self.trouble.grid(row=self._next(), column=0, columnspan=4, sticky="w")
        self.onward = ActionButton(
            foot, desk, look, "page frames", "Choose key frames", is_primary=True
        ).grid(row=0, column=0, sticky="e")

    def _next(self) -> int:
        self._row += 1
        return self._row

    def _build_source(self) -> None:
        look = self.look
        self.title = ttk.Label(self.frame, style="Head.TLabel")
        self.title.grid(row=self._next(), column=0, columnspan=4, sticky="w")
        self.notes = wrapped(ttk.Label(self.frame, style="Muted.TLabel"), self._width)
        self.notes.grid(
            row=self._next(), column=0, columnspan=4, sticky="w", pady=(look.em(0.3), look.em(0.8))
        )

        self.warning = wrapped(ttk.Label(self.frame, style="Bold.TLabel"), self._width)
        self.warning.grid(
            row=self._next(), column=0, columnspan=4, sticky="w", pady=(0, look.em(0.8))
        )

    def _label(self, words: str, row: int, column: int = 0) -> None:
        pad = (0 if column == 0 else self.look.em(1.5), self.look.em(1.2))
        ttk.Label(self.frame, text=words).grid(row=row, column=column, sticky="w", padx=pad)

    def _place(self, widget: tk.Widget, row: int, column: int = 1, span: int = 1) -> None:
        widget.grid(row=row, column=column, columnspan=span, sticky="ew", pady=self.look.em(0.42))

    def _choice(self, words: str, field: str, choices: tuple[str, ...]) -> None:
        row = self._next()
        self._label(words, row)
        box = ttk.Combobox(self.frame, values=choices, state="readonly", width=8)
        self._place(box, row, span=3)
        box.bind("<<ComboboxSelected>>", lambda event: self._keep(words, **{field: box.get()}))
        self._show.append(lambda set_up: box.set(getattr(set_up, field)))
        self.boxes[field] = box

    def _build_runner(self) -> None:
        row = self._next()
        self._label("Seen from", row)
        self.view = ttk.Combobox(self.frame, values=VIEWS, state="readonly", width=8)
        self._place(self.view, row)
        self._label("Trunk up to", row, 2)
        self.top = ttk.Combobox(self.frame, values=TOPS, state="readonly", width=8)
        self._place(self.top, row, 3)
        self._on_choice(self.view, change_view)
        self._on_choice(self.top, choose_top)
        self._choice("Runner goes", "direction", DIRECTIONS)
        row = self._next()
        self._mirrored = tk.BooleanVar(self.frame, False)
        tick = ttk.Checkbutton(
            self.frame,
            text="mirrored: writing reads backwards",
            variable=self._mirrored,
            command=lambda: self._keep("mirrored", is_mirrored=self._mirrored.get()),
        )
        tick.grid(row=row, column=1, columnspan=3, sticky="w")
        self._show.append(lambda set_up: self._mirrored.set(set_up.is_mirrored))
        self.side = ttk.Label(self.frame, style="Bold.TLabel")
        self.side.grid(
            row=self._next(), column=1, columnspan=3, sticky="w", pady=(0, self.look.em(0.6))
        )
        self._choice("Kind of run", "context", CONTEXTS)
        row = self._next()
        self._label("Filmed at, per s", row)
        box = ttk.Frame(self.frame)
        box.columnconfigure(0, weight=1)
        self._place(box, row, span=3)
        self.rate = ttk.Combobox(box, width=8)
        self.rate.grid(row=0, column=0, sticky="ew", padx=(0, self.look.em(0.5)))
        self.watch = ActionButton(box, self.desk, self.look, "stopwatch", "By a stopwatch…").grid(
            row=0, column=1
        )
        self._rate = Typed(self.desk, self.rate, self._keep_rate)
        self.rate.bind("<<ComboboxSelected>>", lambda event: self._rate.commit())

    def _on_choice(self, box: ttk.Combobox, keep: Callable[[Desk, str], None]) -> None:
        box.bind(
            "<<ComboboxSelected>>",
            lambda event: self.desk.attempt(lambda: keep(self.desk, box.get())),
        )

    def _build_camera(self) -> None:
        self._choice("Camera", "camera", CAMERAS)
        self._numbers("Distance, m", "camera_distance_m", "Scale, m", "scale_m")
        row = self._next()
        self._label("In the picture", row)
        box = ttk.Frame(self.frame)
        self._place(box, row, span=3)
        self.picks = {}
        for i, (name, text) in enumerate((("mark pole", "Pole"), ("mark scale", "Scale"))):
            box.columnconfigure(i, weight=1, uniform="half")
            self.picks[name] = ActionButton(box, self.desk, self.look, name, text).grid(
                row=0, column=i, sticky="ew", padx=(0, self.look.em(0.5)) if i == 0 else 0
            )

    def _build_day(self) -> None:
        self._choice("Pain today", "pain", ANSWERS)
        self._numbers("Leg length, cm", "leg_cm", "Effort, 1–10", "effort")
        self._build_speed()
        self._long_text("Zone", "zone")
        self._texts("Shoes", "shoes", "Surface", "surface")
        self._long_text("Wind", "wind")

    def _build_speed(self) -> None:
        row = self._next()
        self._label("Speed, m/s", row)
        entry = ttk.Entry(self.frame, width=6)
        self._place(entry, row)
        self._keep_as_number(entry, "speed_mps")
        self._grown = tk.BooleanVar(self.frame, False)
        tick = ttk.Checkbutton(
            self.frame,
            text="has grown since",
            variable=self._grown,
            command=lambda: self._keep("growth", has_grown=self._grown.get()),
        )
        tick.grid(row=row, column=2, columnspan=2, sticky="w", padx=(self.look.em(1.5), 0))
        self._show.append(lambda set_up: self._grown.set(set_up.has_grown))

    def _pair(self, words: tuple[str, str]) -> tuple[ttk.Entry, ttk.Entry]:
        row = self._next()
        first, second = ttk.Entry(self.frame, width=6), ttk.Entry(self.frame, width=6)
        self._label(words[0], row)
        self._place(first, row)
        self._label(words[1], row, 2)
        self._place(second, row, 3)
        return first, second

    def _numbers(self, a_words: str, a_field: str, b_words: str, b_field: str) -> None:
        for entry, field in zip(self._pair((a_words, b_words)), (a_field, b_field), strict=True):
            self._keep_as_number(entry, field)

    def _texts(self, a_words: str, a_field: str, b_words: str, b_field: str) -> None:
        for entry, field in zip(self._pair((a_words, b_words)), (a_field, b_field), strict=True):
            self._keep_as_text(entry, field)

    def _long_text(self, words: str, field: str) -> None:
        row, entry = self._next(), ttk.Entry(self.frame, width=6)
        self._label(words, row)
        self._place(entry, row, span=3)
        self._keep_as_text(entry, field)

    def _keep_as_text(self, entry: ttk.Entry, field: str) -> None:
        self.entries[field] = entry
        typed = Typed(self.desk, entry, partial(self._keep_text, field))
        self._show.append(lambda set_up: typed.fill(getattr(set_up, field)))

    def _keep_as_number(self, entry: ttk.Entry, field: str) -> None:
        self.entries[field] = entry
        typed = Typed(self.desk, entry, partial(self._keep_number, field))
        self._show.append(lambda set_up: typed.fill(_number_words(getattr(set_up, field))))

    def _keep(self, label: str, **answers: object) -> None:
        self.desk.attempt(lambda: answer(self.desk, label.lower(), **answers))

    def _keep_rate(self, text: str) -> str:
        try:
            if text != rate_words(self.desk):
                answer_rate(self.desk, text)
        except FieldTrouble as trouble:
            return self._told(str(trouble))
        return self._told("")

    def _keep_number(self, field: str, text: str) -> str:
        words, low, high = NUMBERS[field]
        try:
            value = number(text, field, words, low, high)
        except FieldTrouble as trouble:
            return self._told(str(trouble))
        answers: dict[str, object] = {field: value}
        if field == "effort":
            answers = {field: None if value is None else round(value)}
        if field == "leg_cm":
            answers["leg_source"] = "tape" if value else ""
        self._keep(words, **answers)
        return self._told("")

    def _keep_text(self, field: str, text: str) -> str:
        self._keep(field, **{field: text.strip()})
        return ""

    def _told(self, trouble: str) -> str:
        """Show why something typed cannot be used, or that it can, and return it."""
        self.trouble.configure(text=trouble)
        return trouble

    def refresh(self, state: AppState) -> None:
        """Show the answers as they stand, where nobody is typing."""
        run, gallery = state.run, state.gallery
        if run is None or state.stopwatch:
            self.frame.grid_remove()
            return
        self.frame.grid()
        self.onward.refresh()
        for name, button in self.picks.items():
            button.refresh(_pick_words(name, run.set_up, state.picking))
        self.watch.refresh()
        notes = (gallery.pictures.name, *gallery.notes) if gallery else ("", "")
        whose = state.at_hand()
        if self._fresh.is_new(whose, run.set_up, run.view, notes, rate_words(self.desk)):
            self.title.configure(text=notes[0] or "Filming")
            self.notes.configure(text="\n".join(notes[1:]))
            self.notes.grid() if notes[1:] else self.notes.grid_remove()
            warning = nothing_graded(run, true_rate_hz(self.desk))
            self.warning.configure(text=warning)
            self.warning.grid() if warning else self.warning.grid_remove()
            self.side.configure(text=side_words(run.set_up, run.near_side))
            for show in self._show:
                show(run.set_up)
            self.rate.configure(values=rate_choices(self.desk))
            self._rate.fill(rate_words(self.desk))
            self.view.set(run.view)
            self.top.set(TOPS[1] if run.set_up.uses_neck_base else TOPS[0])


def _pick_words(name: str, set_up: SetUp, picking: str) -> str:
    what = name.split()[-1]
    if picking == what:
        return "Press twice …"
    is_there = set_up.upright_px if what == "pole" else set_up.scale_px
    return f"{what.capitalize()} ✓" if is_there else f"Mark {what}"


def _number_words(value: float | None) -> str:
    return "" if value is None else f"{value:g}"

"""What to work on: one thing, perhaps a second, the cue, and why."""

import tkinter as tk
from collections.abc import Callable
from tkinter import ttk

from PIL import ImageTk

from tapmark.app.desk import Desk
from tapmark.app.fresh import Fresh
from tapmark.app.painting import em_px, photo, window_fonts
from tapmark.app.review_deeds import change_cue, change_reason, choose_slot
from tapmark.app.state import AppState
from tapmark.app.style import Look
from tapmark.app.widgets import Typed, wrapped
from tapmark.checklist.items import WORST_FIRST
from tapmark.checklist.verdict import Assessment, ItemVerdict
from tapmark.drawing import palette
from tapmark.drawing.chain_map import MapLook, chain_map

BY_RULE = "as the rule chooses"
NONE = "none"


class SlotPanel:
    """Three fields and the sentences that belong to them."""

    def __init__(self, parent: tk.Misc, desk: Desk, look: Look, width_em: float) -> None:
        self.desk, self.look, self._fresh = desk, look, Fresh()
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(1, weight=1)
        self._width_em = width_em
        self._items: dict[str, int | None] = {}
        self._typed: dict[str, Typed] = {}
        self.first = self._choice(0, "One thing", "Head.TLabel", 0)
        self.second = self._choice(1, "Second", "Muted.TLabel", 1)
        self.cue = self._field(2, "Cue", lambda text: change_cue(desk, text))
        self.reason = self._field(3, "Reason", lambda text: change_reason(desk, text))
        self.reason_label = self._label
        self._em, self._fonts = em_px(parent), window_fonts(parent)
        self._photo: ImageTk.PhotoImage | None = None
        self.map_title = ttk.Label(self.frame, text="Probably starts with", style="Muted.TLabel")
        self.map_title.grid(row=5, column=0, columnspan=2, sticky="w", pady=(look.em(0.8), 0))
        self.map = ttk.Label(self.frame)
        self.map.grid(row=6, column=0, columnspan=2, sticky="w")
        self.words = wrapped(ttk.Label(self.frame, style="Muted.TLabel"), look.em(width_em - 2))
        self.words.grid(row=4, column=0, columnspan=2, sticky="w", pady=(look.em(0.8), 0))

    def _choice(self, row: int, words: str, style: str, i_slot: int) -> ttk.Combobox:
        look = self.look
        ttk.Label(self.frame, text=words, style=style).grid(row=row, column=0, sticky="w")
        box = ttk.Combobox(self.frame, state="readonly")
        box.grid(row=row, column=1, sticky="ew", padx=(look.em(2), 0), pady=look.em(0.4))
        box.bind("<<ComboboxSelected>>", lambda event: self._chosen(box, i_slot))
        return box

    def _field(self, row: int, words: str, keep: Callable[[str], None]) -> ttk.Entry:
        look = self.look
        self._label = ttk.Label(self.frame, text=words, style="Muted.TLabel")
        self._label.grid(row=row, column=0, sticky="w")
        entry = ttk.Entry(self.frame)
        entry.grid(row=row, column=1, sticky="ew", padx=(look.em(2), 0), pady=look.em(0.4))
        self._typed[words] = Typed(self.desk, entry, lambda text: self._kept(keep, text))
        return entry

    def _kept(self, keep: Callable[[str], None], text: str) -> str:
        self.desk.attempt(lambda: keep(text))
        return ""

    def _chosen(self, box: ttk.Combobox, i_slot: int) -> None:
        item = self._items.get(box.get())
        self.desk.attempt(lambda: choose_slot(self.desk, i_slot, item))

    def refresh(self, state: AppState) -> None:
        """Show the choice as it stands."""
        if state.reading is None:
            self.frame.grid_remove()
            return
        self.frame.grid()
        assessment = state.reading.assessment
        if self._fresh.is_new(assessment, state.visit, state.at_hand()):
            self._show(assessment, state.visit.reason if state.visit else "")

    def _show(self, found: Assessment, reason: str) -> None:
        self._items = {BY_RULE: 0, NONE: None, **_choices(found)}
        names = tuple(self._items)
        names_of = {number: name for name, number in self._items.items()}
        taken = [names_of.get(c.item.number, NONE) for c in found.slots] + [NONE, NONE]
        for box, name in zip((self.first, self.second), taken, strict=False):
            box.configure(values=names)
            box.set(name)
        self.first.state(["disabled" if found.most_slots < 1 else "!disabled"])
        self.second.state(["disabled" if found.most_slots < 2 else "!disabled"])
        self._typed["Cue"].fill(found.slots[0].phrase.cue if found.slots else "")
        self._typed["Reason"].fill(reason)
        is_other = bool(reason) or found.lacks_reason
        for widget in (self.reason, self.reason_label):
            widget.grid() if is_other else widget.grid_remove()
        self.words.configure(text=_sentences(found))
        self._draw_map(found)

    def _draw_map(self, found: Assessment) -> None:
        em, width = self._em, self.look.em(self._width_em) - 6
        drawn = chain_map(found, width, _map_look(em), self._fonts.width)
        if not drawn.shapes or found.blocked:
            self.map_title.grid_remove()
            self.map.grid_remove()
            return
        size = (width, max(1, round(drawn.height)))
        self._photo = photo(self.frame, drawn.shapes, size, self._fonts, palette.PAPER)
        self.map.configure(image=self._photo)
        self.map_title.grid()
        self.map.grid()


def _map_look(em: float) -> MapLook:
    return MapLook(
        text=em,
        sign=1.35 * em,
        row=3.0 * em,
        light=1.2,
        heavy=2.4,
        ink=palette.INK,
        paper=palette.PAPER,
        accent=palette.ACCENT,
    )


def _choices(found: Assessment) -> dict[str, int | None]:
    """Return name -> number of every item that may take a slot, the telling ones first."""
    items = sorted(found.items, key=lambda item: (WORST_FIRST.index(item.word), item.number))
    return {_name(item): item.number for item in items if not item.is_result}


def _name(item: ItemVerdict) -> str:
    foot = f", {item.feet}" if item.feet else ""
    return f"{item.name}{foot}: {item.word}"


def _sentences(found: Assessment) -> str:
    if found.blocked:
        return found.blocked
    if found.lacks_reason:
        return "You chose otherwise than the rule. Write a short reason for the coach's copy."
    if not found.slots:
        return "Nothing is seen or likely: the sheet says what is done well, and “keep this”."
    return " ".join(found.reasons[:2])

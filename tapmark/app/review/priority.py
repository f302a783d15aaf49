"""The priority of a visit: its cue, why it is this one, and you beside the idea."""

from functools import partial
from tkinter import ttk
from typing import Any

from tapmark.app.review.actions import change_cue, change_reason, choose_slot
from tapmark.app.shell.context import Context
from tapmark.app.state.session import AppState
from tapmark.app.state.viewport import Viewport
from tapmark.app.widgets import pieces
from tapmark.app.widgets.bench import Leaf
from tapmark.app.widgets.fields import Typed, choice
from tapmark.app.widgets.painting import em_px, pair_look, pair_photo, photo, window_fonts
from tapmark.app.widgets.pieces import Fresh, label, put
from tapmark.checklist.items import WORST_FIRST
from tapmark.checklist.verdict import LIKELY, Assessment
from tapmark.checklist.words import Words
from tapmark.report.drawing import idea, palette
from tapmark.report.drawing.chain_map import MapLook, chain_map
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.pair import Caption, pair_drawing
from tapmark.report.drawing.pose import step_poses
from tapmark.report.drawing.shapes import Area, Shapes, moved

NARROW = 47  # units: below, a list has no room for names with their words
BY_RULE = "as the rule chooses"
NONE = "none"


class SlotChoice:
    """A list of the items that may be the first or second priority."""

    def __init__(self, parent: ttk.Frame, context: Context, i_slot: int, is_narrow: bool) -> None:
        self._i_slot, self._is_narrow, self._items = i_slot, is_narrow, dict[str, int | None]()

        def keep(words: str) -> None:
            item = self._items.get(words)
            context.attempt(lambda: choose_slot(context.state, i_slot, item))

        self.box = choice(parent, keep)

    def refresh(self, found: Assessment) -> None:
        """Show what is chosen and what else can be, the telling ones first, with their words."""
        items = sorted(found.items, key=lambda item: (WORST_FIRST.index(item.word), item.number))
        self._items = {BY_RULE: 0, NONE: None}
        for item in items:
            foot = f", {item.feet}" if item.feet else ""
            name = item.name if self._is_narrow else f"{item.name}{foot}: {item.word}"
            self._items |= {} if item.is_result else {name: item.number}
        names = {number: name for name, number in self._items.items()}
        slots = [slot.item.number for slot in found.slots[self._i_slot :]]
        self.box.configure(values=tuple(self._items))
        self.box.set(names.get(slots[0], NONE) if slots else NONE)
        self.box.state(["disabled" if found.most_slots <= self._i_slot else "!disabled"])


class PriorityPanel(Leaf):
    """The priority and its cue, and what is missing to be sure of it."""

    def fill(self, frame: ttk.Frame) -> None:
        look, context = self.look, self.context
        frame.columnconfigure(0, weight=0)
        frame.columnconfigure(1, weight=1)
        gap, low = (look.units(0.8), 0), (look.units(0.4), 0)
        label(frame, 1, "Priority", "Bold.TLabel")
        self.first = SlotChoice(frame, context, 0, self.width < look.units(NARROW))
        put(self.first.box, 1, 1, "ew", padx=gap)
        label(frame, 2, "Cue")
        self.cue = put(ttk.Entry(frame), 2, 1, "ew", padx=gap, pady=low)
        self._typed = Typed(context, self.cue, partial(change_cue, context.state))
        frame.rowconfigure(3, minsize=look.units(4.4))
        style, pad = "Muted.TLabel", (look.units(0.2), 0)
        self.words = label(
            frame, 3, style=style, wrap=self.width, sticky="nw", columnspan=2, pady=pad
        )

    def refresh(self, state: AppState) -> None:
        pieces.show(self.frame, state.review.reading is not None)
        if state.review.reading is None:
            return
        found, words = state.review.reading.assessment, state.review.reading.criteria.words
        if self.fresh.is_new(found, state.visit, state.at_hand()):
            self.first.refresh(found)
            self._typed.fill(found.slots[0].phrase.cue if found.slots else "")
            self.words.configure(text=_missing(found, words))


def _missing(found: Assessment, words: Words) -> str:
    """Return why nothing may be proposed, or what is missing to be sure."""
    if found.blocked:
        return found.blocked
    if found.lacks_reason:
        return "You chose otherwise than the rule. W: write a short reason."
    if not found.slots:
        return "The sheet says what is done well, and “keep this”."
    item = found.slots[0].item
    if item.word == LIKELY:
        return words.say("why.likely", name=item.name)
    if item.once:
        return words.say("why.seen_once", name=item.name)
    return found.reasons[0] if found.reasons else ""


def pair_at_hand(state: AppState) -> tuple[idea.Pair, Caption] | None:
    """Return the athlete's own pose beside the same with the first priority put right."""
    reading, run = state.review.reading, state.run
    if not (reading and run and reading.assessment.slots):
        return None
    item, say = reading.assessment.slots[0].item, reading.criteria.words.say
    poses = step_poses(run, state.marking.i_step)
    pair = idea.pair_of(item.number, poses, item.feet == run.far_side)
    return (pair, Caption(say("page.you"), say("page.idea"))) if pair else None


class PairCard:
    """The pair of figures on a white card in that upper corner of the picture which is free."""

    def __init__(self, unit: float, em: float, fonts: Fonts) -> None:
        self._unit, self._em, self._fonts = unit, em, fonts
        self._fresh, self._drawn = Fresh(), Fresh()
        self._size, self._shapes = (0.0, 0.0), Shapes()
        self._placed: dict[float, Shapes] = {}  # by their left edge; it is asked for at each redraw

    def shapes(self, state: AppState, view: Viewport) -> Shapes:
        """Return the card in px of the pane; nothing where the runner fills both corners."""
        if self._fresh.is_new(state.review.reading, state.run, state.marking.i_step):
            self._draw(pair_at_hand(state))
        if not self._shapes:
            return ()
        (wide, tall), em, frame = self._size, self._em, state.frame
        spots = [view.to_canvas(tap.at_px) for tap in frame.taps if tap.at_px] if frame else []
        for left in (view.canvas[0] - wide - 0.8 * em, 0.8 * em):
            reach = left - 3 * em, left + wide + 3 * em
            if not any(reach[0] < x < reach[1] and y < tall + 5 * em for x, y in spots):
                if left not in self._placed:
                    self._placed[left] = moved(self._shapes, left, 0.8 * em)
                return self._placed[left]
        return ()

    def _draw(self, pair: tuple[idea.Pair, Caption] | None) -> None:
        if not self._drawn.is_new(pair):
            return
        em, wide = self._em, 17 * self._em
        self._shapes = ()
        self._placed.clear()
        if pair:
            look = pair_look(em, self._fonts, palette.WHITE)
            drawn = pair_drawing(*pair, wide, 8 * em, look)
            tall = drawn.above + drawn.below + 0.6 * em
            corners = ((0.0, 0.0), (wide, 0.0), (wide, tall), (0.0, tall))
            card = Area(corners, palette.WHITE, palette.HAIRLINE_DARK, self._unit)
            self._size = wide, tall
            self._shapes = (card, *moved(drawn.shapes, 0.0, drawn.above + 0.3 * em))


REASON_WORDS = "Reason, where you choose otherwise than the rule"


class WhyPanel(Leaf):
    """Why this one: you beside the idea, what it starts with, the reasons; a second priority."""

    title = "Why this one"

    def fill(self, frame: ttk.Frame) -> None:
        look, context, width = self.look, self.context, self.width
        above, muted = (look.units(0.6), 0), "Muted.TLabel"
        self._em, self._fonts = em_px(frame), window_fonts(frame)
        self._photos: dict[str, Any] = {}
        self.pair = label(frame, 0)
        self.map_title = label(frame, 1, "Probably starts with", muted, pady=above)
        self.map = label(frame, 2)
        self.words = label(frame, 3, wrap=width, pady=look.units(0.8))
        label(frame, 4, "Second priority", muted, pady=above)
        self.second = SlotChoice(frame, context, 1, width < look.units(NARROW))
        put(self.second.box, 5, 0, "ew")
        label(frame, 6, REASON_WORDS, muted, wrap=width, pady=above)
        self.reason = put(ttk.Entry(frame), 7, 0, "ew")
        self._typed = Typed(context, self.reason, partial(change_reason, context.state))

    def refresh(self, state: AppState) -> None:
        reading, run = state.review.reading, state.run
        if reading is None or run is None:
            return
        found, words = reading.assessment, reading.criteria.words
        if not self.fresh.is_new(found, state.visit, state.at_hand(), run):
            return
        pair, room = pair_at_hand(state), self.width - 6
        pieces.show(self.pair, pair is not None)
        if pair:
            size = room, round(14 * self._em)
            self._photos["pair"] = pair_photo(self.pair, *pair, size, palette.PAPER)
            self.pair.configure(image=self._photos["pair"])
        em, ink, paper = self._em, palette.INK, palette.PAPER
        look = MapLook(em, 1.35 * em, 3.0 * em, 1.2, 2.4, ink, paper, palette.ACCENT)
        drawn = chain_map(found, room, look, self._fonts.width)
        has_map = bool(drawn.shapes) and not found.blocked
        for widget in (self.map_title, self.map):
            pieces.show(widget, has_map)
        if has_map:
            size = (room, max(1, round(drawn.height)))
            self._photos["map"] = photo(self.frame, drawn.shapes, size, self._fonts, paper)
            self.map.configure(image=self._photos["map"])
        self.words.configure(text="\n".join(found.reasons) or _missing(found, words))
        self.second.refresh(found)
        self._typed.fill(state.visit.reason if state.visit else "")

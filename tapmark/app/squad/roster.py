"""The list of athletes: who is due, the last step, the one thing and how it went since."""

import tkinter as tk
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import accumulate
from tkinter import ttk
from typing import Any

from PIL import Image, ImageTk

from tapmark.app.state.roster_lines import ARCHIVED, GROUPS, LATER, NOT_NOW, NOW, Row
from tapmark.app.widgets.columns import scroll_to, scrolled
from tapmark.app.widgets.painting import clear_image, em_px, sign_photos, window_fonts
from tapmark.app.widgets.pieces import put, soon, surface
from tapmark.app.widgets.table import cut
from tapmark.app.widgets.theme import Look
from tapmark.report.drawing import palette
from tapmark.report.drawing.bands import band_shapes
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.shapes import Shapes, moved
from tapmark.report.drawing.signs import CHANGES, change_sign
from tapmark.report.drawing.step_line import StepLook, step_line
from tapmark.services.standing import Standing

ROW_EM, GROUP_EM, HEAD_EM = 5, 3.1, 2.8
RIM = 2  # px around the list that show where the keyboard is
COLUMNS = {
    "code": ("code, event", 11.0),
    "last": ("last filmed", 13.0),
    "step": ("last step", 19.5),
    "thing": ("one thing, cue", 25.0),
    "band": ("last time, now", 13.0),
    "word": ("since last time", 15.5),
}
"""Column -> its heading and how wide it is at least, in u.

What is to spare goes to codes and events that need it, then to the thing.
"""
LEFT_OUT = ("step", "band", "word")  # in this order where the list is narrow
INDENT_EM, MOST_SPARE_EM = 1.6, 20
FIGURE_EM, STEP_EM, BAND_EM, SIGN_EM = 3.6, 18.0, 11.6, 5.0
BAND_MM = 27.0  # so wide is the band in the units in which its strokes are drawn
WHY = {
    LATER: "filmed not long ago",
    NOT_NOW: "what has to happen first stands in the row",
    ARCHIVED: "kept, and not in the rota",
}


@dataclass(frozen=True)
class Drawn:
    """What a worker drew for one row; images without a ground of their own, or None."""

    standing: Standing
    step: Image.Image | None
    band: Image.Image | None


class Artist:
    """Draws rows beside the window: it holds sizes and fonts, and no widget."""

    def __init__(self, root: tk.Misc, look: Look) -> None:
        self._em, self._units = em_px(root), look.units
        self._fonts = window_fonts(root)
        self._band_fonts = Fonts(look.units(BAND_EM) / BAND_MM, self._fonts.family)

    def draw(self, standing: Standing) -> Drawn:
        """Return the last step as figures and the band with last time and now."""
        em, units, step, band = self._em, self._units, None, None
        if standing.run.steps[standing.i_step].key_frames:
            size = units(STEP_EM), units(ROW_EM) - 4
            look = StepLook(
                figure=units(FIGURE_EM),
                text=em,
                thin=1.0,
                heavy=0.2 * em,
                leader=1.0,
                ink=palette.INK,
                min_outline=1.0,
                says_phases=False,
            )
            line = step_line(standing.run, standing.i_step, size[0], look, self._fonts.width)
            step = clear_image(moved(line.bare, 0.0, size[1] - 0.3 * em), size, self._fonts)
        if standing.band and standing.now:
            was = standing.was and replace(standing.was, plus_minus=0.0, is_about=True)
            dots = (was, standing.now) if was else (standing.now,)
            size, fonts = (units(BAND_EM), units(2.4)), self._band_fonts
            shapes: Shapes = band_shapes(standing.band, dots, BAND_MM - 1.0)
            band = clear_image(moved(shapes, 0.4, size[1] / 2 / fonts.px_per_unit), size, fonts)
        return Drawn(standing, step, band)


class Roster:
    """A list on a canvas with its headings; draws what a row shows once it is known.

    chosen: gets the code of the row that was pressed or reached by keys. opened: gets the code of
    one pressed twice. seen: called when other rows are seen.
    """

    def __init__(
        self,
        parent: ttk.Frame,
        look: Look,
        chosen: Callable[[str], None],
        opened: Callable[[str], None],
    ) -> None:
        self.look, self._chosen = look, chosen
        self.frame = ttk.Frame(parent, style="White.TFrame")
        self.frame.columnconfigure(0, weight=1)
        self.frame.rowconfigure(1, weight=1)
        self.head = put(surface(self.frame, palette.WHITE, has_focus=False), 0, 0, "ew")
        self.head.configure(height=look.units(HEAD_EM))
        canvas = self.canvas = put(surface(self.frame, palette.WHITE, RIM), 1, 0, "nsew")
        self.seen: Callable[[], object] = lambda: None
        scrolled(canvas, self.frame, 1, lambda: soon(canvas, 1, self.seen))
        self.rows: tuple[Row, ...] = ()
        self.rule = self.code = ""
        self._tops: dict[str, int] = {}
        self._height = 0
        self._at: dict[str, tuple[int, int]] = {}
        self._drawn: dict[str, tuple[Standing, dict[str, ImageTk.PhotoImage]]] = {}
        self._cut: dict[str, str] = {}
        wide, tall = look.units(SIGN_EM - 0.6), look.units(2.4)
        sign = partial(change_sign, left=(1.0, tall / 2), height=0.66 * tall)
        self._signs = sign_photos(parent, CHANGES, (wide, tall), sign)
        canvas.bind("<Configure>", lambda event: self._lay_out())
        canvas.bind("<ButtonPress-1>", partial(self._pressed, does=chosen))
        canvas.bind("<Double-Button-1>", partial(self._pressed, does=opened))
        far = len(GROUPS) * 1000
        for key, by in (("Down", 1), ("Up", -1), ("Next", 8), ("Prior", -8), ("End", far)):
            canvas.bind(f"<{key}>", partial(self._step, by=by))
        canvas.bind("<Home>", partial(self._step, by=-far))

    @property
    def codes(self) -> tuple[str, ...]:
        """The codes of the list, in their order on the screen."""
        return tuple(self._tops)

    def fill(self, rows: Sequence[Row], rule: str) -> None:
        """Show these athletes; what was drawn of them before stays. rule: who is due, in words."""
        self.rows, self.rule = tuple(rows), rule
        self._lay_out()

    def put(self, code: str, drawn: Drawn) -> None:
        """Show what a worker drew for a row."""
        images = {"step": drawn.step, "band": drawn.band}
        photos = {
            kind: ImageTk.PhotoImage(image, master=self.canvas)
            for kind, image in images.items()
            if image
        }
        self._drawn[code] = drawn.standing, photos
        self._draw_row(code)

    def forget(self, code: str) -> None:
        """Draw a row without what was drawn for it: it is not true any more."""
        if self._drawn.pop(code, None):
            self._draw_row(code)

    def visible(self) -> tuple[str, ...]:
        """Return the codes of the rows that can be seen, from the top."""
        top = self.canvas.canvasy(0)
        bottom, tall = top + self.canvas.winfo_height(), self.look.units(ROW_EM)
        return tuple(code for code, y in self._tops.items() if y + tall > top and y < bottom)

    def select(self, code: str) -> None:
        """Mark a row and bring it into view, with its heading where it is the first of all."""
        if code == self.code and self.canvas.find_withtag("chosen"):
            return
        self.code = code
        self._mark()
        if code not in self._tops or self._height <= self.canvas.winfo_height():
            return
        if code == self.codes[0]:
            self.canvas.yview_moveto(0)
        else:
            top = self._tops[code]
            scroll_to(self.canvas, top, top + self.look.units(ROW_EM), self._height)
        self.seen()

    def middle_of(self, code: str) -> int:
        """Return how far below the list's upper edge the middle of a row is seen, px."""
        return round(self._tops[code] + self.look.units(ROW_EM) / 2 - self.canvas.canvasy(0))

    def cut_words(self) -> str:
        """Return the whole texts of the chosen row that are cut, "" where all can be read."""
        return self._cut.get(self.code, "")

    def _columns(self) -> dict[str, tuple[int, int]]:
        """Return column -> (left, width) in px, leaving some out of a narrow list."""
        units, bold, body = self.look.units, self.look.font("bold"), self.look.font("body")
        gap = units(1) + 2
        room = self.canvas.winfo_width() - units(INDENT_EM) - units(1)
        widths = {name: units(em) for name, (_, em) in COLUMNS.items()}
        for row in self.rows:  # when it was is never cut
            told = body.measure(row.last), (bold if row.group == NOW else body).measure(row.again)
            widths["last"] = max(widths["last"], max(told) + gap)
        for name in LEFT_OUT:
            if sum(widths.values()) > room:
                widths.pop(name)
        spare = max(0, room - sum(widths.values()))
        codes = [bold.measure(row.code) for row in self.rows]
        events = [body.measure(row.event) for row in self.rows]
        need = max((*codes, *events), default=0) + gap
        more = min(spare, max(0, need - widths["code"]))
        widths["code"] += more
        # not all of it, or a wide list parts what belongs together
        widths["thing"] += min(spare - more, units(MOST_SPARE_EM))
        lefts = accumulate(widths.values(), initial=units(INDENT_EM))
        places = zip(lefts, widths.values(), strict=False)
        return dict(zip(widths, places, strict=True))

    def _lay_out(self) -> None:
        """Draw the headings, and every group with its rows."""
        if self.canvas.winfo_width() < 20:  # not on the screen yet
            return
        canvas, units = self.canvas, self.look.units
        self._at = self._columns()
        self.head.delete("all")
        for name, (left, _) in self._at.items():
            words, y = COLUMNS[name][0], units(HEAD_EM) // 2
            self._text(self.head, left + 2, y, words, palette.MUTED)
        canvas.delete("all")
        self._tops.clear()
        y, last = 0, ("", "")
        for row in sorted(self.rows, key=lambda row: GROUPS.index(row.group)):
            evening = row.group, row.evening
            if evening != last:
                last = evening
                same = [each for each in self.rows if (each.group, each.evening) == evening]
                y = self._draw_heading(y, row, len(same))
            self._tops[row.code] = y
            self._draw_row(row.code)
            y += units(ROW_EM)
        self._height = y
        tall = max(y, canvas.winfo_height() - 2 * RIM)
        canvas.configure(scrollregion=(0, 0, canvas.winfo_width(), tall))
        canvas.configure(yscrollincrement=max(1, units(ROW_EM) // 3))
        self._mark()
        soon(canvas, 1, self.seen)

    def _draw_heading(self, y: int, row: Row, count: int) -> int:
        canvas, look = self.canvas, self.look
        left, middle = look.units(0.6), y + look.units(GROUP_EM) // 2
        title = f"{row.group}, {row.evening}" if row.evening else row.group
        at = self._text(canvas, left, middle, title, palette.INK, "bold", tags=("heading",))
        right = canvas.bbox(at)[2]
        why = self.rule if row.group == NOW else WHY[row.group]
        room = canvas.winfo_width() - right - look.units(3)
        words = cut(f"{count}   {why}", room, look.font("body").measure)
        self._text(canvas, right + look.units(1.2), middle, words, palette.MUTED)
        return y + look.units(GROUP_EM)

    def _draw_row(self, code: str) -> None:
        """Draw a row anew: what the list knows, and what its visits say once they are read."""
        row = next((each for each in self.rows if each.code == code), None)
        if row is None or code not in self._tops:
            return
        canvas, units, y = self.canvas, self.look.units, self._tops[code]
        standing, photos = self._drawn.get(code, (None, {}))
        canvas.delete(f"row {code}")
        self._cut.pop(code, None)
        bottom, tags = y + units(ROW_EM) - 1, (f"row {code}",)
        ends = units(0.6), bottom, canvas.winfo_width(), bottom
        canvas.create_line(*ends, fill=palette.HAIRLINE, tags=tags)
        is_quiet = row.group in (NOT_NOW, ARCHIVED)
        ink = palette.MUTED if is_quiet else palette.INK
        thing, about = row.thing, row.about
        is_cue = bool(thing and about) and not is_quiet and row.last != "–"
        if standing and not is_quiet:
            thing, about, is_cue = standing.thing, standing.about, bool(standing.since)
        about = f"“{about}”" if is_cue and about else about
        self._write(code, "code", (row.code, row.event), (True, False), ink)
        self._write(code, "last", (row.last, row.again), (False, row.group == NOW), ink)
        self._write(code, "thing", (thing, about), (is_cue, False), palette.INK)
        for kind, image in photos.items():
            if kind in self._at and row.group != ARCHIVED:
                left, middle = self._at[kind][0] + 2, y + units(ROW_EM) / 2
                canvas.create_image(left, middle, image=image, anchor="w", tags=tags)
        if standing and row.group in (NOW, LATER):
            self._draw_word(code, standing)

    def _write(
        self, code: str, column: str, words: tuple[str, str], bold: tuple[bool, bool], ink: str
    ) -> None:
        """Write two lines of a row; what does not fit ends in “…” and is told when chosen."""
        if column not in self._at:
            return
        left, width = self._at[column]
        inks = ink, palette.INK if bold[1] else palette.MUTED
        for text, is_bold, share, colour in zip(words, bold, (0.31, 0.70), inks, strict=True):
            font = "bold" if is_bold else "body"
            shown = cut(text, width - self.look.units(1), self.look.font(font).measure)
            if shown != text:
                self._cut[code] = "; ".join(filter(None, (self._cut.get(code), text)))
            top = self._tops[code] + share * self.look.units(ROW_EM)
            tags = f"row {code}", f"words {code}"
            self._text(self.canvas, left + 2, top, shown, colour, font, tags=tags)

    def _draw_word(self, code: str, standing: Standing) -> None:
        """Write the word since last time behind its sign."""
        if "word" not in self._at:
            return
        (left, width), sign, tags = self._at["word"], self.look.units(SIGN_EM), (f"row {code}",)
        middle = self._tops[code] + self.look.units(ROW_EM) / 2
        if standing.word:
            image = self._signs[standing.word]
            self.canvas.create_image(left + 2, middle, image=image, anchor="w", tags=tags)
        words = standing.word or ("first visit" if standing.now else "")
        ink, room = palette.INK if standing.word else palette.MUTED, max(1, width - sign)
        self._text(self.canvas, left + sign, middle, words, ink, tags=tags, width=room)

    def _text(
        self,
        canvas: tk.Canvas,
        x: float,
        y: float,
        words: str,
        ink: str,
        font: str = "body",
        **options: Any,
    ) -> int:
        """Write words from their left end on and return what was made."""
        look = self.look.font(font)
        return canvas.create_text(x, y, text=words, anchor="w", fill=ink, font=look, **options)

    def _mark(self) -> None:
        self.canvas.delete("chosen")
        if self.code in self._tops:
            y = self._tops[self.code]
            corners = 0, y, self.canvas.winfo_width(), y + self.look.units(ROW_EM) - 1
            fill = palette.SELECTED_ROW
            self.canvas.create_rectangle(corners, fill=fill, width=0, tags=("chosen",))
            self.canvas.tag_lower("chosen")

    def _pressed(self, event: "tk.Event[tk.Misc]", does: Callable[[str], None]) -> None:
        self.canvas.focus_set()
        below, tall = self.canvas.canvasy(event.y), self.look.units(ROW_EM)
        for code, top in self._tops.items():
            if top <= below < top + tall:
                does(code)
                return

    def _step(self, event: "tk.Event[tk.Misc]", by: int) -> str:
        codes = self.codes
        if codes:
            now = codes.index(self.code) if self.code in codes else -1
            self._chosen(codes[min(max(0, now + by), len(codes) - 1)])
        return "break"

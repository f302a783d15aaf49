"""The list of athletes: who is due, the last step, the one thing and how it went since."""

import tkinter as tk
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from tkinter import ttk
from typing import Any

from PIL import Image, ImageTk

from tapmark.app.state.session import ARCHIVED, GROUPS, LATER, NOT_NOW, NOW, Row
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
        width = look.units(BAND_EM)
        self._band_fonts = Fonts(width / BAND_MM, self._fonts.family)

    def draw(self, standing: Standing) -> Drawn:
        """Return the last step as figures and the band with last time and now."""
        step = self._step(standing) if standing.run.steps[standing.i_step].key_frames else None
        return Drawn(standing, step, self._band(standing))

    def _step(self, standing: Standing) -> Image.Image:
        size = self._units(STEP_EM), self._units(ROW_EM) - 4
        look = StepLook(
            figure=self._units(FIGURE_EM),
            text=self._em,
            thin=1.0,
            heavy=0.2 * self._em,
            leader=1.0,
            ink=palette.INK,
            min_outline=1.0,
            says_phases=False,
        )
        line = step_line(standing.run, standing.i_step, size[0], look, self._fonts.width)
        return clear_image(moved(line.bare, 0.0, size[1] - 0.3 * self._em), size, self._fonts)

    def _band(self, standing: Standing) -> Image.Image | None:
        if standing.band is None or standing.now is None:
            return None
        was = standing.was and replace(standing.was, plus_minus=0.0, is_about=True)
        dots = (was, standing.now) if was else (standing.now,)
        shapes: Shapes = band_shapes(standing.band, dots, BAND_MM - 1.0)
        size = self._units(BAND_EM), self._units(2.4)
        middle = size[1] / 2 / self._band_fonts.px_per_unit
        return clear_image(moved(shapes, 0.4, middle), size, self._band_fonts)


class Roster:
    """A list on a canvas with its headings; draws what a row shows once it is known.

    chosen: gets the code of the row that was pressed or reached by keys. opened: gets the code of
    one pressed twice.
    """

    def __init__(
        self,
        parent: ttk.Frame,
        look: Look,
        chosen: Callable[[str], None],
        opened: Callable[[str], None],
    ) -> None:
        self.look, self._chosen, self._opened = look, chosen, opened
        self.frame = ttk.Frame(parent, style="White.TFrame")
        self.frame.columnconfigure(0, weight=1)
        self.frame.rowconfigure(1, weight=1)
        self.head = put(surface(self.frame, palette.WHITE, has_focus=False), 0, 0, "ew")
        self.head.configure(height=look.units(HEAD_EM))
        self.canvas = surface(self.frame, palette.WHITE, RIM)
        self.canvas.grid(row=1, column=0, sticky="nsew")
        self.bar = ttk.Scrollbar(self.frame, command=self.canvas.yview, takefocus=0)
        self.canvas.configure(yscrollcommand=self._set_bar)
        self.rows: tuple[Row, ...] = ()
        self.rule = ""
        self.code = ""
        self._tops: dict[str, int] = {}
        self._height = 0
        self._at: dict[str, tuple[int, int]] = {}
        self._drawn: dict[str, Drawn] = {}
        self._photos: dict[tuple[str, str], ImageTk.PhotoImage] = {}
        wide, tall = look.units(SIGN_EM - 0.6), look.units(2.4)
        self._signs = sign_photos(
            parent,
            CHANGES,
            (wide, tall),
            lambda word: change_sign(word, (1.0, tall / 2), 0.66 * tall),
        )
        self._cut: dict[str, str] = {}
        self.seen: Callable[[], object] = lambda: None
        self._bind()

    def _bind(self) -> None:
        canvas = self.canvas
        canvas.bind("<Configure>", lambda event: self._lay_out())
        canvas.bind("<ButtonPress-1>", partial(self._pressed, is_twice=False))
        canvas.bind("<Double-Button-1>", partial(self._pressed, is_twice=True))
        for key, by in (("<Down>", 1), ("<Up>", -1), ("<Next>", 8), ("<Prior>", -8)):
            canvas.bind(key, partial(self._step, by=by))
        canvas.bind("<Home>", partial(self._step, by=-len(GROUPS) * 1000))
        canvas.bind("<End>", partial(self._step, by=len(GROUPS) * 1000))

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
        self._drawn[code] = drawn
        for kind in ("step", "band"):
            self._photos.pop((code, kind), None)
        if code in self._tops:
            self._draw_rest(code)

    def forget(self, code: str) -> None:
        """Draw a row without what was drawn for it: it is not true any more."""
        if self._drawn.pop(code, None):
            self.canvas.delete(f"rest {code}")

    def visible(self) -> tuple[str, ...]:
        """Return the codes of the rows that can be seen, from the top."""
        top = self.canvas.canvasy(0)
        bottom, tall = top + self.canvas.winfo_height(), self.look.units(ROW_EM)
        return tuple(code for code, y in self._tops.items() if y + tall > top and y < bottom)

    def select(self, code: str) -> None:
        """Mark a row and bring it into view."""
        if code == self.code and self.canvas.find_withtag("chosen"):
            return
        self.code = code
        self._mark()
        self._see(code)

    def middle_of(self, code: str) -> int:
        """Return how far below the list's upper edge the middle of a row is seen, px."""
        return round(self._tops[code] + self.look.units(ROW_EM) / 2 - self.canvas.canvasy(0))

    def cut_words(self) -> str:
        """Return the whole texts of the chosen row that are cut, "" where all can be read."""
        return self._cut.get(self.code, "")

    # how it is laid out

    def _columns(self) -> dict[str, tuple[int, int]]:
        """Return column -> (left, width) in px, leaving some out of a narrow list."""
        units = self.look.units
        room = self.canvas.winfo_width() - units(INDENT_EM) - units(1)
        shown = dict(COLUMNS)
        for name in LEFT_OUT:
            if sum(units(em) for _, em in shown.values()) > room:
                shown.pop(name)
        spare = max(0, room - sum(units(em) for _, em in shown.values()))
        longest = max(
            (
                self.look.font(font).measure(text)
                for row in self.rows
                for font, text in (("bold", row.code), ("body", row.event))
            ),
            default=0,
        )
        more = {"code": min(spare, max(0, longest + units(1) + 2 - units(COLUMNS["code"][1])))}
        # not all of it, or a wide list parts what belongs together
        more["thing"] = min(spare - more["code"], units(MOST_SPARE_EM))
        left, found = units(INDENT_EM), {}
        for name, (_, em) in shown.items():
            width = units(em) + more.get(name, 0)
            found[name] = (left, width)
            left += width
        return found

    def _lay_out(self) -> None:
        if self.canvas.winfo_width() < 20:  # not on the screen yet
            return
        canvas, units = self.canvas, self.look.units
        self._at = self._columns()
        canvas.delete("all")
        self._tops.clear()
        self._cut.clear()
        self._draw_head()
        y, last = 0, ("", "")
        for group in GROUPS:
            found = [row for row in self.rows if row.group == group]
            for row in found:
                if (group, row.evening) != last:
                    last = (group, row.evening)
                    same = [each for each in found if each.evening == row.evening]
                    y = self._draw_heading(y, row, len(same))
                self._draw_row(y, row)
                y += units(ROW_EM)
        self._height = y
        shown = canvas.winfo_height() - 2 * RIM
        canvas.configure(
            scrollregion=(0, 0, canvas.winfo_width(), max(self._height, shown)),
            yscrollincrement=max(1, units(ROW_EM) // 3),
        )
        for code in self._tops:
            self._draw_rest(code)
        self._mark()
        soon(canvas, 1, self.seen)

    def _draw_head(self) -> None:
        self.head.delete("all")
        y = self.look.units(HEAD_EM) // 2
        for name, (left, _) in self._at.items():
            self._text(self.head, left + 2, y, COLUMNS[name][0], palette.MUTED)

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

    def _draw_row(self, y: int, row: Row) -> None:
        canvas, tall = self.canvas, self.look.units(ROW_EM)
        self._tops[row.code] = y
        bottom = y + tall - 1
        canvas.create_line(
            self.look.units(0.6), bottom, canvas.winfo_width(), bottom, fill=palette.HAIRLINE
        )
        quiet = row.group in (NOT_NOW, ARCHIVED)
        ink = palette.MUTED if quiet else palette.INK
        self._write(row.code, y, "code", (row.code, row.event), (True, False), ink)
        self._write(row.code, y, "last", (row.last, row.again), (False, row.group == NOW), ink)
        if row.code not in self._drawn:
            self._write_thing(row, y)

    def _write_thing(self, row: Row, y: int, standing: Standing | None = None) -> None:
        """Write what is worked on, as the list knows it or as the visits say."""
        thing, about = row.thing, row.about
        is_cue = bool(thing and about) and row.group not in (NOT_NOW, ARCHIVED) and row.last != "–"
        if standing and row.group not in (NOT_NOW, ARCHIVED):
            thing, about, is_cue = standing.thing, standing.about, bool(standing.since)
        words = f"“{about}”" if is_cue and about else about
        self._write(row.code, y, "thing", (thing, words), (is_cue, False), palette.INK)

    def _write(
        self,
        code: str,
        y: int,
        column: str,
        words: tuple[str, str],
        bold: tuple[bool, bool],
        ink: str,
    ) -> None:
        """Write two lines of a row; what does not fit ends in “…” and is told when chosen."""
        if column not in self._at:
            return
        left, width = self._at[column]
        room, whole = width - self.look.units(1), []
        for text, is_bold, share, colour in zip(
            words, bold, (0.31, 0.70), (ink, palette.INK if bold[1] else palette.MUTED), strict=True
        ):
            font = "bold" if is_bold else "body"
            shown = cut(text, room, self.look.font(font).measure)
            whole += [text] if shown != text else []
            tags = (f"words {code}", f"rest {code}" if column == "thing" else "row")
            top = y + share * self.look.units(ROW_EM)
            self._text(self.canvas, left + 2, top, shown, colour, font, tags=tags)
        if whole:
            told = [self._cut[code]] if code in self._cut else []
            self._cut[code] = "; ".join([*told, *whole])

    def _draw_rest(self, code: str) -> None:
        """Draw what the visits say of a row: step, thing, band, and the word since last time."""
        drawn, y = self._drawn.get(code), self._tops[code]
        if drawn is None:
            return
        canvas, units = self.canvas, self.look.units
        canvas.delete(f"rest {code}")
        self._cut.pop(code, None)
        row = next(each for each in self.rows if each.code == code)
        self._write_thing(row, y, drawn.standing)
        middle = y + units(ROW_EM) / 2
        for kind, image in (("step", drawn.step), ("band", drawn.band)):
            if image is not None and kind in self._at and row.group != ARCHIVED:
                made = self._photos.get((code, kind))
                if made is None:
                    made = self._photos[code, kind] = ImageTk.PhotoImage(image, master=canvas)
                canvas.create_image(
                    self._at[kind][0] + 2, middle, image=made, anchor="w", tags=(f"rest {code}",)
                )
        if "word" in self._at and row.group in (NOW, LATER):
            self._draw_word(code, middle, drawn.standing)

    def _draw_word(self, code: str, middle: float, standing: Standing) -> None:
        (left, width), sign, tags = self._at["word"], self.look.units(SIGN_EM), (f"rest {code}",)
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

    # what is chosen and seen

    def _mark(self) -> None:
        self.canvas.delete("chosen")
        if self.code in self._tops:
            y = self._tops[self.code]
            corners = 0, y, self.canvas.winfo_width(), y + self.look.units(ROW_EM) - 1
            fill = palette.SELECTED_ROW
            self.canvas.create_rectangle(corners, fill=fill, width=0, tags=("chosen",))
            self.canvas.tag_lower("chosen")

    def _see(self, code: str) -> None:
        """Scroll a row into view, with its heading where it is the first of all."""
        if code not in self._tops or self._height <= self.canvas.winfo_height():
            return
        whole = max(1, self._height)
        y, tall, shown = self._tops[code], self.look.units(ROW_EM), self.canvas.winfo_height()
        top = self.canvas.canvasy(0)
        if code == next(iter(self._tops)):
            self.canvas.yview_moveto(0)
        elif y < top:
            self.canvas.yview_moveto(y / whole)
        elif y + tall > top + shown:
            self.canvas.yview_moveto((y + tall - shown) / whole)
        self.seen()

    def _row_at(self, y: int) -> str:
        below = self.canvas.canvasy(y)
        tall = self.look.units(ROW_EM)
        return next((code for code, top in self._tops.items() if top <= below < top + tall), "")

    def _pressed(self, event: "tk.Event[tk.Misc]", is_twice: bool) -> None:
        self.canvas.focus_set()
        code = self._row_at(event.y)
        if code:
            (self._opened if is_twice else self._chosen)(code)

    def _step(self, event: "tk.Event[tk.Misc]", by: int) -> str:
        codes = self.codes
        if codes:
            now = codes.index(self.code) if self.code in codes else -1
            self._chosen(codes[min(max(0, now + by), len(codes) - 1)])
        return "break"

    def _set_bar(self, first: float, last: float) -> None:
        self.bar.set(first, last)
        soon(self.canvas, 1, self.seen)
        if float(first) <= 0 and float(last) >= 1:  # they come as text
            self.bar.grid_remove()
        else:
            self.bar.grid(row=1, column=1, sticky="ns")

"""Sheets of drawn runners through the real chain: taps, measures, verdicts, words."""

import math
import string
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from functools import cache

import pytest

from tapmark.checklist.assess import assess
from tapmark.checklist.criteria import Criteria, load
from tapmark.checklist.words import Words, load_words
from tapmark.marks.people import Athlete, Slot, Visit
from tapmark.marks.run import Run
from tapmark.measures.compute import measure_visit
from tapmark.measures.result import Results
from tapmark.report.drawing import figure
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.shapes import Label, Shapes
from tapmark.report.drawing.signs import CLOSER, FURTHER, SAME
from tapmark.report.pages.content import SheetContent, SinceLine
from tapmark.report.pages.layout import PAPERS, PX_PER_MM
from tests.drawn_runner.athletes import OVERSTRIDES, RUNS_WELL
from tests.drawn_runner.runs import drawn_run

TODAY = date(2026, 5, 14)
STYLES = {"good": RUNS_WELL, "poor": OVERSTRIDES}


@cache
def criteria() -> Criteria:
    """Bands and words as they are shipped."""
    return load()


@cache
def english() -> Words:
    """The words of the pages in English."""
    return load_words()


@cache
def stretched() -> Words:
    """A made-up language: every text at least 40 % longer and full of accents."""
    fixed = ("page.lang", "page.months", "page.day", "page.open_quote", "page.close_quote")
    leaves = english().leaves
    long = {key: text if key in fixed else _stretched(text) for key, text in leaves.items()}
    return Words("Langish", long)


LATIN = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
CYRILLIC = "абвгдежзийклмнопрстуфхцчшщАБВГДЕЖЗИЙКЛМНОПРСТУФХЦЧШЩ"


@cache
def cyrillic() -> Words:
    """A made-up language without a single Latin letter: whatever is Latin came from elsewhere."""
    leaves = english().leaves
    own = {k: t if k == "page.lang" else foreign_text(t) for k, t in leaves.items()}
    return Words("Кириллица", own)


def foreign_text(text: str) -> str:
    """Return a text in the letters of the made-up language, its {fields} as they were."""
    swapped = str.maketrans(LATIN, CYRILLIC)
    pieces = ((plain, name) for plain, name, _, _ in string.Formatter().parse(text))
    return "".join(
        plain.translate(swapped) + (f"{{{name}}}" if name else "") for plain, name in pieces
    )


def _stretched(text: str) -> str:
    return "".join(_pieces(text))


def _pieces(text: str) -> Iterator[str]:
    for literal, name, _, _ in string.Formatter().parse(text):
        yield " ".join(_long(word) for word in literal.split(" "))
        if name is not None:
            yield f"{{{name}}}"


def _long(word: str) -> str:
    accented = word.translate(str.maketrans("aeiouncAEIOU", "àéîöüñçÀÉÎÖÜ"))
    if not any(c.isalpha() for c in word):
        return word
    more = -(-len(word) * 42 // 100) + (len(word) < 8)
    return accented[:1] + ("ëñüåß" * 6)[:more] + accented[1:]


@cache
def results_of(style: str) -> Results:
    """Measures of the three passes of a drawn runner."""
    return measure_visit(runs(style))


@cache
def runs(style: str, n: int = 3) -> tuple[Run, ...]:
    """Passes of a drawn runner, tapped by as many seeded coaches."""
    return tuple(drawn_run(STYLES[style], seed=seed) for seed in range(1, n + 1))


def made(
    style: str = "poor",
    *,
    code: str = "K07",
    born: int | None = 1990,
    slots: tuple[int, ...] | None = None,
    words: Words | None = None,
    paper: str = "a4",
    pain: str = "no",
    notes: str = "",
    since: int = 0,
    passes: tuple[Run, ...] | None = None,
    has_grown: bool = False,
) -> SheetContent:
    """Return the sheet of a visit, assessed as the program does it."""
    words = words or english()
    rules = replace(criteria(), words=words)
    athlete = Athlete(code, born)
    chosen = None if slots is None else tuple(Slot(number) for number in slots)
    shown = passes or runs(style)
    names = tuple(f"run-{i}" for i in range(len(shown)))
    visit = Visit(
        code, TODAY.isoformat(), names, chosen, "asked for it", notes=notes, sheet_number=3
    )
    earlier = (Visit(code, "2026-01-10", ("run-1",), (), sheet_number=2),)
    results = measure_visit(passes) if passes else results_of(style)
    found = assess(results, athlete, visit, TODAY, rules, earlier, pain=pain, has_grown=has_grown)
    changes = (CLOSER, FURTHER, SAME)
    lines = tuple(SinceLine(words.item(n), c) for n, c in zip((8, 1, 3), changes, strict=True))
    return SheetContent(
        athlete, visit, shown[0], results, found, words, 0, shown, lines[:since], paper
    )


@contextmanager
def plain_limbs() -> Iterator[None]:
    """Draw limbs with few corners, for tests that ask what a page says and where, not its limbs.

    An outline of 24 corners takes most of the time of a page; six take as much room.
    """
    turns = [2 * math.pi * i / 6 for i in range(6)]
    few = {
        "STEPS": 1,
        "CORNERS": len(turns),
        "_CORNER": turns[1],
        "_CIRCLE": tuple((math.cos(turn), math.sin(turn)) for turn in turns),
    }
    kept = figure._drawn  # noqa: SLF001
    kept.cache_clear()
    with pytest.MonkeyPatch.context() as patch:
        for name, value in few.items():
            patch.setattr(figure, name, value)
        yield
    kept.cache_clear()


FAMILIES = {"ordinary": (1.0, 1.08), "wide": (1.16, 1.30)}
"""Widths of upright and of bold letters ÷ those of Pillow's own. Ours, measured over all words of
the pages: 1.00 and 1.08 for Nimbus Sans, 1.155 and 1.298 for DejaVu Sans."""


class Letters(Fonts):
    """Letters that take the same room on every machine: Pillow's own, widened like a family.

    Every sign counts as being there; pages are asked where text stands, not how a letter looks.
    """

    def __init__(self, upright: float, bold: float) -> None:
        super().__init__(PX_PER_MM)
        self.family = None
        self._shares = (upright, bold)

    def width(
        self, text: str, size: float, is_bold: bool = False, is_italic: bool = False
    ) -> float:
        """Return how wide the text prints, in units of the shapes."""
        return self._shares[is_bold] * super().width(text, size, is_bold, is_italic)

    def has(self, letter: str) -> bool:
        """Return True: no letter is put plainly."""
        return True


@cache
def fonts(family: str = "ordinary") -> Letters:
    """Return letters at 300 dpi, by the width of a family."""
    return Letters(*FAMILIES[family])


def labels(shapes: Shapes) -> list[Label]:
    """Every line of text of a page."""
    return [shape for shape in shapes if isinstance(shape, Label)]


def said(shapes: Shapes) -> str:
    """All text of a page in reading order of its blocks."""
    return "\n".join(label.text for label in labels(shapes))


Box = tuple[float, float, float, float]


def box(label: Label, letters: Fonts) -> Box:
    """Left, top, right and bottom of a line of text, with the room its letters take."""
    wide = letters.width(label.text, label.size, label.is_bold, label.is_italic)
    left = label.point[0] - {"w": 0.0, "c": wide / 2, "e": wide}[label.anchor]
    y = label.point[1]
    return left, y - 0.70 * label.size, left + wide, y + 0.18 * label.size


def collisions(shapes: Shapes, letters: Fonts) -> list[tuple[str, str]]:
    """Pairs of texts that lie on one another."""
    placed = [(label.text, box(label, letters)) for label in labels(shapes)]
    return [
        (a, b)
        for i, (a, (al, at, ar, ab)) in enumerate(placed)
        for b, (bl, bt, br, bb) in placed[i + 1 :]
        if al < br and bl < ar and at < bb and bt < ab
    ]


def overflows(shapes: Shapes, paper: str, letters: Fonts) -> list[str]:
    """Texts that leave the margins of 15 mm; the cue's hanging quote mark may stand 6 mm out."""
    sheet = PAPERS[paper]
    return [
        label.text
        for label in labels(shapes)
        if not _is_inside(box(label, letters), sheet.width, sheet.height)
    ]


def _is_inside(place: Box, width: float, height: float) -> bool:
    left, top, right, bottom = place
    return left >= 14.9 and right <= width - 14.9 and top >= 14.9 and bottom <= height - 14.0

"""Pages written down as words and places, to be compared with tests/files/golden.

    python -m tests.report.golden

writes them anew; read the difference before you keep it. Numbers are typed in and taps come from
the sample frames, so a page changes only with its layout, its words, the rules and the drawing.
One line a shape: what it is, its box in mm, what else is to be seen. No bytes of a PDF.
"""

import json
from collections.abc import Iterator, Sequence
from datetime import date
from functools import cache
from itertools import groupby
from pathlib import Path

from tapmark.checklist.assess import assess_in
from tapmark.checklist.situation import Situation
from tapmark.marks.people import Athlete, Visit
from tapmark.marks.run import Run
from tapmark.measures.catalogue import row
from tapmark.measures.result import Measured, Results
from tapmark.report.drawing.shapes import Area, Label, Line, Ring, Shape, Shapes
from tapmark.report.drawing.signs import CLOSER
from tapmark.report.pages.athlete_page import athlete_shapes
from tapmark.report.pages.cards import card_shapes, log_shapes
from tapmark.report.pages.coach_page import coach_shapes
from tapmark.report.pages.content import SheetContent, SinceLine
from tapmark.report.pages.group_page import group_shapes
from tapmark.store.schema import RUN_FILE
from tests.checklist.made import CRITERIA, GOOD, leg_of
from tests.report.look_at import invented
from tests.report.made import fonts

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "tests/files/golden"
DAY = date(2026, 5, 14)
SITS = {"reach": 19, "knee_touchdown": 171, "leg_stack": 84, "knee_bend": 55, "hip_share": 50}


def pages() -> Iterator[tuple[str, Shapes]]:
    """Yield name and shapes of every page that is compared."""
    letters, words = fonts(), CRITERIA.words
    yield "athlete-one-thing", athlete_shapes(content(GOOD | SITS), letters)
    yield "athlete-letter", athlete_shapes(content(GOOD | SITS, paper="letter"), letters)
    yield "athlete-young-keep-this", athlete_shapes(content(GOOD, born=2009), letters)
    yield "coach-2", coach_shapes(content(GOOD | SITS), letters)[0]
    yield "group", group_shapes(invented(), letters)[0]
    yield "filming-card", card_shapes(words, "a4", letters)
    yield "shot-log", log_shapes(words, ("K01", "K07"), "a4", letters)[0]


def content(
    values: dict[str, float], born: int = 1996, paper: str = "a4", u: float = 0.5
) -> SheetContent:
    """Return a sheet of typed numbers, each with that standard uncertainty, and a sample's taps."""
    measured = (_measured(key, float(value), u) for key, value in values.items())
    results = Results({(each.key, each.leg): each for each in measured}, rate_hz=240.0, n_steps=3)
    situation = Situation(DAY, birth_year=born, pain="no", is_first_sheet=False)
    visit = Visit("K07", DAY.isoformat(), ("run-1",), sheet_number=2, retest_week="26")
    since = (SinceLine(CRITERIA.words.item(1), CLOSER),)
    return SheetContent(
        Athlete("K07", born),
        visit,
        sample_run(),
        results,
        assess_in((results,), situation, CRITERIA),
        CRITERIA.words,
        since=since,
        paper=paper,
    )


@cache
def sample_run() -> Run:
    """Return the second sample, as its seeded coach marked it."""
    path = ROOT / "sample_frames/P02/run-1.json"
    return RUN_FILE.read(json.loads(path.read_text("utf-8")))


def _measured(key: str, value: float, u: float) -> Measured:
    parts = (("the hip tap", 0.4), ("the frame", 0.3))
    return Measured(key, leg_of(key), value, u, row(key).unit, parts, row(key).digits, n_steps=3)


def written(shapes: Shapes) -> list[str]:
    """Return a page as lines of text; the many pieces of a limb are one line."""
    lines: list[str] = []
    for fill, group in groupby(shapes, _plain_fill):
        pieces = list(group)
        lines += map(_line, pieces) if fill is None else [_limb(fill, pieces)]
    return lines


def _plain_fill(shape: Shape) -> str | None:
    return shape.fill if isinstance(shape, Area) and shape.edge is None else None


def _limb(fill: str, pieces: Sequence[Shape]) -> str:
    corners = [corner for each in pieces if isinstance(each, Area) for corner in each.points]
    xs, ys = zip(*corners, strict=True)
    return f"areas {min(xs):.1f} {min(ys):.1f} {max(xs):.1f} {max(ys):.1f} | {fill} |"


def _line(shape: Shape) -> str:
    match shape:
        case Label():
            cut = "bold" * shape.is_bold + "italic" * shape.is_italic
            x, y = shape.point
            return f"text {x:.1f} {y:.1f} {shape.size:.1f} | {shape.anchor} {cut} | {shape.text}"
        case Ring():
            (x, y), r = shape.centre, shape.radius
            return f"ring {x:.1f} {y:.1f} {r:.1f} | {shape.fill} {shape.edge} |"
        case Line() | Area():
            xs, ys = zip(*shape.points, strict=True)
            box = f"{min(xs):.1f} {min(ys):.1f} {max(xs):.1f} {max(ys):.1f} {shape.width:.1f}"
            if isinstance(shape, Line):
                return f"line {box} | {shape.colour} {'dashed' * bool(shape.dash)} |"
            return f"area {box} | {shape.fill} {shape.edge} |"


def main() -> None:
    """Write every page anew."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, shapes in pages():
        (FOLDER / f"{name}.txt").write_text("\n".join([*written(shapes), ""]), "utf-8")


if __name__ == "__main__":
    main()

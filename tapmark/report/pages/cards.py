"""Two pages for the track: how to film, and a log to fill in by pencil."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from PIL import Image

from tapmark.checklist.words import Words
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.palette import BLACK, WHITE
from tapmark.report.drawing.shapes import (
    Area,
    Drawing,
    Label,
    Line,
    Ring,
    Shapes,
    TextWidth,
    square,
)
from tapmark.report.drawing.signs import arrow, check_box
from tapmark.report.pages.html import page_html
from tapmark.report.pages.layout import (
    CONTENT,
    DROP,
    LINE,
    MARGIN,
    PAPERS,
    PX_PER_MM,
    RULE,
    TEXT,
    THIN,
    Block,
    Setter,
    of_drawing,
    painted,
    rule,
    spread,
)
from tapmark.report.pages.parts import Figure, Log, Page, Paragraph, Section
from tapmark.report.pages.words import page_words

POINTS: Final = (
    *("place", "square", "height", "still", "scale", "size"),
    *("rate", "light", "clothes", "runs", "slate", "safety"),
)
COLUMNS: Final = ("run", "code", "way", "clip", "effort", "pain", "note")
FACTS: Final = ("date", "place", "camera", "rate", "distance", "wind")
SHARES: Final = (0.06, 0.21, 0.1, 0.16, 0.09, 0.1, 0.28)
ROW: Final = 6.8
RUNS_EACH: Final = 6  # three each way: common practice, no source
PER_M: Final = 1000.0 / 300.0  # mm on the card; the plan is drawn at 1 to 300
LANE_M: Final = 1.22  # World Athletics, Technical Rules, 14.4: a lane is 1.22 m wide (from memory)
WIDE_PLAN: Final = 120.0  # mm; a plan on a phone is narrower
FAR_M, WIDE_M, MARKS_M = 12.0, 5.0, 2.0  # of 10 to 15 m, 4 to 6 m; 2 atan(2.5 / 12) is 24°


def describe_card(words: Words) -> Page:
    """Return the filming card: a plan of where everything stands, and twelve points."""

    def draw(width: float, height: float, text: TextWidth) -> Drawing:
        return plan(words, width)

    points = {
        name: Section(words.say(f"card.{name}"), (Paragraph(words.say(f"card.{name}_says")),))
        for name in POINTS
    }
    sections = {"plan": Section("", (Figure("plan", draw),)), **points}
    return Page(words.say("card.title"), sections)


def describe_log(words: Words, codes: Sequence[str]) -> Page:
    """Return the shot log; codes stand in the order of filming, six runs each."""
    facts, heads = (tuple(words.say(f"log.{key}") for key in keys) for keys in (FACTS, COLUMNS))
    log = Log(facts, heads, tuple(codes), RUNS_EACH, words.say("log.yes"))
    return Page(words.say("log.title"), {"log": Section("", (log,))})


def card_html(words: Words, paper: str = "a4") -> str:
    """Return the filming card as an HTML document."""
    return page_html(describe_card(words), page_words(words), paper)


def log_html(words: Words, codes: Sequence[str] = (), paper: str = "a4") -> str:
    """Return the shot log as an HTML document."""
    return page_html(describe_log(words, codes), page_words(words), paper)


def filming_card(words: Words, paper: str = "a4") -> Image.Image:
    """Paint the filming card in grey at 300 dpi."""
    fonts = Fonts(PX_PER_MM)
    return painted(card_shapes(words, paper, fonts), paper, fonts)


def shot_log(words: Words, codes: Sequence[str] = (), paper: str = "a4") -> tuple[Image.Image, ...]:
    """Paint the pages of the shot log in grey at 300 dpi."""
    fonts = Fonts(PX_PER_MM)
    return tuple(painted(page, paper, fonts) for page in log_shapes(words, codes, paper, fonts))


def card_shapes(words: Words, paper: str, fonts: Fonts) -> Shapes:
    """Return the filming card as shapes in mm."""
    page, setter = describe_card(words), Setter(fonts, PAPERS[paper])
    sheet, sections = setter.paper, dict(page.sections)
    drawn = sections.pop("plan").only(Figure).draw(sheet.full, 0.0, setter.width)
    blocks = [_title(page, setter), of_drawing(drawn)]
    for section in sections.values():
        text = setter.paragraph(section.only(Paragraph).text, CONTENT, sheet.content)
        blocks.append(setter.heading(section.heading).beside(text))
    used = sum(block.height for block in blocks)
    return spread(blocks, min(4.0, (sheet.free - used) / (len(blocks) - 1)))


def log_shapes(words: Words, codes: Sequence[str], paper: str, fonts: Fonts) -> tuple[Shapes, ...]:
    """Return the pages of the shot log as shapes in mm; nobody's runs are parted by a page."""
    page, setter = describe_log(words, codes), Setter(fonts, PAPERS[paper])
    log = page.sections["log"].only(Log)
    head = [_title(page, setter), _facts(log, setter)]
    free = setter.paper.free - sum(block.height for block in head) - LINE - 8.0
    each = int(free / ROW) // RUNS_EACH
    parts = [codes[i : i + each] for i in range(0, len(codes), each)] or [()]
    logs = (replace(log, codes=tuple(part)) for part in parts)
    tables = (_log_table(part, setter, each * RUNS_EACH) for part in logs)
    return tuple(spread([*head, table], [3.0, 4.0]) for table in tables)


def _title(page: Page, setter: Setter) -> Block:
    return Block((setter.title(page.title), rule(MARGIN, 10.4, setter.paper.full, RULE)), 11.0)


def _facts(log: Log, setter: Setter) -> Block:
    """What holds for the whole session, with lines to write on."""
    shapes: Shapes = ()
    half = setter.paper.full / 2
    for i, text in enumerate(log.facts):
        x, y = MARGIN + i % 2 * half, i // 2 * 8.0
        start = x + setter.width(text) + 2.0
        end = setter.paper.right if i % 2 else x + half - 6.0
        shapes += (setter.label(text, (x, y + DROP + 2.0)),)
        shapes += (rule(start, y + DROP + 2.6, end - start),)
    return Block(shapes, 24.0)


def _log_table(log: Log, setter: Setter, n_rows: int) -> Block:
    """Heads, then six numbered rows for each code, with a box for pain in each."""
    width = setter.paper.full
    lefts = [MARGIN + width * sum(SHARES[:i]) for i in range(len(SHARES))]
    shapes: Shapes = ()
    for text, x, share in zip(log.heads, lefts, SHARES, strict=True):
        shapes += (setter.label(text, (x, DROP), bold=True, within=width * share - 1.0),)
    shapes += (rule(MARGIN, LINE + 1.0, width, THIN),)
    for i, (code, number) in enumerate(log.rows(n_rows)):
        top = LINE + 1.0 + i * ROW
        base = top + ROW - 2.6
        shapes += (setter.label(str(number), (lefts[0], base)),)
        if code and number == 1:
            room = lefts[2] - lefts[1] - 1.0
            shapes += (setter.label(code, (lefts[1], base), bold=True, within=room),)
        shapes += check_box((lefts[5], base - 3.9), 5.0, width=THIN)
        shapes += (setter.label(log.yes, (lefts[5] + 6.0, base)),)
        shapes += (rule(MARGIN, top + ROW, width, 0.25),)
    return Block(shapes, LINE + 1.0 + n_rows * ROW)


def plan(words: Words, width: float) -> Drawing:
    """Return the plan from above, to scale: lanes, running line, marks, post, camera, its view."""
    middle, line = width / 2, 16.0
    camera, half_lane, half_m = line + FAR_M * PER_M, LANE_M / 2 * PER_M, MARKS_M / 2 * PER_M
    is_wide = width > WIDE_PLAN
    left, right = (20.0, width - 20.0) if is_wide else (9.0, width - 9.0)
    start, gauge = left + (4.0 if is_wide else 0.0), line - 4.0 * half_lane
    post = middle + 8.0, line - 3.6 * half_lane
    edges = [line + half_lane * n for n in (-3, -1, 1)]  # the outside lane lies beyond the runner's
    corner = ((middle, line + 2.5), (middle + 2.5, line + 2.5), (middle + 2.5, line))
    ends = middle - half_m, middle + half_m
    drawn = (
        *(Line(((left, y), (right, y)), BLACK, 0.25) for y in edges),
        *arrow((start, line), ((start + middle - 12.0) / 2, line), BLACK, THIN, 3.0),
        *(Area(square((x, line), 0.8), BLACK) for x in ends),
        Line(((ends[0], gauge), (ends[1], gauge)), BLACK, THIN),  # a stroke at either end
        *(Line(((x, gauge - 1.2), (x, gauge + 1.2)), BLACK, THIN) for x in ends),
        *(
            Line(((middle, camera), (middle + dx, line)), BLACK, 0.25, (2.0, 1.6))
            for dx in (-WIDE_M / 2 * PER_M, WIDE_M / 2 * PER_M)
        ),
        Line(((middle, camera), (middle, line)), BLACK, THIN),
        Line(corner, BLACK, 0.3),
        Ring(post, 0.9, WHITE, BLACK, THIN),
        Area(square((middle, camera + 2.0), 2.0), WHITE, BLACK, THIN),
    )
    texts = (
        ("plan_run", left - 1.6, line + 1.2, "e"),
        ("plan_marks", middle + 3.4, gauge - 2.0, "e"),
        ("plan_pole", post[0] + 2.4, post[1] + 0.6, "w"),
        ("plan_far", middle - 11.0, line + 24.0, "e"),
        ("plan_wide", middle + 11.0, line + 12.0, "w"),
        ("plan_camera", middle + 5.0, camera + 3.4, "w"),
    )
    labels = (
        Label((x, y), words.say(f"card.{key}"), TEXT, BLACK, anchor=anchor)
        for key, x, y, anchor in texts
    )
    shapes = (*drawn, *labels)
    return Drawing(lambda: shapes, 0.0, camera + 5.0, words.say("card.plan_alt"))

"""Two pages for the track, as PDF and as HTML: how to film, and a log to fill in by pencil."""

from collections.abc import Sequence
from html import escape
from typing import Final

from PIL import Image

from tapmark.checklist.words import Words
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.palette import BLACK, WHITE
from tapmark.report.drawing.shapes import Area, Line, Ring, Shapes, moved, square
from tapmark.report.drawing.signs import arrow, check_box
from tapmark.report.drawing.svg import svg
from tapmark.report.pages.html import (
    LINE_TO_FILL,
    SMALL_WIDTH,
    WIDTH,
    by_screen,
    document,
    element,
    section,
    table,
    tick_box,
)
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
    painted,
    rule,
    spread,
)
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


def filming_card(words: Words, paper: str = "a4", fonts: Fonts | None = None) -> Image.Image:
    """Paint the filming card: twelve points and a plan of where everything stands."""
    fonts = fonts or Fonts(PX_PER_MM)
    return painted(card_shapes(words, paper, fonts), paper, fonts)


def card_shapes(words: Words, paper: str, fonts: Fonts) -> Shapes:
    """Return the filming card as shapes in mm."""
    setter, sheet = Setter(fonts), PAPERS[paper]
    blocks = [_title(words.say("card.title"), setter, sheet.full), plan(words, setter, sheet.full)]
    for name in POINTS:
        head = setter.heading(words.say(f"card.{name}"))
        text = setter.paragraph(words.say(f"card.{name}_says"), CONTENT, sheet.content)
        blocks.append(head.compare(text))
    used = sum(block.height for block in blocks)
    gap = min(4.0, (sheet.free - used) / (len(blocks) - 1))
    return spread(blocks, [0.0, *([gap] * (len(blocks) - 1))], MARGIN)


def _title(text: str, setter: Setter, width: float) -> Block:
    return Block((setter.title(text), rule(MARGIN, 10.4, width, RULE)), 11.0)


def plan(words: Words, setter: Setter, width: float) -> Block:
    """Return the plan from above, to scale: lanes, running line, marks, post, camera, its view."""
    middle, line = MARGIN + width / 2, 16.0
    camera, half_lane = line + FAR_M * PER_M, LANE_M / 2 * PER_M
    side = 20.0 if width > WIDE_PLAN else 9.0
    left, right = MARGIN + side, MARGIN + width - side
    edges = [line + half_lane * n for n in (-3, -1, 1)]  # the outside lane lies beyond the runner's
    lane = [Line(((left, y), (right, y)), BLACK, 0.25) for y in edges]
    start = left + (4.0 if width > WIDE_PLAN else 0.0)
    way = arrow((start, line), ((start + middle - 12.0) / 2, line), BLACK, THIN, 3.0)
    half_m = MARKS_M / 2 * PER_M
    marks = [Area(square((middle + dx, line), 0.8), BLACK) for dx in (-half_m, half_m)]
    gauge = _measure(middle - half_m, middle + half_m, line - 4.0 * half_lane)
    view = [
        Line(((middle, camera), (middle + dx, line)), BLACK, 0.25, (2.0, 1.6))
        for dx in (-WIDE_M / 2 * PER_M, WIDE_M / 2 * PER_M)
    ]
    straight = Line(((middle, camera), (middle, line)), BLACK, THIN)
    corner = Line(
        ((middle, line + 2.5), (middle + 2.5, line + 2.5), (middle + 2.5, line)), BLACK, 0.3
    )
    at_post = (middle + 8.0, line - 3.6 * half_lane)
    post = (Ring(at_post, 0.9, WHITE, BLACK, THIN),)
    phone = Area(square((middle, camera + 2.0), 2.0), WHITE, BLACK, THIN)

    def say(key: str, x: float, y: float, anchor: str) -> Shapes:
        return (setter.label(words.say(f"card.{key}"), (x, y), TEXT, anchor=anchor),)

    texts = (
        *say("plan_run", left - 1.6, line + 1.2, "e"),
        *say("plan_marks", middle + 3.4, line - 4.0 * half_lane - 2.0, "e"),
        *say("plan_pole", at_post[0] + 2.4, at_post[1] + 0.6, "w"),
        *say("plan_far", middle - 11.0, line + 24.0, "e"),
        *say("plan_wide", middle + 11.0, line + 12.0, "w"),
        *say("plan_camera", middle + 5.0, camera + 3.4, "w"),
    )
    drawn = (*lane, *way, *marks, *gauge, *view, straight, corner, *post, phone)
    return Block((*drawn, *texts), camera + 5.0)


def _measure(left: float, right: float, y: float) -> list[Line]:
    """A distance: a line with a stroke at either end."""
    ends = (((x, y - 1.2), (x, y + 1.2)) for x in (left, right))
    return [Line(each, BLACK, THIN) for each in (((left, y), (right, y)), *ends)]


def shot_log(
    words: Words, codes: Sequence[str] = (), paper: str = "a4", fonts: Fonts | None = None
) -> tuple[Image.Image, ...]:
    """Paint a log to fill in at the track; codes stand in the order of filming, six runs each."""
    fonts = fonts or Fonts(PX_PER_MM)
    return tuple(painted(page, paper, fonts) for page in log_shapes(words, codes, paper, fonts))


def log_shapes(words: Words, codes: Sequence[str], paper: str, fonts: Fonts) -> tuple[Shapes, ...]:
    """Return the pages of the shot log as shapes in mm; nobody's runs are parted by a page."""
    setter, sheet = Setter(fonts), PAPERS[paper]
    title = _title(words.say("log.title"), setter, sheet.full)
    facts = _facts(words, setter, sheet.full)
    each = int((sheet.free - title.height - facts.height - LINE - 8.0) / ROW) // RUNS_EACH
    pages = [codes[i : i + each] for i in range(0, len(codes), each)] or [()]
    tables = (_log_table(words, setter, sheet.full, page, each * RUNS_EACH) for page in pages)
    return tuple(spread([title, facts, table], [0.0, 3.0, 4.0], MARGIN) for table in tables)


def _facts(words: Words, setter: Setter, width: float) -> Block:
    """What holds for the whole session, with lines to write on."""
    shapes: Shapes = ()
    half = width / 2
    for i, key in enumerate(FACTS):
        x, y = MARGIN + i % 2 * half, i // 2 * 8.0
        text = words.say(f"log.{key}")
        start = x + setter.width(text) + 2.0
        end = MARGIN + width if i % 2 else x + half - 6.0
        shapes += (setter.label(text, (x, y + DROP + 2.0)),)
        shapes += (rule(start, y + DROP + 2.6, end - start),)
    return Block(shapes, 24.0)


def _log_table(
    words: Words, setter: Setter, width: float, codes: Sequence[str], n_rows: int
) -> Block:
    """Heads, then six numbered rows for each code, with a box for pain in each."""
    lefts = [MARGIN + width * sum(SHARES[:i]) for i in range(len(SHARES))]
    shapes: Shapes = ()
    for name, x, share in zip(COLUMNS, lefts, SHARES, strict=True):
        text = setter.shortened(words.say(f"log.{name}"), width * share - 1.0, bold=True)
        shapes += (setter.label(text, (x, DROP), bold=True),)
    shapes += (rule(MARGIN, LINE + 1.0, width, THIN),)
    for i in range(n_rows):
        top = LINE + 1.0 + i * ROW
        base, (code, number) = top + ROW - 2.6, _run_of(codes, i)
        shapes += (setter.label(str(number), (lefts[0], base)),)
        if code and number == 1:
            text = setter.shortened(code, lefts[2] - lefts[1] - 1.0, bold=True)
            shapes += (setter.label(text, (lefts[1], base), bold=True),)
        shapes += check_box((lefts[5], base - 3.9), 5.0, width=THIN)
        shapes += (setter.label(words.say("log.yes"), (lefts[5] + 6.0, base)),)
        shapes += (rule(MARGIN, top + ROW, width, 0.25),)
    return Block(shapes, LINE + 1.0 + n_rows * ROW)


def _run_of(codes: Sequence[str], i_row: int) -> tuple[str, int]:
    """Return whose run stands in a row ("" for nobody's), and its number."""
    i, i_run = divmod(i_row, RUNS_EACH)
    return codes[i] if i < len(codes) else "", i_run + 1


N_ROWS: Final = 18  # what one sheet holds of either paper


def card_html(words: Words, paper: str = "a4") -> str:
    """Return the filming card as an HTML document."""
    title = words.say("card.title")
    alt, width, drawn = words.say("card.plan_alt"), Fonts(PX_PER_MM).width, []
    for wide in (WIDTH, SMALL_WIDTH):
        block = plan(words, Setter(Fonts(PX_PER_MM)), wide)
        shapes = moved(block.shapes, -MARGIN, 0.0)
        drawn.append(svg(shapes, (wide, block.height), alt, text_width=width))
    drawing = by_screen(*drawn)
    points = "".join(
        section(words.say(f"card.{name}"), element("p", words.say(f"card.{name}_says")))
        for name in POINTS
    )
    body = f'{_header(title)}<main><figure class="plan">{drawing}</figure>{points}</main>'
    return document(title, body, page_words(words), paper)


def log_html(words: Words, codes: Sequence[str] = (), paper: str = "a4") -> str:
    """Return the shot log as an HTML document; codes stand in the order of filming."""
    title = words.say("log.title")
    facts = "".join(
        f'<p class="fact">{escape(words.say(f"log.{key}"))} {LINE_TO_FILL}</p>' for key in FACTS
    )
    heads = [words.say(f"log.{key}") for key in COLUMNS]
    rows = []
    for i in range(max(N_ROWS, RUNS_EACH * len(codes))):
        code, number = _run_of(codes, i)
        named = f"{code} {number}: {heads[5]}".strip()
        cells = ["" for _ in COLUMNS[2:]]
        cells[3] = f"{tick_box(f'{i + 1}. {named}')} {escape(words.say('log.yes'))}"
        told = "".join(
            f'<td data-head="{escape(head)}">{cell}</td>'
            for head, cell in zip(heads[2:], cells, strict=True)
        )
        shown = f"<b>{escape(code)}</b>" if number == 1 else ""
        rows.append(f'<tr><th scope="row">{number}</th><td>{shown}</td>{told}</tr>')
    log = table("log", heads, rows)
    body = f'{_header(title)}<main><div class="halves">{facts}</div>{log}</main>'
    return document(title, body, page_words(words), paper)


def _header(title: str) -> str:
    return f"<header>{element('h1', title)}</header>"

"""Every page as one self-contained HTML file: real text, tables, drawn figures."""

from collections.abc import Iterable
from functools import singledispatch
from html import escape
from typing import Final

from tapmark.checklist.verdict import SHOWN
from tapmark.report.drawing.bands import band_shapes
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.shapes import moved
from tapmark.report.drawing.signs import (
    HEIGHT,
    change_sign,
    strength_tick,
    table_sign,
    verdict_sign,
)
from tapmark.report.drawing.svg import STYLE as DRAWING_STYLE
from tapmark.report.drawing.svg import svg
from tapmark.report.pages.content import SheetContent
from tapmark.report.pages.layout import PX_PER_MM
from tapmark.report.pages.parts import (
    N_TICK_ROWS,
    Cell,
    Drills,
    Entries,
    Figure,
    Log,
    Matrix,
    Notes,
    NumberRow,
    Numbers,
    OwnWord,
    Page,
    Paragraph,
    Part,
    Priority,
    Section,
)
from tapmark.report.pages.photo import photo_place
from tapmark.report.pages.sections import describe_athlete, describe_coach, edges
from tapmark.report.pages.words import PageWords, page_words

POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
STYLE: Final = """
:root{color-scheme:light dark;--ink:#000;--paper:#fff;--tint:#dedede}
@media(prefers-color-scheme:dark){:root{--ink:#f2f4f6;--paper:#14181c;--tint:#4a525a}}
*{box-sizing:border-box}
body{margin:0 auto;padding:15mm;max-width:210mm;background:var(--paper);color:var(--ink);
font:11pt/1.28 Arial,"Liberation Sans",Helvetica,sans-serif;overflow-wrap:break-word}
h1,h2,h3,p,ul,table,figure,fieldset{margin:0;padding:0;font-size:1em;border:0}
header{display:grid;grid-template-columns:minmax(37.5mm,max-content) 1fr;align-items:center;
border-bottom:.5mm solid var(--ink);padding-bottom:1.6mm}
h1{font-size:22pt;line-height:1.1;padding-right:4mm}
section{display:grid;grid-template-columns:37.5mm minmax(0,1fr);margin-top:4.4mm;
break-inside:avoid}
section.wide{display:block}aside section{break-inside:auto}
tr,figure{break-inside:avoid}
h2{padding-right:2mm}h3{font-size:15pt}h3 small{font-size:11pt;font-weight:400}
h3.drill{font-size:11pt;margin-top:1.6mm}.care h3{font-size:22pt;line-height:1.15}
ul{list-style:none}.ticks,.thirds{display:grid;grid-template-columns:repeat(3,auto);gap:0 5mm}
.praise{display:grid;grid-template-columns:repeat(auto-fit,minmax(0,1fr));gap:2mm 4mm}
.praise{grid-auto-flow:column;font-size:15pt;font-weight:700;align-items:end}
.praise svg.shown{display:block;margin:0 auto 1mm}
.ticks svg,.praise svg{margin-right:1mm}svg{vertical-align:-.6mm;max-width:100%;height:auto}
.halves{display:grid;grid-template-columns:1fr 1fr;gap:0 5mm;align-items:start}
.do .halves{grid-template-columns:1.5fr 1fr}.small{display:none}.large svg,.small svg{width:100%}
.cue{font-size:26pt;font-weight:700;line-height:1.12;text-indent:-.45em;
margin:1.5mm 0 1.5mm 37.5mm}
.own{margin:0 0 1mm 37.5mm}.own .line{min-width:60mm;height:5mm}
.step svg text,.pair svg text{font-family:inherit}
table{border-collapse:collapse;width:100%}caption{font-weight:700;text-align:left}
td,th{padding:0}
th{font-weight:400;text-align:left}thead th{font-weight:700}
.todo td,.todo thead th+th{text-align:center}
.todo thead th{font-weight:400}.todo tbody th{width:19mm}
.list{line-height:1.18}.list td{white-space:nowrap;width:1%}.list td:has(i){text-align:right}
.list svg{width:5.6mm;height:3.4mm}.list svg,.numbers svg{max-width:none}
.numbers td,.numbers th{padding:.3mm 1.5mm .3mm 0;vertical-align:top}
.numbers .b>svg{display:block;margin-top:.6mm}
.numbers .n{text-align:right;white-space:nowrap}.numbers .v{white-space:nowrap}
.matrix{line-height:1.2;table-layout:fixed}.matrix th:first-child{width:25%}
.matrix td,.matrix thead th{text-align:center}
.matrix th:first-child{text-align:left}.matrix svg{width:6.6mm;height:4.1mm}
.matrix .days b{font-weight:400}.matrix tbody td{border-bottom:.15mm solid var(--tint)}
.matrix tbody th{border-bottom:.15mm solid var(--tint)}
.matrix .moment th{font-weight:700;padding-top:1.6mm;border:0}
.log th,.log td{height:8mm;padding-right:2mm;border-bottom:.25mm solid var(--ink)}
.log td:nth-child(6){white-space:nowrap}.log td:nth-child(2){width:32mm}
.log input{vertical-align:-1.2mm}.plan{margin-top:3mm}.plan svg{width:100%}
.log td:last-child{width:48mm}.fact{display:flex;align-items:end;gap:2mm}.fact .line{flex:1}
.works{box-shadow:inset 0 -.9mm var(--ink)}
input{width:5mm;height:5mm;margin:.5mm 0;accent-color:var(--ink)}
.todo input{display:block;margin:.6mm auto}
fieldset{margin-top:1.6mm}legend{float:left;margin-right:4mm}
fieldset label{display:inline-flex;gap:1mm;align-items:center;margin-right:3mm}
.line{display:inline-block;min-width:30mm;border-bottom:.43mm solid var(--ink);height:6mm}
p.line{display:block}.todo .line{min-width:17mm}.hand{margin-top:1mm}
footer{margin-top:4mm}
.hidden{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);white-space:nowrap}
@media screen and (max-width:170mm){body{padding:5mm}
section,.halves,.ticks,.thirds,header{display:block}.large{display:none}.small{display:block}
.praise{display:block}.praise li{margin-top:3mm}.cue{font-size:20pt;margin-left:.45em}
.todo{margin-top:3mm}.list{table-layout:auto}.list td{white-space:normal;width:46%}
.numbers thead{display:none}.numbers tr{display:block;padding:1.2mm 0;
border-bottom:.15mm solid var(--tint)}.numbers th,.numbers td{display:inline;padding-right:2mm}
.numbers .b{display:block;white-space:nowrap}
.numbers .b>svg{display:inline}.list td:has(i){text-align:left}
.own{margin-left:0}.own .line{min-width:45mm}
.matrix{font-size:9.5pt}.matrix th:first-child{width:31%}.matrix thead th+th{height:14mm}
.matrix thead th+th b,.matrix .days b{writing-mode:vertical-rl;font-weight:inherit}
.matrix .days td{height:24mm}.matrix svg{width:100%;max-width:4.6mm;height:auto}
.log thead{display:none}.log tr{display:block;border-bottom:.25mm solid var(--ink);padding:1mm 0}
.log th,.log td{display:inline-block;border:0;width:auto;height:auto;min-width:0}
.log td:nth-child(n+3)::before{content:attr(data-head) " "}
.log td:nth-child(n+3){min-width:48%;padding:1.4mm 0}}
@media print{:root{color-scheme:light;--ink:#000;--paper:#fff;--tint:#dedede}
body{padding:0;max-width:none;line-height:1.17}section{margin-top:1.4mm}
.todo input{margin:.25mm auto}.todo .line{height:5mm}aside{break-before:page}
.pair{break-inside:avoid}p.line~p.line{display:none}.pair .large svg{height:42mm}
.two .pair .large svg{height:30mm}
.step .large svg{height:26mm}.do h2,.hand{display:inline}.own{margin:0 0 0 12mm}
.praise svg.shown{max-height:52mm}
.cue{font-size:20pt;margin:0 0 0 12mm}
.walk h2{display:none}.todo tbody th{line-height:0}
p.line{height:5mm}footer{margin-top:1.5mm}aside .numbers{font-size:10pt}}
"""


N_LOG_ROWS: Final = 18  # what one sheet of either paper holds, and a little more
LINE_TO_FILL: Final = '<span class="line"></span>'
SIZES: Final = {  # kind of figure -> width and height of a body in mm, on paper and on a phone
    "pair": ((180.0, 72.0), (84.0, 37.0)),
    "step": ((180.0, 25.0), (84.0, 17.0)),
    "chain": ((180.0, 0.0), (108.0, 0.0)),  # its letters of 11 pt are 12 px high at 360 px
    "plan": ((180.0, 0.0), (84.0, 0.0)),
}
SPARE: Final = {"pair": (0.0, 0.3), "chain": (2.0, 0.0)}  # right of a figure, above and below it
WIDE: Final = {  # sections that take the full width
    "items": "wide",
    "step": "wide walk",
    "drills": "wide do",
    "matrix": "wide",
}


def athlete_html(content: SheetContent) -> str:
    """Return the athlete's page as an HTML document."""
    words = page_words(content.words)
    return page_html(describe_athlete(content, words), words, content.paper)


def coach_html(content: SheetContent) -> str:
    """Return the athlete's page with all numbers behind it."""
    words = page_words(content.words)
    return page_html(describe_coach(content, words), words, content.paper)


def page_html(page: Page, words: PageWords, paper: str) -> str:
    """Return a page as a whole document."""
    size = "A4" if paper == "a4" else "letter"
    style = f"@page{{size:{size};margin:10mm 15mm}}{STYLE}{DRAWING_STYLE}"
    head, foot, behind = element("h1", page.title), "", ""
    if page.day:
        day = f'<time datetime="{escape(page.dated)}"><b>{escape(page.day)}</b></time>'
        head += f"<p>{day} {escape(page.number)}<br>{escape(page.facts)}</p>"
    if page.foot:
        foot = "<br>".join(_bold(part.text, part.style) for part in page.foot)
        foot = f"<footer><p>{foot}</p></footer>"
    if page.behind:
        told = "".join(_section(each, words, "wide") for each in page.behind.values())
        behind = f'<aside aria-label="{escape(words.coach_head)}">{told}</aside>'
    main = "".join(_section(each, words, _kind(name, each)) for name, each in page.sections.items())
    title = ", ".join(text for text in (page.title, page.day) if text)
    return (
        f'<!DOCTYPE html>\n<html lang="{escape(words.lang)}">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width,initial-scale=1">\n'
        '<meta name="robots" content="noindex">\n<meta name="referrer" content="no-referrer">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">\n'
        f"<title>{escape(title)}</title>\n<style>{style}</style>\n</head>\n<body>\n"
        f"<header>{head}</header><main>{main}</main>{foot}{behind}\n</body>\n</html>\n"
    )


def element(name: str, text: str, kind: str = "") -> str:
    """Return one element around escaped text."""
    classes = f' class="{kind}"' if kind else ""
    return f"<{name}{classes}>{escape(text)}</{name}>"


def _bold(text: str, style: str = "bold") -> str:
    return f"<b>{escape(text)}</b>" if style == "bold" else escape(text)


def _kind(name: str, section: Section) -> str:
    """Return the classes of a section."""
    n_priorities = sum(isinstance(part, Priority) for part in section.parts)
    if name == "task":
        return "wide care" if section.is_care else ("", "wide", "wide two")[min(n_priorities, 2)]
    if any(isinstance(part, Entries) and part.is_large for part in section.parts):
        return "wide"
    return WIDE.get(name, "")


def _section(section: Section, words: PageWords, kind: str) -> str:
    inside = "".join(_part(part, words) for part in section.parts)
    if not section.heading:
        return inside
    classes = f' class="{kind}"' if kind else ""
    return f"<section{classes}>{element('h2', section.heading)}<div>{inside}</div></section>\n"


@singledispatch
def _part(part: Part, words: PageWords) -> str:
    """Return one part of a section; each kind has its own function below."""
    raise ValueError(f"no HTML for {type(part).__name__}")


@_part.register
def _paragraph(part: Paragraph, words: PageWords) -> str:
    return element("h3" if part.style == "title" else "p", part.text)


@_part.register
def _own_word(part: OwnWord, words: PageWords) -> str:
    text = _bold(part.text) if part.text else LINE_TO_FILL
    return f'<p class="own">{escape(part.label)} {text}</p>'


@_part.register
def _notes(part: Notes, words: PageWords) -> str:
    typed = element("p", part.typed) if part.typed else ""
    lines = '<p class="line"></p>' * (2 if typed else 3)
    week = escape(part.week) or LINE_TO_FILL
    return f'{typed}{lines}<p class="hand">{escape(part.week_label)} {week}</p>'


def _table(
    kind: str,
    heads: Iterable[str],
    rows: Iterable[str],
    caption: str = "",
    hides_heads: bool = False,
) -> str:
    """Return a table; rows are already escaped. Hidden heads are there for a screen reader."""
    hidden = ' class="hidden"' if hides_heads else ""
    titled = f"<caption{hidden}>{escape(caption)}</caption>" if caption else ""
    head = "".join(f'<th scope="col">{escape(text)}</th>' for text in heads)
    return (
        f'<table class="{kind}">{titled}<thead{hidden}><tr>{head}</tr></thead>'
        f"<tbody>{''.join(rows)}</tbody></table>"
    )


def _row(head: str, cells: Iterable[str]) -> str:
    """Return a row of a table under its head; all is already escaped, cells are elements."""
    return f'<tr><th scope="row">{head}</th>{"".join(cells)}</tr>'


def _tick_box(label: str) -> str:
    """Return a box to tick with its name for a screen reader."""
    return f'<input type="checkbox" aria-label="{escape(label)}">'


@_part.register
def _figure(part: Figure, words: PageWords) -> str:
    """Return a drawing twice: for paper and wide screens, and set anew for a phone."""
    text_width = Fonts(PX_PER_MM).width
    right, edge = SPARE.get(part.kind, (0.0, 0.0))
    drawn: list[str] = []
    place = 0.0, 1.0  # left and width of the photo in the large drawing
    for wide, tall in SIZES[part.kind]:
        drawing = part.draw(wide, tall, text_width)
        if not drawing.height:
            return element("p", words.nothing)
        shapes = moved(drawing.shapes, 0.0, drawing.above + edge)
        size = wide + right, drawing.height + 2 * edge
        picture = svg(shapes, size, drawing.alt, text_width=text_width)
        if part.photo:
            left, across = photo_place(wide, drawing.above)
            if drawn:  # the same photo, so that the file holds it once
                share = across / place[1]
                dx, dy = 100 * (left - share * place[0]), 30 * (1 - share)
                move = f"translate({dx:.1f} {dy:.1f}) scale({share:.4f})"
                image = f'<use href="#photo" transform="{move}"/>'
            else:  # SVG units are hundredths of a millimetre
                extent = f'width="{round(100 * across)}" height="{round(100 * drawing.above)}"'
                where = f'id="photo" x="{round(100 * left)}" y="30" {extent}'
                address = part.photo.as_data(across, drawing.above)
                image, place = f'<image {where} href="{address}"/>', (left, across)
            picture = picture.replace("</svg>", f"{image}</svg>")
        drawn.append(picture)
    large, small = drawn
    both = f'<div class="large">{large}</div><div class="small">{small}</div>'
    return f'<figure class="{part.kind}">{both}</figure>'


@_part.register
def _entries(part: Entries, words: PageWords) -> str:
    """Return strengths, changes since last time, the 18 items or plain lines."""
    if part.kind == "lines":
        return f"<ul>{''.join(element('li', each.name) for each in part.entries)}</ul>"
    if part.kind == "strengths":
        tick = svg(moved(strength_tick((0.0, 0.0), HEIGHT), 0.4, 3.6), (4.5, 4.2), "")
        items = ""
        for each in part.entries:
            figure = ""
            if part.is_large and each.draw:  # the athlete's own, as decoration: the words say all
                drawn = each.draw(56.0, 62.0)
                shapes, size = moved(drawn.shapes, 0.0, drawn.above), (56.0, drawn.above + 0.6)
                figure = svg(shapes, size, "").replace("<svg ", '<svg class="shown" ', 1)
            items += f"<li>{figure}{tick}{escape(each.name)}</li>"
        return f'<ul class="{"praise" if part.is_large else "ticks"}">{items}</ul>'
    if part.kind == "changes":
        items = "".join(
            f"<li>{escape(each.name)}<br>"
            f"{svg(change_sign(each.sign, (0.4, 2.2), HEIGHT), (9.6, 4.4), '')} "
            f"{_bold(each.said)} {escape(each.note)}</li>"
            for each in part.entries
        )
        return f'<ul class="thirds">{items}</ul>'
    middle, heads = (len(part.entries) + 1) // 2, (words.item_head, words.verdict)
    rows = []
    for each in part.entries:
        said = element("i", each.said) if each.is_result else _signed(each.sign, each.said)
        rows.append(_row(escape(each.name), (f"<td>{said}</td>",)))
    tables = "".join(
        _table("list", heads, half, words.checklist, hides_heads=True)
        for half in (rows[:middle], rows[middle:])
    )
    return f'{element("p", part.doubt)}<div class="halves">{tables}</div>'


def _signed(word: str, said: str) -> str:
    return f"{svg(verdict_sign(word, (3.2, 2.0), HEIGHT), (6.6, 4.0), '')} {escape(said)}"


@_part.register
def _priority(part: Priority, words: PageWords) -> str:
    name = f"<h3>{escape(part.name)} <small>{escape(part.aside)}</small></h3>"
    figure = _figure(part.pair, words) if part.pair else ""
    cue = f"{words.open_quote}{part.cue}{words.close_quote}" if part.cue else ""
    return name + element("p", part.says) + figure + (element("p", cue, "cue") if cue else "")


@_part.register
def _drills(part: Drills, words: PageWords) -> str:
    told = f"<p>{_bold(part.pain)} {escape(part.care)}</p>"
    for drill in part.drills:
        told += element("h3", drill.name, "drill")
        told += f"<p>{escape(drill.dose)}<br>{escape(drill.how)}<br>{escape(drill.care)}</p>"
    saw = "".join(f"<label>{_tick_box(text)} {escape(text)}</label>" for text in part.boxes)
    told += f"<fieldset><legend>{escape(part.boxes_title)}</legend>{saw}</fieldset>"
    rows = []
    for n in range(1, N_TICK_ROWS + 1):
        date = f'<span class="line"><span class="hidden">{n}</span></span>'
        rows.append(_row(date, (f"<td>{_tick_box(f'{n}: {t}')}</td>" for t in part.heads[1:])))
    ticks = _table("todo", part.heads, rows, part.ticks_title)
    return f'<div class="halves"><div>{told}</div>{ticks}</div>'


@_part.register
def _numbers(part: Numbers, words: PageWords) -> str:
    bands = (
        _row(escape(row.name), (element("td", row.edges, "n"), f"<td>{escape(row.basis)}</td>"))
        for row in part.bands
    )
    return _table("numbers", part.heads, [*map(_number_row, part.rows), *bands])


def _number_row(row: NumberRow) -> str:
    name = escape(f"{row.name}, {row.side}" if row.side else row.name)
    cells = [element("td", row.number, "n")]
    if row.sign == SHOWN:
        return _row(name, cells)
    band = ""
    if row.band:
        dots = (row.dot,) if row.dot else ()
        shapes = moved(band_shapes(row.band, dots, 42.0), 0.5, 2.2)
        band = f"{svg(shapes, (43.0, 4.4), '')} {escape(edges(row.band))}"
    cells += [f'<td class="b">{band}</td>', f'<td class="v">{_signed(row.sign, row.verdict)}</td>']
    return _row(name, [*cells, element("td", row.reason or row.mostly)])


@_part.register
def _matrix(part: Matrix, words: PageWords) -> str:
    """Return codes, items by moment and the last day of filming as one table."""
    if not part.athletes:
        return ""

    def cell(each: Cell) -> str:
        said = f"{each.said}, {words.works_on}" if each.works else each.said
        sign = svg(table_sign(each.word, (3.2, 2.0)), (6.4, 4.0), said)
        return f'<td class="works">{sign}</td>' if each.works else f"<td>{sign}</td>"

    rows = ""
    for title, items in part.moments:
        wide = len(part.athletes) + 1
        head = f'<th scope="rowgroup" colspan="{wide}">{escape(title)}</th>'
        rows += f'<tr class="moment">{head}</tr>'
        rows += "".join(_row(escape(item.name), map(cell, item.cells)) for item in items)
    days = (
        words.short_date(line.dated) + (f", {words.due}" if line.is_due else "")
        for line in part.athletes
    )
    last = _row(escape(words.last_filmed_head), (f"<td>{_bold(day)}</td>" for day in days))
    rows += last.replace("<tr>", '<tr class="days">', 1)
    codes = "".join(f'<th scope="col">{_bold(line.code)}</th>' for line in part.athletes)
    head = f'<tr><th scope="col">{escape(words.item_head)}</th>{codes}</tr>'
    return f'<table class="matrix"><thead>{head}</thead><tbody>{rows}</tbody></table>'


@_part.register
def _log(part: Log, words: PageWords) -> str:
    """Return the table to fill in; each cell carries its head for a narrow screen."""
    rows = []
    n_rows = max(N_LOG_ROWS, part.runs_each * len(part.codes))
    for i, (code, number) in enumerate(part.rows(n_rows), 1):
        named = f"{code} {number}: {part.heads[5]}".strip()
        cells = ["", "", "", f"{_tick_box(f'{i}. {named}')} {escape(part.yes)}", ""]
        told = (
            f'<td data-head="{escape(head)}">{cell}</td>'
            for head, cell in zip(part.heads[2:], cells, strict=True)
        )
        shown = _bold(code) if number == 1 else ""
        rows.append(_row(str(number), (f"<td>{shown}</td>", *told)))
    facts = (f'<p class="fact">{escape(label)} {LINE_TO_FILL}</p>' for label in part.facts)
    return f'<div class="halves">{"".join(facts)}</div>' + _table("log", part.heads, rows)

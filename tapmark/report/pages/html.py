"""The same pages as one self-contained HTML file: real text, tables, drawn figures."""

from collections.abc import Iterable, Iterator
from html import escape
from typing import Final

from tapmark.checklist.verdict import SHOWN, Chosen, Drill, RowVerdict
from tapmark.measures.result import Measured
from tapmark.report.drawing.bands import Dot, band_shapes, printed
from tapmark.report.drawing.chain_map import MapLook, chain_map
from tapmark.report.drawing.idea import back_pair, pair_drawing, pair_of
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.pose import step_poses
from tapmark.report.drawing.shapes import moved
from tapmark.report.drawing.signs import HEIGHT, change_sign, strength_tick, verdict_sign
from tapmark.report.drawing.step_line import StepLook, step_line
from tapmark.report.drawing.svg import svg
from tapmark.report.pages.athlete_blocks import N_TICK_ROWS, aside, drills_of, run_facts, start_text
from tapmark.report.pages.coach_page import edges, unit_of, why_sentences, with_minus
from tapmark.report.pages.content import SheetContent
from tapmark.report.pages.html_frame import document, element, section
from tapmark.report.pages.layout import HEAVY, PX_PER_MM, TEXT, THIN
from tapmark.report.pages.photo import Photo
from tapmark.report.pages.words import PageWords, page_words

N_CAUSES: Final = 2  # the coach's copy has them all


def athlete_html(content: SheetContent) -> str:
    """Return the athlete's page as an HTML document."""
    words = page_words(content.words)
    return document(_title(content, words), "".join(_athlete(content, words)), words, content.paper)


def coach_html(content: SheetContent) -> str:
    """Return the athlete's page with all numbers behind it."""
    words = page_words(content.words)
    body = "".join((*_athlete(content, words), *numbers(content, words)))
    return document(_title(content, words), body, words, content.paper)


def _title(content: SheetContent, words: PageWords) -> str:
    return f"{content.athlete.code}, {words.date(content.day)}"


def _athlete(content: SheetContent, words: PageWords) -> Iterator[str]:
    yield _header(content, words)
    yield "<main>"
    yield _strengths(content, words)
    yield from _things(content, words)
    yield _drills(content, words)
    yield _since(content, words)
    yield _checklist(content, words)
    yield _step(content, words)
    yield _notes(content, words)
    yield "</main>"
    yield _footer(content, words)


def _header(content: SheetContent, words: PageWords) -> str:
    visit = content.visit
    number = words.sheet_number.format(n=visit.sheet_number) if visit.sheet_number else ""
    day = f'<time datetime="{escape(visit.dated)}"><b>{words.date(content.day)}</b></time> '
    facts = f"{day}{escape(number)}<br>{escape(run_facts(content, words))}"
    return f"<header>{element('h1', content.athlete.code)}<p>{facts}</p></header>"


def _strengths(content: SheetContent, words: PageWords) -> str:
    tick = svg(moved(strength_tick((0.0, 0.0), HEIGHT), 0.4, 3.6), (4.5, 4.2), "")
    items = "".join(
        f"<li>{tick}{escape(each.words)}</li>" for each in content.assessment.strengths[:3]
    )
    return section(words.do_well, f'<ul class="ticks">{items}</ul>') if items else ""


def _things(content: SheetContent, words: PageWords) -> Iterator[str]:
    assessment = content.assessment
    if assessment.blocked:
        yield section(words.first_things, f'<p class="name">{escape(assessment.blocked)}</p>')
        return
    if not assessment.slots:
        title, *says = assessment.instead
        said = element("h3", title) + "".join(element("p", text) for text in says)
        yield section(words.this_time, said)
        return
    heading = assessment.heading or words.one_thing
    things = "".join(_thing(content, words, slot) for slot in assessment.slots)
    yield section(heading, things, "full" if _is_full(content) else "")


def _is_full(content: SheetContent) -> bool:
    """Whether the printed sheet has no room for the long list: two things, or the shorter paper."""
    return len(content.assessment.slots) > 1 or content.paper == "letter"


def _thing(content: SheetContent, words: PageWords, chosen: Chosen) -> str:
    note = aside(content, words, chosen.item)
    name = f"<h3>{escape(chosen.phrase.name)} <small>{escape(note)}</small></h3>"
    cue = f"{words.open_quote}{chosen.phrase.cue}{words.close_quote}" if chosen.phrase.cue else ""
    start = start_text(content, words, chosen, N_CAUSES)
    said = element("p", chosen.phrase.says) + (element("p", cue, "cue") if cue else "")
    said += element("p", start) if start else ""
    figure = _pair(content, words, chosen)
    return f'{name}<div class="pair">{figure}<div>{said}</div></div>'


def _pair(content: SheetContent, words: PageWords, chosen: Chosen) -> str:
    is_far = chosen.item.feet == content.run.far_side
    pair = pair_of(chosen.item.number, step_poses(content.run, content.i_step), is_far)
    photo = content.photo if pair and content.photo and content.photo.event == pair.event else None
    drawn = (
        pair_drawing(pair, 68.0, 38.0, THIN, shows_you=photo is None)
        if pair is not None
        else back_pair(chosen.item.number, 68.0, 38.0)
        if chosen.item.is_sure
        else None
    )
    if drawn is None:
        return ""
    first = words.you if pair is not None else words.saw
    alt = (words.photo_alt if photo else words.pair_alt).format(name=chosen.phrase.name)
    size = (68.0, drawn.above + max(drawn.below, 0.6) + 0.5)
    caption = f"<span>{escape(first)}</span><span>{escape(words.idea)}</span>"
    picture = svg(moved(drawn.shapes, 0.0, drawn.above + 0.3), size, alt)
    if photo:
        picture = picture.replace("</svg>", f"{_image(photo, 32.0, drawn.above)}</svg>")
    return f"<figure>{picture}<figcaption>{caption}</figcaption></figure>"


def _image(photo: Photo, width: float, height: float) -> str:
    """The photo in the left half of the drawing; SVG units are hundredths of a millimetre."""
    size = f'width="{round(100 * width)}" height="{round(100 * height)}"'
    return f'<image x="0" y="30" {size} href="{photo.as_data(width, height)}"/>'


def _drills(content: SheetContent, words: PageWords) -> str:
    todo = drills_of(content.assessment)
    if not todo:
        return ""
    told = f"<p><b>{escape(words.pain_today)}</b></p>" + "".join(map(_drill, todo))
    boxes = [words.not_yet, words.sometimes, words.mostly]
    saw = "".join(f"<label>{_box(text)} {escape(text)}</label>" for text in boxes)
    told += f"<fieldset><legend>{escape(words.coach_saw)}</legend>{saw}</fieldset>"
    return section(words.do_this, f'<div class="halves"><div>{told}</div>{_ticks(words)}</div>')


def _drill(drill: Drill) -> str:
    care = " ".join(text for text in (drill.stop, drill.caution) if text)
    return f"{element('h3', drill.name, 'drill')}<p>{escape(drill.dose)}<br>{escape(care)}</p>"


def _box(label: str) -> str:
    return f'<input type="checkbox" aria-label="{escape(label)}">'


def _ticks(words: PageWords) -> str:
    heads = [words.tick_date, words.tick_did, words.tick_easier, words.tick_same, words.tick_harder]
    head = "".join(f'<th scope="col">{escape(text)}</th>' for text in heads)
    rows = "".join(
        f'<tr><th scope="row"><span class="line"><span class="hidden">{n}</span></span></th>'
        + "".join(f"<td>{_box(f'{n}: {text}')}</td>" for text in heads[1:])
        + "</tr>"
        for n in range(1, N_TICK_ROWS + 1)
    )
    caption = f"<caption>{escape(words.tick_next)}</caption>"
    return (
        f'<table class="todo">{caption}<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>'
    )


def _since(content: SheetContent, words: PageWords) -> str:
    if content.assessment.blocked or not (content.since or content.assessment.is_first_sheet):
        return ""
    if not content.since:
        return section(words.since, element("p", words.starting_point))
    items = "".join(
        f"<li>{escape(line.name)}<br>"
        f"{svg(change_sign(line.word, (0.4, 2.2), HEIGHT), (9.6, 4.4), '')} "
        f"<b>{escape(words.change(line.word))}</b> {escape(line.note)}</li>"
        for line in content.since[:3]
    )
    return section(words.since, f'<ul class="thirds">{items}</ul>')


def _checklist(content: SheetContent, words: PageWords) -> str:
    if not content.assessment.shows_checklist:
        return ""
    rows = []
    for item in content.assessment.items:
        if item.is_result:
            said = f"<i>{escape(content.words.say('verdicts.follows'))}</i>"
        else:
            sign = svg(verdict_sign(item.word, (3.2, 2.0), HEIGHT), (6.6, 4.0), "")
            said = f"{sign} {escape(content.words.verdict(item.word))}"
        rows.append(f'<tr><th scope="row">{escape(item.name)}</th><td>{said}</td></tr>')
    middle = (len(rows) + 1) // 2
    tables = "".join(_list_table(words, part) for part in (rows[:middle], rows[middle:]))
    doubt = element("p", words.can_be_off)
    return section(words.checklist, f'{doubt}<div class="halves">{tables}</div>', "wide check")


def _list_table(words: PageWords, rows: Iterable[str]) -> str:
    head = "".join(
        f'<th scope="col">{escape(text)}</th>' for text in (words.item_head, words.verdict)
    )
    return (
        f'<table class="list"><caption class="hidden">{escape(words.checklist)}</caption>'
        f'<thead class="hidden"><tr>{head}</tr></thead><tbody>{"".join(rows)}</tbody></table>'
    )


def _step(content: SheetContent, words: PageWords) -> str:
    look = StepLook(25.0, TEXT, THIN, HEAVY, THIN, min_outline=THIN)
    fonts = Fonts(PX_PER_MM)
    drawn = step_line(content.run, content.i_step, 180.0, look, fonts.width, words.step)
    names = ", ".join(words.step.name(event) for event in drawn.figures)
    size = (180.0, drawn.above + drawn.below)
    picture = svg(moved(drawn.shapes, 0.0, drawn.above), size, words.step_alt.format(names=names))
    return section(words.step_head, f'<figure class="step">{picture}</figure>', "wide walk")


def _notes(content: SheetContent, words: PageWords) -> str:
    visit = content.visit
    typed = element("p", visit.notes) if visit.notes else ""
    lines = '<p class="line"></p>' * (2 if typed else 3)
    own = escape(content.athlete.own_cue) or '<span class="line"></span>'
    week = escape(visit.retest_week) or '<span class="line"></span>'
    hand = f'<p class="hand">{escape(words.my_word)} {own} {escape(words.retest)} {week}</p>'
    return section(words.notes, f"{typed}{lines}{hand}")


def _footer(content: SheetContent, words: PageWords) -> str:
    standing = {words.stop, words.pain_today}
    extra = [each for each in content.assessment.cautions if each not in standing]
    doubt = [] if content.assessment.shows_checklist else [words.can_be_off]
    said = " ".join([*extra, *doubt, words.private])
    return f"<footer><p><b>{escape(words.stop)}</b><br>{escape(said)}</p></footer>"


def numbers(content: SheetContent, words: PageWords) -> Iterator[str]:
    """Yield the sections of the coach's copy."""
    graded = [row for row in content.assessment.rows if row.word != SHOWN]
    shown = [row for row in content.assessment.rows if row.word == SHOWN]
    said = "".join(element("p", sentence) for sentence in why_sentences(content, words))
    yield f'<aside aria-label="{escape(words.coach_head)}">'
    yield section(words.chain_head, _chain(content, words), "wide")
    yield section(words.why_this, said, "wide")
    yield section(words.graded_head, _table(content, words, graded), "wide")
    yield section(words.shown_head, _table(content, words, shown), "wide")
    yield section(words.bands_head, _bands(content, words), "wide")
    yield "</aside>"


def _chain(content: SheetContent, words: PageWords) -> str:
    look = MapLook(TEXT, 3.5, 9.5, 0.43, 0.9)
    drawn = chain_map(content.assessment, 180.0, look, Fonts(PX_PER_MM).width)
    names = ", ".join(content.words.item(number) for number in drawn.items)
    if not names:
        return element("p", words.nothing)
    picture = svg(drawn.shapes, (182.0, drawn.height), words.chain_alt.format(names=names))
    return f"<figure>{picture}</figure>"


def _table(content: SheetContent, words: PageWords, rows: list[RowVerdict]) -> str:
    heads = [words.row_head, words.value, words.fine_band, words.verdict, words.mostly_head]
    head = "".join(f'<th scope="col">{escape(text)}</th>' for text in heads)
    body = "".join(_row(content, words, row) for row in rows)
    return f'<table class="numbers"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'


def _row(content: SheetContent, words: PageWords, row: RowVerdict) -> str:
    side = f", {words.side(row.foot)}" if row.foot else ""
    name = f"{content.words.row(row.result.key)}{side}"
    result = row.result
    if isinstance(result, Measured):
        about = "≈ " if result.is_about else ""
        unit = unit_of(result.key, content.words)
        number, doubt = (printed(n, result.digits) for n in (result.value, result.plus_minus))
        value, mostly = f"{about}{number} ± {doubt}{unit}", result.not_graded or result.mostly
    else:
        value, mostly = "–", result.reason
    sign = svg(verdict_sign(row.word, (3.2, 2.0), HEIGHT), (6.6, 4.0), "")
    word = content.words.verdict(row.word)
    verdict = "" if row.word == SHOWN else f"{sign} {escape(word)}"
    return (
        f'<tr><th scope="row">{escape(name)}</th><td class="n">{escape(value)}</td>'
        f'<td>{_band(row)}</td><td class="v">{verdict}</td>'
        f"<td>{escape(mostly)}</td></tr>"
    )


def _band(row: RowVerdict) -> str:
    if row.band is None:
        return ""
    result = row.result
    dots = (
        (Dot(result.value, result.plus_minus, result.is_about),)
        if isinstance(result, Measured)
        else ()
    )
    picture = svg(moved(band_shapes(row.band, dots, 42.0), 0.5, 2.2), (43.0, 4.4), "")
    return f"{picture} {escape(edges(row.band))}"


def _bands(content: SheetContent, words: PageWords) -> str:
    told = {
        row.result.key: row.band for row in content.assessment.rows if row.band and row.band.basis
    }
    body = "".join(
        f'<tr><th scope="row">{escape(content.words.row(key))}</th>'
        f'<td class="n">{escape(edges(band))}</td>'
        f"<td>{escape(with_minus(band.basis))}</td></tr>"
        for key, band in told.items()
    )
    heads = [words.row_head, words.fine_band, words.basis_head]
    head = "".join(f'<th scope="col">{escape(text)}</th>' for text in heads)
    return f'<table class="numbers"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'

"""The coach's numbers as HTML tables: every value with ±, band, verdict and where it comes from."""

from collections.abc import Iterator
from html import escape

from tapmark.checklist.verdict import SHOWN, RowVerdict
from tapmark.drawing.bands import Dot, band_shapes, printed
from tapmark.drawing.chain_map import MapLook, chain_map
from tapmark.drawing.pillow_painter import Fonts
from tapmark.drawing.shapes import moved
from tapmark.drawing.signs import HEIGHT, verdict_sign
from tapmark.drawing.svg import svg
from tapmark.measures.result import Measured
from tapmark.sheet.behind_numbers import edges, unit_of, with_minus
from tapmark.sheet.content import SheetContent
from tapmark.sheet.html_frame import element, section
from tapmark.sheet.layout import PX_PER_MM, TEXT
from tapmark.sheet.page_words import PageWords
from tapmark.sheet.why import why_sentences


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
        f"<td>{escape(content.words.told(mostly))}</td></tr>"
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
        f"<td>{escape(with_minus(content.words.told(band.basis)))}</td></tr>"
        for key, band in told.items()
    )
    heads = [words.row_head, words.fine_band, words.basis_head]
    head = "".join(f'<th scope="col">{escape(text)}</th>' for text in heads)
    return f'<table class="numbers"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'

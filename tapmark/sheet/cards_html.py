"""Filming card and shot log as HTML files: the same words, a table to fill in, a described plan."""

from collections.abc import Iterator, Sequence
from html import escape
from typing import Final

from tapmark.checklist.words import Words
from tapmark.drawing.pillow_painter import Fonts
from tapmark.drawing.shapes import moved
from tapmark.drawing.svg import svg
from tapmark.sheet.cards import COLUMNS, FACTS, POINTS, RUNS_EACH, plan
from tapmark.sheet.html_frame import document, element, section
from tapmark.sheet.layout import MARGIN, PX_PER_MM, Setter
from tapmark.sheet.page_words import page_words

WIDTH: Final = 180.0  # of the plan, between the margins of A4
N_ROWS: Final = 18  # what one sheet holds of either paper


def card_html(words: Words, paper: str = "a4") -> str:
    """Return the filming card as an HTML document."""
    title = words.say("card.title")
    block = plan(words, Setter(Fonts(PX_PER_MM)), WIDTH)
    drawing = svg(
        moved(block.shapes, -MARGIN, 0.0), (WIDTH, block.height), words.say("card.plan_alt")
    )
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
        f'<p class="fact">{escape(words.say(f"log.{key}"))} <span class="line"></span></p>'
        for key in FACTS
    )
    heads = "".join(f'<th scope="col">{escape(words.say(f"log.{key}"))}</th>' for key in COLUMNS)
    n_rows = max(N_ROWS, RUNS_EACH * len(codes))
    rows = "".join(_rows(words, codes, n_rows))
    table = f'<table class="log"><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>'
    body = f'{_header(title)}<main><div class="halves">{facts}</div>{table}</main>'
    return document(title, body, page_words(words), paper)


def _header(title: str) -> str:
    return f"<header>{element('h1', title)}</header>"


def _rows(words: Words, codes: Sequence[str], n_rows: int) -> Iterator[str]:
    pain, yes = words.say("log.pain"), words.say("log.yes")
    for i in range(n_rows):
        i_code, i_run = divmod(i, RUNS_EACH)
        code = codes[i_code] if i_code < len(codes) else ""
        named = f"{code} {i_run + 1}: {pain}".strip()
        box = f'<input type="checkbox" aria-label="{escape(f"{i + 1}. {named}")}"> {escape(yes)}'
        shown = f"<b>{escape(code)}</b>" if i_run == 0 else ""
        empty = "<td></td>"
        yield (
            f'<tr><th scope="row">{i_run + 1}</th><td>{shown}</td>{empty * 3}'
            f"<td>{box}</td>{empty}</tr>"
        )

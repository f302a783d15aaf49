"""The group sheet as one HTML file: one table of words, lists below, codes only."""

from collections.abc import Iterator
from html import escape

from tapmark.drawing.signs import HEIGHT, verdict_sign
from tapmark.drawing.svg import svg
from tapmark.sheet.group_content import GroupContent, GroupLine
from tapmark.sheet.group_page import N_ITEMS
from tapmark.sheet.html_frame import document, element, section
from tapmark.sheet.page_words import PageWords, page_words


def group_html(content: GroupContent) -> str:
    """Return the group sheet as an HTML document."""
    words = page_words(content.words)
    day = words.iso_date(content.dated)
    head = f"<b>{escape(day)}</b><br>{escape(words.coach_only)}"
    body = f"<header>{element('h1', content.name)}<p>{head}</p></header><main>"
    body += section(words.checklist, _matrix(content, words), "wide")
    body += "".join(_lists(content, words)) + "</main>"
    return document(f"{content.name}, {day}", body, words, content.paper)


def _matrix(content: GroupContent, words: PageWords) -> str:
    names = [content.words.item(n) for n in range(1, N_ITEMS + 1)]
    heads = "".join(
        f'<th scope="col"><abbr title="{escape(name)}">{n}</abbr></th>'
        for n, name in enumerate(names, 1)
    )
    rows = "".join(_row(content, words, line) for line in content.lines)
    head = f'<th scope="col">{escape(words.code_head)}</th>{heads}'
    head += f'<th scope="col">{escape(words.last_filmed)}</th>'
    table = f'<table class="matrix"><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>'
    return table + "<ol>" + "".join(element("li", name) for name in names) + "</ol>"


def _row(content: GroupContent, words: PageWords, line: GroupLine) -> str:
    cells = ""
    for number in range(1, N_ITEMS + 1):
        word = line.words[number - 1] if number <= len(line.words) else ""
        if not word:
            cells += "<td></td>"
            continue
        said = content.words.verdict(word)
        if number in line.works_on:
            said = f"{said}, {words.works_on}"
        kind = ' class="works"' if number in line.works_on else ""
        sign = svg(verdict_sign(word, (3.2, 2.0), HEIGHT), (6.4, 4.0), said)
        cells += f"<td{kind}>{sign}</td>"
    day = words.short_date(line.dated) if line.dated else words.never
    note = line.note or (words.due if line.is_due else "")
    last = ", ".join(part for part in (day, note) if part)
    return f'<tr><th scope="row">{escape(line.code)}</th>{cells}<td>{escape(last)}</td></tr>'


def _lists(content: GroupContent, words: PageWords) -> Iterator[str]:
    item = content.words.item
    if content.common:
        yield section(words.common_root, element("p", ", ".join(map(item, content.common))))
    yield _list(words.share_root, [f"{item(n)}: {', '.join(codes)}" for n, codes in content.groups])
    evenings = enumerate(content.evenings, 1)
    due = [f"{words.evening.format(n=n)}: {', '.join(codes)}" for n, codes in evenings]
    yield _list(words.due_head, due)
    yield _list(words.film_again, [", ".join(content.again)] if content.again else [])


def _list(heading: str, lines: list[str]) -> str:
    items = "".join(element("li", line) for line in lines)
    return section(heading, f"<ul>{items}</ul>") if lines else ""

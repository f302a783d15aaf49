"""Cards for the track, as PDF and HTML in the squad: how to film, the log of the evening."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from tapmark.errands.gate import file_name, write_pair_out
from tapmark.errands.own_bands import criteria_of
from tapmark.sheet.cards import filming_card, shot_log
from tapmark.sheet.cards_html import card_html, log_html
from tapmark.sheet.pdf import pdf_bytes
from tapmark.store.squad import Squad


def write_filming_card(squad: Squad, today: date, paper: str = "a4") -> Path:
    """Write the filming card as PDF and HTML; return the PDF; raise CannotWrite."""
    words = criteria_of(squad).words
    html = card_html(words, paper).encode()
    data = pdf_bytes([filming_card(words, paper)], words.say("card.title"))
    path = squad.folder / file_name((), "filming-card", today.isoformat(), ".pdf").lstrip("-")
    return write_pair_out(("pdf", "html"), squad, (), path, (data, html), today)


def write_shot_log(squad: Squad, codes: Sequence[str], today: date, paper: str = "a4") -> Path:
    """Write the shot log with the codes of an evening in their order; return the PDF.

    Raises GateClosed for somebody who may not be filmed, CannotWrite.
    """
    words = criteria_of(squad).words
    html = log_html(words, codes, paper).encode()
    data = pdf_bytes(shot_log(words, codes, paper), words.say("log.title"))
    path = squad.folder / file_name((), "shot-log", today.isoformat(), ".pdf").lstrip("-")
    return write_pair_out(("pdf", "html"), squad, codes, path, (data, html), today)

"""One data file makes everything that leaves a squad speak another language.

The made-up language has Cyrillic letters only; see tests/report/test_other_language.py.
"""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pypdf
import pytest

from tapmark.checklist import words as words_module
from tapmark.marks.people import Length, Slot
from tapmark.report.drawing import painter
from tapmark.services.changes import since_last, since_lines
from tapmark.services.exports import physio_note
from tapmark.services.group import group_of, write_group
from tapmark.services.pages import write_filming_card, write_sheet, write_shot_log
from tapmark.services.visits import read_visit
from tapmark.store.squad import Squad
from tests.checklist.test_words import written
from tests.report.made import cyrillic
from tests.report.test_other_language import _Spoken, latin
from tests.services.made import FIRST, SECOND, TODAY, agreed, place, rear_of, run_of, squad_of


@pytest.fixture(autouse=True)
def every_letter(monkeypatch: pytest.MonkeyPatch) -> None:
    """The letters of the tests lack this language's: pages are asked what they say, not how."""
    monkeypatch.setattr(painter, "_has_glyph", lambda family, letter: True)


DAY = date.fromisoformat(TODAY)
TYPED = ("K07", "M12", "N01", "Tuesday", "S", "trainers", "spikes", "flying zone")


@pytest.fixture
def squad(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Squad:
    """A squad whose words are one more file; K07 has grown and changed shoes since a choice."""
    languages = tmp_path / "words"
    languages.mkdir()
    written(cyrillic().leaves, languages / "xx.toml")
    monkeypatch.setattr(words_module, "FOLDER", languages)
    grown = (Length("leg", 80.0, FIRST), Length("leg", 86.0, SECOND))
    visits = {
        "K07": [
            (FIRST, [run_of("over", 1, shoes="spikes")]),
            (SECOND, [run_of("over", 2, shoes="trainers"), rear_of("left", 20.0)]),
        ],
        "M12": [(FIRST, [run_of("well", 3, pain="yes")])],
        "N01": [],
    }
    first = agreed(birth_year=2012, lengths=grown)
    athletes = [replace(each, group="Tuesday") for each in (first, agreed("M12"), agreed("N01"))]
    made = squad_of(tmp_path / "squad", athletes, visits)
    made.save_choices(replace(made.choices, language="xx"))
    made.save_visit(replace(made.visit("K07", FIRST), slots=(Slot(1, "", FIRST),)))
    return made


@pytest.mark.parametrize("copy", ["athlete", "coach"])
@pytest.mark.parametrize("visit", [("K07", SECOND), ("M12", FIRST)])
def test_sheets_speak_it(squad: Squad, visit: tuple[str, str], copy: str) -> None:
    path = write_sheet(place(squad, *visit), "a4", copy, DAY)

    text = " ".join(_Spoken(path.with_suffix(".html").read_text("utf-8")).told)
    assert latin(text, TYPED) == []


def test_growth_and_likeness_speak_it_on_the_page(squad: Squad) -> None:
    (line,) = since_lines(since_last(squad, read_visit(place(squad, dated=SECOND), DAY)))

    assert line.note
    assert latin(line.note) == ["spikes", "trainers"]
    assert line.note.lower().startswith(cyrillic().say("since.grown"))


def test_a_priority_without_a_film_speaks_it(squad: Squad) -> None:
    for name in squad.run_names("K07", FIRST):
        squad.run_path("K07", FIRST, name).unlink()

    (line,) = since_lines(since_last(squad, read_visit(place(squad, dated=SECOND), DAY)))

    assert line.note == cyrillic().say("since.gone")


def test_other_runs_are_refused_in_it(squad: Squad) -> None:
    run = squad.load_run("K07", SECOND, "run-1")
    other = replace(run, set_up=replace(run.set_up, context="race pace"))
    squad.save_run("K07", SECOND, "run-1", other)

    (line,) = since_lines(since_last(squad, read_visit(place(squad, dated=SECOND), DAY)))

    assert line.note
    assert latin(line.note) == []


def test_the_note_for_a_physio_speaks_it(squad: Squad, tmp_path: Path) -> None:
    for dated in (FIRST, SECOND):
        text = physio_note(squad, "K07", dated, tmp_path, DAY).read_text("utf-8")
        assert latin(text, TYPED) == []


def test_the_group_sheet_speaks_it_and_so_do_its_notes(squad: Squad) -> None:
    path, _ = write_group(squad, DAY)

    text = " ".join(_Spoken(path.with_suffix(".html").read_text("utf-8")).told)
    assert latin(text, TYPED) == []
    notes = {line.code: line.note for line in group_of(squad, DAY).lines}
    words = cyrillic()
    assert notes["M12"] == words.say("group.ask_first")
    assert notes["N01"] == words.say("group.first_visit")


def test_titles_of_files_speak_it(squad: Squad) -> None:
    paths = [
        write_group(squad, DAY)[0],
        write_filming_card(squad, DAY),
        write_shot_log(squad, ["K07"], DAY),
    ]

    for path in paths:
        title = pypdf.PdfReader(path).metadata.title  # type: ignore[union-attr]
        assert title
        assert latin(title) == []

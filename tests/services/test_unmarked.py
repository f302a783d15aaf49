"""A pass that nobody marked yet is no measurement: the last marked one counts everywhere."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from tapmark.errors import NotThere
from tapmark.marks.people import Length, Slot
from tapmark.marks.run import Run, Step
from tapmark.measures.change import Trend
from tapmark.services.changes import since_last
from tapmark.services.exports import physio_note
from tapmark.services.group import group_of
from tapmark.services.pages import content_of, write_sheet
from tapmark.services.pictures import RunPlace, compare
from tapmark.services.season import over_season, readings_of
from tapmark.services.visits import read_visit
from tapmark.store.squad import Squad
from tests.services.made import (
    FIRST,
    SECOND,
    THIRD,
    TODAY,
    agreed,
    contents,
    place,
    rear_of,
    run_of,
    season_of,
    squad_of,
)

DAY = date.fromisoformat(TODAY)


def untapped(run: Run) -> Run:
    """The run with its key frames chosen and no point tapped."""
    frames = tuple(replace(frame, taps=()) for frame in run.steps[0].key_frames)
    return replace(run, steps=(Step(frames),))


def bare(**answers: str) -> Run:
    """A clip as it was brought in: no key frame, no tap."""
    return replace(run_of("over", 9, to_left=False, **answers), steps=(Step(),))


UNMARKED = {"just brought in": bare(), "key frames only": untapped(run_of("over", 9))}


@pytest.fixture(params=UNMARKED)
def squad(request: pytest.FixtureRequest, tmp_path: Path) -> Squad:
    """Marked, then filmed and not marked, then marked again."""
    visits = {
        "K07": [
            (FIRST, [run_of("over", 1)]),
            (SECOND, [UNMARKED[request.param]]),
            (THIRD, [run_of("well", 2)]),
        ],
        "M12": [(FIRST, [run_of("over", 3)]), (THIRD, [UNMARKED[request.param]])],
    }
    squad = squad_of(tmp_path / "squad", [agreed(), agreed("M12")], visits)
    visit = squad.visit("K07", FIRST)
    squad.save_visit(replace(visit, slots=(Slot(1, since=FIRST),)))
    return squad


def test_the_group_page_shows_the_last_marked_visit(squad: Squad) -> None:
    (line,) = (line for line in group_of(squad, DAY).lines if line.code == "M12")

    assert line.dated == FIRST
    assert "seen" in line.words and set(line.words) != {"not measured"}


def test_who_was_filmed_on_a_day_and_waits_for_marking_is_not_due(squad: Squad) -> None:
    content = group_of(squad, DAY)

    (line,) = (line for line in content.lines if line.code == "M12")
    assert not line.is_due and content.evenings == ()


def test_an_athlete_with_nothing_but_unmarked_passes_is_on_their_first_visit(
    squad: Squad,
) -> None:
    squad.save_athlete(agreed("N01"))
    squad.new_run("N01", THIRD, bare())

    (line,) = (line for line in group_of(squad, DAY).lines if line.code == "N01")

    assert (line.words, line.again, line.note) == ((), (), "first visit")


def test_the_next_marked_visit_tells_what_became_of_a_priority(squad: Squad) -> None:
    first, second, _ = season_of(squad, "K07", DAY).visits

    (became,) = first.became
    assert became.change is not None and became.change.word == "moved"
    assert second.became == ()
    assert [each.visit.dated for each in readings_of(squad, "K07", DAY, [])] == [FIRST, THIRD]


def test_the_sheet_compares_with_the_last_marked_visit(squad: Squad) -> None:
    (since,) = since_last(squad, read_visit(place(squad, dated=THIRD), DAY))

    assert since.change is not None and since.change.word == "moved"


def test_the_physio_note_sets_the_last_marked_visit_beside_it(squad: Squad, tmp_path: Path) -> None:
    text = physio_note(squad, "K07", THIRD, tmp_path, DAY).read_text("utf-8")

    assert "Difference to 1 April 2026" in text and "6 May 2026" not in text


def test_growth_counts_from_the_last_marked_visit(squad: Squad) -> None:
    lengths = (Length("leg", 80.0, FIRST), Length("leg", 84.0, SECOND))
    squad.save_athlete(replace(squad.athlete("K07"), lengths=lengths, birth_year=2010))

    later = read_visit(place(squad, dated=THIRD), DAY)

    assert later.growth is not None and later.growth.cm == 4.0
    assert later.assessment.most_slots == 1
    (since,) = since_last(squad, later)
    assert "the athlete has grown since" in since.labels


def test_drills_ticked_on_the_last_sheet_still_count(squad: Squad) -> None:
    """Praise is for what was done since the sheet that was handed over."""
    before = replace(
        squad.visit("K07", FIRST), sheet_number=1, ticked=(("2026-04-10", True, "same"),)
    )
    squad.save_visit(before)
    plain = run_of("over", 4)
    nothing_fine = replace(plain, steps=(replace(plain.steps[0], key_frames=frames_of(plain)),))
    squad.new_run("K07", "2026-06-20", nothing_fine)

    strengths = read_visit(place(squad, dated="2026-06-20"), DAY).assessment.strengths

    assert any("drill" in each.words.lower() for each in strengths), strengths


def frames_of(run: Run) -> tuple:  # type: ignore[type-arg]
    """A single key frame: too little for any strength."""
    return tuple(frame for frame in run.steps[0].key_frames if frame.event == "touchdown")[:1]


@pytest.mark.parametrize("copy", ["athlete", "coach"])
def test_no_sheet_is_made_of_a_visit_without_a_mark(squad: Squad, copy: str) -> None:
    before = contents(squad.folder)

    with pytest.raises(NotThere, match="visit of K07 on 6 May 2026 has no marked run"):
        write_sheet(place(squad, dated=SECOND), "a4", copy, DAY)

    assert contents(squad.folder) == before


def test_nothing_is_set_beside_a_visit_without_a_mark(squad: Squad) -> None:
    places = (RunPlace(place(squad)), RunPlace(place(squad, dated=SECOND)))

    with pytest.raises(NotThere, match="has no marked run"):
        compare(*places, DAY)


def test_passes_not_marked_yet_neither_count_as_steps_nor_lead_the_page(tmp_path: Path) -> None:
    """One marked pass to the left, two of another context to the right that nobody marked."""
    runs = [bare(context="race pace"), run_of("over", 1, to_left=True), bare(context="race pace")]
    squad = squad_of(tmp_path / "squad", [agreed()], {"K07": [(FIRST, runs)]})

    reading = read_visit(place(squad), DAY)

    results = reading.results
    assert (results.context, results.near_side, results.n_steps) == ("sprint", "left", 1)
    assert results.others == () and [name for name, _ in reading.runs] == ["run-2"]
    assert content_of(place(squad), "a4", DAY).runs == (squad.load_run("K07", FIRST, "run-2"),)


def test_pain_before_a_pass_that_nobody_marked_still_stops_the_drills(tmp_path: Path) -> None:
    runs = [run_of("over", 1, pain="no"), bare(pain="yes")]
    squad = squad_of(tmp_path / "squad", [agreed()], {"K07": [(FIRST, runs)]})

    said = read_visit(place(squad), DAY).assessment

    assert said.slots == () and "physio" in said.blocked
    note = physio_note(squad, "K07", FIRST, tmp_path, DAY).read_text("utf-8")
    assert "Pain on that day, as asked by the coach: no, yes" in note


def test_a_rear_view_with_ticks_alone_counts_as_marked(tmp_path: Path) -> None:
    ticked = replace(rear_of("right", 9.0), steps=(Step(ticks=(("hand crosses", 2),)),))
    squad = squad_of(tmp_path / "squad", [agreed()], {"K07": [(FIRST, [ticked])]})

    assert read_visit(place(squad), DAY).results.ticks == {"hand crosses": 2}


def test_a_trend_has_no_point_for_a_visit_without_a_mark(squad: Squad) -> None:
    measure = over_season(readings_of(squad, "K07", DAY, []), "reach", "right")

    assert [point.dated for point in measure.points] == [FIRST, THIRD]
    assert measure.missing == () and not isinstance(measure.trend, Trend)

"""Two runs beside each other: same way, same scale, no faces, and both agree before it leaves."""

from dataclasses import fields, replace
from datetime import date
from pathlib import Path

import pytest

from tapmark.errors import NoConsent, NotThere
from tapmark.marks.people import CONSENT_WORDS, Slot
from tapmark.marks.run import Run, Source, Step
from tapmark.measures.catalogue import row as catalogue_row
from tapmark.measures.change import u_of_the_runner
from tapmark.report.drawing.body import points_of
from tapmark.report.pages.content import Half
from tapmark.services.pictures import RunPlace, compare, compare_out
from tapmark.services.visits import read_visit
from tests.drawn_runner.athletes import OVERSTRIDES
from tests.drawn_runner.camera import View
from tests.drawn_runner.runs import drawn_run
from tests.services.made import (
    FIRST,
    SECOND,
    TODAY,
    agreed,
    contents,
    place,
    run_of,
    squad_of,
    with_answer,
)

DAY = date.fromisoformat(TODAY)


def two_people(folder: Path, one: Run, other: Run) -> tuple[RunPlace, RunPlace]:
    visits = {"K07": [(FIRST, [one])], "M12": [(FIRST, [other])]}
    squad = squad_of(folder / "squad", [agreed(), agreed("M12")], visits)
    return RunPlace(place(squad)), RunPlace(place(squad, "M12"))


def test_other_way_and_other_zoom_give_the_same_figures_on_the_same_scale(tmp_path: Path) -> None:
    """A task of a coach's first month.

    The same drawn runner, filmed to the right at 270 px a metre and to the left at 150.
    """
    there = drawn_run(OVERSTRIDES, View(px_per_m=270.0))
    back = drawn_run(OVERSTRIDES, View(px_per_m=150.0, direction=-1))

    content = compare(*two_people(tmp_path, there, back), DAY)

    assert len(content.events) == 5
    for event in content.events:
        one, other = (points_of(half.poses[event]) for half in (content.first, content.second))
        for name in one:
            from_hip = [(p[name][0] - p["hip"][0], p[name][1] - p["hip"][1]) for p in (one, other)]
            assert from_hip[0] == pytest.approx(from_hip[1], abs=0.01), (event, name)


def test_two_people_are_different_not_better_and_no_picture_is_among_it(tmp_path: Path) -> None:
    content = compare(*two_people(tmp_path, run_of("well"), run_of("over")), DAY)

    assert not content.is_same
    assert content.labels == ("different, not better",)
    words = {row.word for row in content.rows}
    assert words <= {"", "differs", "same", "can't tell"} and "differs" in words
    assert {field.name for field in fields(Half)} == {
        "code",
        "dated",
        "poses",
        "side",
        "facts",
    }


def test_words_for_two_people_follow_the_rule_of_change(tmp_path: Path) -> None:
    """Differs: more apart than 1.96 times both doubts, steps of a runner among them."""
    places = two_people(tmp_path, run_of("well", 1), run_of("over", 2))
    content = compare(*places, DAY)
    one, other = (read_visit(at.place, DAY).results for at in places)

    words = {row.name: row.word for row in content.rows}
    for key in ("reach", "leg_stack", "contact_time", "trunk_lean", "drive_angle"):
        leg = catalogue_row(key).legs[0]
        a, b = one.row(key, leg), other.row(key, leg)
        u = (u_of_the_runner(a) ** 2 + u_of_the_runner(b) ** 2) ** 0.5
        differs = words[content.words.row(key)] == "differs"
        assert differs == (abs(a.value - b.value) > 1.96 * u), key


def test_two_passes_of_one_visit_have_their_words_too(tmp_path: Path) -> None:
    visits = {"K07": [(FIRST, [run_of("over", 1), run_of("over", 2)])]}
    squad = squad_of(tmp_path / "squad", [agreed()], visits)
    first, second = (RunPlace(place(squad), f"run-{i}") for i in (1, 2))

    words = {row.word for row in compare(first, second, DAY).rows}

    assert "differs" not in words and words <= {"", "same", "can't tell"}


def test_two_dates_stand_in_order_and_only_the_priority_gets_a_word(tmp_path: Path) -> None:
    visits = {"K07": [(FIRST, [run_of("over", 1)]), (SECOND, [run_of("well", 2)])]}
    squad = squad_of(tmp_path / "squad", [agreed()], visits)
    squad.save_visit(replace(squad.visit("K07", FIRST), slots=(Slot(1, since=FIRST),)))

    content = compare(RunPlace(place(squad, dated=SECOND)), RunPlace(place(squad)), DAY)

    assert (content.first.dated, content.second.dated) == (FIRST, SECOND)
    assert [row.word for row in content.rows if row.word] == ["moved"]
    assert [(line.name, line.word) for line in content.since] == [
        ("Foot ahead of knee", "closer to the idea")
    ]
    assert all(" ± " in row.first or row.first == "–" for row in content.rows)


def test_a_priority_that_the_far_leg_decides_has_its_row_and_its_word(tmp_path: Path) -> None:
    """Only rows of the near leg were listed: what became of the one thing stood nowhere."""
    visits = {"K07": [(FIRST, [run_of("over", 1)]), (SECOND, [run_of("well", 2)])]}
    squad = squad_of(tmp_path / "squad", [agreed()], visits)
    squad.save_visit(replace(squad.visit("K07", FIRST), slots=(Slot(3, since=FIRST),)))

    content = compare(RunPlace(place(squad)), RunPlace(place(squad, dated=SECOND)), DAY)

    (line,) = content.since
    assert (line.name, line.word) == ("Knees apart at landing", "closer to the idea")
    apart = [row for row in content.rows if row.name == "Knees apart at touchdown"]
    assert [(row.leg, row.foot, row.word) for row in apart] == [
        ("near", "", ""),
        ("far", "left", "moved"),
    ]


def test_a_run_that_may_not_be_compared_is_shown_and_the_reason_told(tmp_path: Path) -> None:
    visits = {"K07": [(FIRST, [run_of()]), (SECOND, [run_of(context="race pace")])]}
    squad = squad_of(tmp_path / "squad", [agreed()], visits)

    content = compare(RunPlace(place(squad)), RunPlace(place(squad, dated=SECOND)), DAY)

    assert content.events and "another kind of running" in content.refused[0]


def test_a_run_without_taps_is_told_plainly(tmp_path: Path) -> None:
    empty = Run(source=Source("stills", "", (1280, 720), 5), steps=(Step(),))
    places = two_people(tmp_path, run_of(), empty)

    with pytest.raises(NotThere, match="visit of M12 on 1 April 2026 has no marked run"):
        compare(*places, DAY)


@pytest.mark.parametrize("code", ["K07", "M12"])
@pytest.mark.parametrize("use", ["film", "show to group"])
@pytest.mark.parametrize("state", ["never asked", "refused", "withdrawn", "expired", "not yet"])
def test_a_picture_of_two_people_needs_the_yes_of_both(
    tmp_path: Path, code: str, use: str, state: str
) -> None:
    places = two_people(tmp_path, run_of(), run_of())
    content = compare(*places, DAY)
    squad = places[0].place.squad
    squad.save_athlete(with_answer(squad.athlete(code), use, state))
    before = contents(tmp_path)

    with pytest.raises(NoConsent, match=f"{code}: .*“{CONSENT_WORDS[use]}”"):
        compare_out(content, *places, tmp_path, b"png", DAY)

    assert contents(tmp_path) == before


def test_a_picture_of_one_athletes_two_dates_needs_no_consent_to_the_group(tmp_path: Path) -> None:
    visits = {"K07": [(FIRST, [run_of()]), (SECOND, [run_of()])]}
    squad = squad_of(
        tmp_path / "squad", [with_answer(agreed(), "show to group", "refused")], visits
    )
    places = RunPlace(place(squad)), RunPlace(place(squad, dated=SECOND))

    path = compare_out(compare(*places, DAY), *places, tmp_path, b"png", DAY)

    assert path.name == f"K07-compare-{SECOND}.png"

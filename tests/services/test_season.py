"""A season of one athlete: priorities, ticks, growth, quiet weeks, one measure, left and right."""

import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from tapmark.checklist.criteria import load
from tapmark.errors import StoreError
from tapmark.marks.people import Length, Slot
from tapmark.measures.change import CANT_TELL, Limits, compare
from tapmark.measures.result import Measured, NotMeasured
from tapmark.services.changes import compare_visits, since_last, since_lines
from tapmark.services.pages import write_sheet
from tapmark.services.season import (
    measures_to_show,
    over_season,
    readings_of,
    sides_of,
    type_back,
)
from tapmark.services.visits import read_visit
from tapmark.store.squad import Squad
from tests.services.made import (
    FIRST,
    SECOND,
    THIRD,
    TODAY,
    agreed,
    place,
    run_of,
    season_of,
    squad_of,
)

DAY = date.fromisoformat(TODAY)


def season_squad(folder: Path, *runs_of_visits: list, **athlete: object) -> Squad:  # type: ignore[type-arg]
    visits = list(zip((FIRST, SECOND, THIRD), runs_of_visits, strict=False))
    return squad_of(folder / "squad", [agreed(**athlete)], {"K07": visits})  # type: ignore[arg-type]


def choose(squad: Squad, dated: str, *items: int) -> None:
    visit = squad.visit("K07", dated)
    squad.save_visit(replace(visit, slots=tuple(Slot(item, since=dated) for item in items)))


def test_every_sheet_stands_beside_its_ticks_and_what_became_of_it(tmp_path: Path) -> None:
    squad = season_squad(tmp_path, [run_of("over", 1)], [run_of("well", 2)], [run_of("well", 3)])
    choose(squad, FIRST, 1)
    choose(squad, SECOND, 8)
    ticks = [
        ("2026-04-10", True, "same"),
        ("2026-04-08", True, "harder"),
        ("2026-04-15", False, ""),
    ]
    type_back(squad, "K07", FIRST, ticks, "sometimes", DAY)

    season = season_of(squad, "K07", DAY)

    first, second, third = season.visits
    assert first.items == ((1, load().words.item(1)),)
    assert first.done == (2, 3)
    assert first.coach_saw == "sometimes"
    (became,) = first.became
    assert became.change is not None and (became.change.word, became.change.arrow) == (
        "moved",
        "nearer",
    )
    assert [each.number for each in second.became] == [8]
    assert third.became == ()


def test_a_priority_that_goes_on_is_one_spell(tmp_path: Path) -> None:
    squad = season_squad(tmp_path, *[[run_of("over", i)] for i in range(3)])
    choose(squad, FIRST, 1)
    choose(squad, SECOND, 1, 8)
    choose(squad, THIRD, 8)

    spells = [spell for _, spell in season_of(squad, "K07", DAY).spells]

    assert [(s.item, s.first, s.last, s.n_visits) for s in spells] == [
        (1, FIRST, SECOND, 2),
        (8, SECOND, THIRD, 2),
    ]


@pytest.mark.parametrize(
    ("ticked", "words"),
    [
        (("2026-03-01", True, ""), "does not fit the sheet"),
        (("2026-07-02", True, ""), "does not fit the sheet"),
        (("10.4.2026", True, ""), "is not a date"),
        (("2026-04-10", True, "great"), "is not on the sheet"),
    ],
)
def test_ticks_that_cannot_have_been_are_refused_and_nothing_is_kept(
    tmp_path: Path, ticked: tuple[str, bool, str], words: str
) -> None:
    squad = season_squad(tmp_path, [run_of()])

    with pytest.raises(StoreError, match=words):
        type_back(squad, "K07", FIRST, [ticked], "", DAY)

    assert squad.visit("K07", FIRST).ticked == ()


def test_a_visit_that_cannot_be_read_is_told_and_the_rest_of_the_season_is_there(
    tmp_path: Path,
) -> None:
    squad = season_squad(tmp_path, [run_of()], [run_of()], [run_of()])
    path = squad.run_path("K07", SECOND, "run-1")
    path.write_bytes(path.read_bytes()[:50])

    season = season_of(squad, "K07", DAY)

    assert [visit.dated for visit in season.visits] == [FIRST, SECOND, THIRD]
    assert any("run-1.json" in notice for notice in season.notices)


def test_two_weeks_before_the_goal_race_the_season_says_why_nothing_new_comes(
    tmp_path: Path,
) -> None:
    squad = season_squad(tmp_path, [run_of("over")], goal_race="2026-07-12")

    assert season_of(squad, "K07", DAY).quiet.startswith("Goal race in 11 days")
    slots = read_visit(place(squad), DAY).assessment.slots
    assert slots == ()


def test_an_athlete_who_grew_6_cm_is_asked_compared_in_percent_and_gets_one_thing(
    tmp_path: Path,
) -> None:
    """A task of a coach's first month."""
    small = run_of("over", 1, leg_cm=80.0, leg_source="tape")
    tall = run_of("over", 2, leg_cm=86.0, leg_source="tape")
    squad = season_squad(tmp_path, [small], [tall], birth_year=2010)
    lengths = (Length("leg", 80.0, FIRST), Length("leg", 86.0, SECOND))
    squad.save_athlete(replace(squad.athlete("K07"), lengths=lengths))
    choose(squad, FIRST, 1)

    later = read_visit(place(squad, dated=SECOND), DAY)

    assert later.growth is not None and later.growth.cm == 6.0
    assert later.assessment.most_slots == 1
    (line,) = since_lines(since_last(squad, later))
    assert line.note == "You have grown since."
    told = list(compare_visits(place(squad).folder, place(squad, dated=SECOND).folder, DAY))
    assert any(each.startswith("Times cannot be compared. The athlete has grown") for each in told)
    assert not any("Contact time" in each or "Step rate" in each for each in told)
    assert any("(reach)" in each for each in told)
    measure = over_season(readings_of(squad, "K07", DAY, []), "ankle_knee", "right")
    assert (measure.unit, len(measure.points)) == ("% leg", 2)
    notices = season_of(squad, "K07", DAY).notices
    assert any("80 cm on 1 April 2026, 86 cm on 6 May 2026: 6 cm more" in each for each in notices)
    asked = season_of(squad, "K07", date(2026, 10, 1)).notices
    assert any("under 18 it is asked each term" in each for each in asked)


def test_the_columns_of_two_visits_stand_below_each_other_with_true_minus_signs(
    tmp_path: Path,
) -> None:
    """ "-50.4 → -31.3" stood beside "−19°", and long names pushed their numbers to the right."""
    squad = season_squad(tmp_path, [run_of("over", 1)], [run_of("well", 2)])

    told = list(compare_visits(place(squad).folder, place(squad, dated=SECOND).folder, DAY))

    rows = [line for line in told if line.startswith("  ")]
    assert len(rows) > 30 and len({line.index("→") for line in rows}) == 1
    assert any("−" in line for line in rows) and not any(re.search(r"-\d", line) for line in rows)
    (step,) = (line for line in rows if line.startswith("  Step length"))
    assert re.search(r"\d\.\d\d → \d\.\d\d m ", step), step


def test_knees_22_then_27_percent_apart_at_one_step_each_cannot_be_told(tmp_path: Path) -> None:
    """A task of a coach's first month."""
    squad = season_squad(tmp_path, [run_of("over", 1)], [run_of("over", 2)])
    readings = readings_of(squad, "K07", DAY, [])
    points = over_season(readings, "knee_separation", "right").points
    before, after = (
        replace(point.measured, value=value)
        for point, value in zip(points, (22.0, 27.0), strict=True)
    )

    change = compare(before, after, Limits(fine_high=25.0, limit_high=36.0))

    assert change.word == CANT_TELL
    assert change.smallest > 5.0 == change.difference


def test_spikes_then_trainers_are_compared_with_a_label(tmp_path: Path) -> None:
    """A task of a coach's first month."""
    squad = season_squad(
        tmp_path, [run_of("over", 1, shoes="spikes")], [run_of("over", 2, shoes="trainers")]
    )
    choose(squad, FIRST, 1)

    since = since_last(squad, read_visit(place(squad, dated=SECOND), DAY))

    assert since[0].change is not None
    assert since_lines(since)[0].note == "Shoes: spikes, then trainers."
    measure = over_season(readings_of(squad, "K07", DAY, []), "reach", "right")
    assert measure.points[0].labels == ("shoes: spikes, then trainers",)


def test_one_measure_over_the_season_has_values_doubt_band_and_slope(tmp_path: Path) -> None:
    squad = season_squad(tmp_path, *[[run_of("over", i)] for i in range(3)])
    readings = readings_of(squad, "K07", DAY, [])

    measure = over_season(readings, "reach", "right")

    assert [point.dated for point in measure.points] == [FIRST, SECOND, THIRD]
    assert measure.band is not None and measure.band.limit_high == 12
    for point in measure.points:
        assert point.plus_minus > point.measured.plus_minus  # steps differ too
    assert not isinstance(measure.trend, NotMeasured)
    assert measure.trend.plus_minus > 0 and not measure.trend.is_clear
    assert ("reach", "right") in measures_to_show(readings)
    assert all(key != "foot_turn" for key, _ in measures_to_show(readings))


def test_the_foot_filmed_near_counts_before_the_same_foot_far_away(tmp_path: Path) -> None:
    squad = season_squad(tmp_path, [run_of("over", 1), run_of("over", 2, to_left=True)])
    readings = readings_of(squad, "K07", DAY, [])

    for side in ("right", "left"):
        (point,) = over_season(readings, "reach", side).points
        assert point.measured.leg == "near"


def test_visits_that_are_not_like_the_last_one_are_left_out_and_named(tmp_path: Path) -> None:
    squad = season_squad(tmp_path, [run_of(context="race pace")], [run_of(effort=6)], [run_of()])

    measure = over_season(readings_of(squad, "K07", DAY, []), "reach", "right")

    assert [point.dated for point in measure.points] == [THIRD]
    reasons = dict(measure.missing)
    assert "another kind of running" in reasons[FIRST] and "effort 6" in reasons[SECOND]
    assert isinstance(measure.trend, NotMeasured)
    assert "three sessions" in measure.trend.reason


def test_left_against_right_from_one_clip_is_refused_with_what_to_film(tmp_path: Path) -> None:
    """A task of a coach's first month."""
    both_ways = [run_of("over", i, to_left=i % 2 == 0) for i in range(4)]
    squad = season_squad(tmp_path, [run_of("over", 9)], both_ways)

    one_way, two_ways = map(sides_of, readings_of(squad, "K07", DAY, []))

    assert one_way.rows == () and "Film the same run the other way too" in one_way.why
    reach = next(row for row in two_ways.rows if row.key == "reach")
    assert two_ways.why == "" and reach.plus_minus > 0
    assert reach.word == "no difference shown"


def test_left_and_right_are_not_compared_when_the_camera_moved(tmp_path: Path) -> None:
    runs = [run_of("over", i, to_left=i % 2 == 0, camera="panned") for i in range(4)]
    squad = season_squad(tmp_path, runs)

    (visit,) = map(sides_of, readings_of(squad, "K07", DAY, []))

    assert visit.rows and all(row.word == "can't tell" for row in visit.rows)
    assert all("camera moved" in row.why for row in visit.rows)


def test_the_printed_sheet_is_what_the_season_remembers(tmp_path: Path) -> None:
    squad = season_squad(tmp_path, [run_of("over", 1)])
    write_sheet(place(squad), "a4", "athlete", DAY)

    (visit,) = season_of(squad, "K07", DAY).visits

    assert visit.sheet_number == 1 and len(visit.items) == 1
    measured = readings_of(squad, "K07", DAY, [])[0].results.row("reach", "near")
    assert isinstance(measured, Measured)

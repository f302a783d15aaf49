"""Two copies put together: both sides are kept, and the coach's choice is in force."""

import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from tapmark.errors import StoreError
from tapmark.marks.run import Tap
from tapmark.services.copies import LEAVE, OURS, THEIRS, plan, put_together
from tapmark.store.consent import consent_state, withdraw
from tapmark.store.merge import CONFLICT
from tapmark.store.names import is_set_aside
from tapmark.store.squad import Squad, open_squad
from tests.store.made import consenting, squad_of, standard_run

TODAY = date(2026, 5, 14)
DAY = "2026-03-14"
RUN = ("K07", DAY, "run-1")
VISIT = ("K07", DAY, "")
ATHLETE = ("K07", "", "")


@pytest.fixture
def copies(tmp_path: Path) -> tuple[Squad, Squad]:
    """One squad, and its copy in which another coach changed run, visit and athlete."""
    ours = squad_of(tmp_path / "ours")
    shutil.copytree(ours.folder, tmp_path / "theirs")
    theirs = open_squad(tmp_path / "theirs")
    theirs.save_run(*RUN, standard_run("CD", shift=3.0))
    theirs.save_visit(replace(theirs.visit("K07", DAY), notes="windy"))
    theirs.save_athlete(replace(theirs.athlete("K07"), notes="jumps off the left"))
    theirs.save_athlete(consenting("Z09"))
    return ours, theirs


def test_the_plan_shows_both_sides_of_every_run_and_writes_nothing(
    copies: tuple[Squad, Squad],
) -> None:
    ours, theirs = copies
    before = {path: path.read_bytes() for path in ours.folder.rglob("*.json")}

    found = plan(ours.folder, theirs.folder, TODAY)

    conflicts = [(d.code, d.dated, d.name) for d in found.differences if d.kind == CONFLICT]
    assert {RUN, VISIT, ATHLETE} == set(conflicts)
    both = found.sides[RUN]
    assert (both.ours.marked_by, both.theirs.marked_by) == ("AB", "CD")
    assert both.apart_pct_leg and both.apart_pct_leg > 0
    assert before == {path: path.read_bytes() for path in ours.folder.rglob("*.json")}


def test_every_point_moved_alike_lies_apart_by_just_that(copies: tuple[Squad, Squad]) -> None:
    ours, theirs = copies

    both = plan(ours.folder, theirs.folder, TODAY).sides[RUN]

    by_hand = 100 * 3.0 / leg_px(ours)
    assert both.apart_pct_leg == pytest.approx(by_hand, rel=1e-9)


def leg_px(squad: Squad) -> float:
    """1.08 × the mean of hip–knee + knee–ankle on the key frames that have both (from memory)."""
    spans = []
    for _, frame, tap in squad.load_run(*RUN).taps():
        if tap.point == "hip" and frame.at("near knee") and frame.at("near ankle"):
            hip, knee, ankle = (frame.at(p) for p in ("hip", "near knee", "near ankle"))
            spans.append(distance(hip, knee) + distance(knee, ankle))
    return 1.08 * sum(spans) / len(spans)


def distance(a: tuple[float, float] | None, b: tuple[float, float] | None) -> float:
    assert a and b
    return float(((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5)


def test_ours_keeps_counting_and_theirs_is_kept_beside(copies: tuple[Squad, Squad]) -> None:
    ours, theirs = copies
    mine = ours.load_run(*RUN)

    put_together(ours.folder, theirs.folder, TODAY, {RUN: OURS, VISIT: OURS, ATHLETE: OURS})

    assert ours.visit("K07", DAY).runs == ("run-1",)
    assert {"run-1": mine, "run-2": theirs.load_run(*RUN)} == dict(ours.runs("K07", DAY))
    assert "" == ours.visit("K07", DAY).notes == ours.athlete("K07").notes
    assert len([p for p in ours.folder.rglob("*.json") if is_set_aside(p)]) == 2


def test_theirs_counts_where_the_coach_says_so_and_ours_is_kept(
    copies: tuple[Squad, Squad],
) -> None:
    ours, theirs = copies
    mine = ours.load_run(*RUN)

    put_together(ours.folder, theirs.folder, TODAY, {RUN: THEIRS, VISIT: THEIRS, ATHLETE: THEIRS})

    assert ours.visit("K07", DAY).runs == ("run-2",)
    assert theirs.load_run(*RUN) == ours.load_run("K07", DAY, "run-2")
    assert mine == ours.load_run(*RUN)
    assert (
        ours.visit("K07", DAY).notes,
        ours.athlete("K07").notes,
    ) == ("windy", "jumps off the left")
    kept = [p.read_text("utf-8") for p in ours.folder.rglob("*.json") if is_set_aside(p)]
    assert any('"notes": ""' in text for text in kept)


def test_no_tap_of_either_side_is_lost_whatever_is_chosen(copies: tuple[Squad, Squad]) -> None:
    ours, theirs = copies
    before = taps(ours) | taps(theirs)

    put_together(ours.folder, theirs.folder, TODAY, {RUN: THEIRS})

    assert before == taps(ours)


def taps(squad: Squad) -> set[Tap]:
    runs = (run for code in squad.codes() for _, run in squad.runs(code, DAY))
    return {tap for run in runs for _, _, tap in run.taps()}


def test_a_no_is_taken_over_even_where_their_side_is_not_chosen(
    copies: tuple[Squad, Squad],
) -> None:
    ours, theirs = copies
    theirs.save_athlete(withdraw(theirs.athlete("M12"), "film", "mother", "2026-05-12"))

    put_together(ours.folder, theirs.folder, TODAY, {("M12", "", ""): OURS})

    assert consent_state(ours.athlete("M12"), "film", TODAY.isoformat()) == "withdrawn"


def test_a_new_athlete_is_left_out_when_the_coach_says_so(copies: tuple[Squad, Squad]) -> None:
    ours, theirs = copies

    put_together(ours.folder, theirs.folder, TODAY, {("Z09", "", ""): LEAVE})
    assert ours.codes() == ("K07", "M12")

    put_together(ours.folder, theirs.folder, TODAY, {})
    assert ours.codes() == ("K07", "M12", "Z09")


def test_doing_it_twice_changes_nothing_more(copies: tuple[Squad, Squad]) -> None:
    ours, theirs = copies
    choices = {RUN: THEIRS, VISIT: THEIRS, ATHLETE: THEIRS}
    put_together(ours.folder, theirs.folder, TODAY, choices)
    once = taps(ours), ours.visit("K07", DAY), ours.athlete("K07")

    put_together(ours.folder, theirs.folder, TODAY, choices)

    assert once == (taps(ours), ours.visit("K07", DAY), ours.athlete("K07"))


def test_a_squad_is_not_put_together_with_itself(copies: tuple[Squad, Squad]) -> None:
    folder = copies[0].folder

    with pytest.raises(StoreError, match="this very squad"):
        plan(folder, folder / ".." / folder.name, TODAY)

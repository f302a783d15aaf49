"""Two coaches: copies put together under the gate, one clip marked twice shown side by side."""

import shutil
from dataclasses import replace
from datetime import date
from math import radians, tan
from pathlib import Path

import pytest

from tapmark.errors import NotThere
from tapmark.marks.points import SIDE_EVENTS
from tapmark.marks.run import Run
from tapmark.services.copies import limits_of_agreement, marked_twice, merge, plan_merge
from tapmark.store.squad import Squad, open_squad
from tests.services.made import (
    FIRST,
    SECOND,
    TODAY,
    agreed,
    contents,
    run_of,
    squad_of,
    with_answer,
)

DAY = date.fromisoformat(TODAY)


def marked(seed: int, marker: str, clip: str) -> Run:
    run = run_of("over", seed)
    source = replace(run.source, kind="clip", path=f"../{clip}.mp4", fingerprint=clip)
    return replace(run, source=source, marked_by=marker)


def two_copies(folder: Path) -> tuple[Squad, Squad]:
    """Ours, and a copy in which a second coach has marked another visit."""
    ours = squad_of(folder / "ours", [agreed(), agreed("M12")])
    shutil.copytree(ours.folder, folder / "theirs")
    theirs = open_squad(folder / "theirs")
    for code in ("K07", "M12"):
        theirs.new_run(code, SECOND, marked(5, "BC", "a1"))
    return ours, theirs


def test_two_markings_of_one_clip_differ_point_by_point_and_measure_by_measure(
    tmp_path: Path,
) -> None:
    """A task of a coach's first month."""
    runs = [marked(1, "AB", "a1"), marked(2, "CD", "a1")]
    squad = squad_of(tmp_path / "s", [agreed()], {"K07": [(FIRST, runs)]})

    (both,) = marked_twice(squad)

    assert both.markers == ("AB", "CD")
    paired = {pair.event for pair in both.points}
    assert "mid-stance" in paired and not paired & set(both.other_pictures)
    assert paired | set(both.other_pictures) == set(SIDE_EVENTS)
    reach = next(row for row in both.rows if (row.key, row.leg) == ("reach", "near"))
    assert reach.difference == pytest.approx(reach.by_b - reach.by_a)
    assert reach.plus_minus > 0
    assert squad.visit("K07", FIRST).runs == ("run-1", "run-2")  # two runs, never one of both


def test_other_pictures_for_a_key_frame_are_named_and_never_paired(tmp_path: Path) -> None:
    first = marked(1, "AB", "a1")
    frames = tuple(
        replace(f, picture=f.picture + (f.event == "toe-off")) for f in first.steps[0].key_frames
    )
    second = replace(first, marked_by="CD", steps=(replace(first.steps[0], key_frames=frames),))
    squad = squad_of(tmp_path / "s", [agreed()], {"K07": [(FIRST, [first, second])]})

    (both,) = marked_twice(squad)

    assert both.other_pictures == ("toe-off",)
    assert "toe-off" not in {pair.event for pair in both.points}


def test_limits_of_agreement_come_from_several_clips_of_the_same_two_coaches(
    tmp_path: Path,
) -> None:
    """Bland & Altman 1986: bias ± 1.96 SD of the differences; here second − first."""
    shift = (-4.0, 1.0, 6.0)
    visits = []
    for i, lean in enumerate(shift):
        first = marked(i, "AB", f"clip {i}")
        second = replace(run_turned(first, lean), marked_by="CD")
        visits.append((f"2026-04-0{i + 1}", [first, second]))
    squad = squad_of(tmp_path / "s", [agreed()], {"K07": visits})

    rows = {(row.key, row.leg): row for row in limits_of_agreement(marked_twice(squad))}

    reach = rows["reach", "near"]
    assert reach.markers == ("AB", "CD") and reach.agreement.n == 3
    assert reach.agreement.bias == pytest.approx(1.0, abs=0.05)  # mean of −4, 1 and 6
    assert reach.agreement.sd == pytest.approx(5.0, abs=0.05)  # their SD, by hand
    assert reach.agreement.low == pytest.approx(1.0 - 1.96 * 5.0, abs=0.2)
    # Dahlberg's √(Σd² ÷ 2n) = √(53 ÷ 6) of one reading, times 1.96 √2 for a change, by hand.
    assert reach.smallest_change == pytest.approx(8.24, abs=0.1)


def run_turned(run: Run, deg: float) -> Run:
    """The run seen by somebody whose vertical leans so far backward that shanks read more."""
    (x0, y0), (x1, y1) = run.set_up.upright_px or ((0.0, 0.0), (0.0, 0.0))
    leaning = (x1 + (y0 - y1) * tan(radians(deg)), y1)
    return replace(run, set_up=replace(run.set_up, upright_px=((x0, y0), leaning)))


def test_a_clip_marked_by_one_coach_alone_says_nothing_of_agreement(tmp_path: Path) -> None:
    runs = [marked(1, "AB", "a1"), marked(2, "AB", "a1")]
    squad = squad_of(tmp_path / "s", [agreed()], {"K07": [(FIRST, runs)]})

    assert marked_twice(squad) == () == limits_of_agreement(())


def test_merging_takes_the_other_coachs_visits_and_tells_each(tmp_path: Path) -> None:
    ours, theirs = two_copies(tmp_path)
    before = contents(ours.folder)

    plan = plan_merge(ours, theirs.folder, DAY)
    assert contents(ours.folder) == before
    done = merge(ours, theirs.folder, DAY)

    assert plan.differences == done.differences and done.left_out == ()
    assert ours.visit_dates("K07") == ours.visit_dates("M12") == (FIRST, SECOND)
    assert any("only in the other copy" in each.words for each in done.differences)


@pytest.mark.parametrize("state", ["never asked", "refused", "withdrawn", "expired", "not yet"])
@pytest.mark.parametrize("where", ["here", "there"])
def test_no_visit_is_merged_in_without_consent_here_and_there(
    tmp_path: Path, state: str, where: str
) -> None:
    ours, theirs = two_copies(tmp_path)
    squad = ours if where == "here" else theirs
    squad.save_athlete(with_answer(squad.athlete("K07"), "film", state))

    done = merge(ours, theirs.folder, DAY)

    assert ours.visit_dates("K07") == (FIRST,)
    assert ours.visit_dates("M12") == (FIRST, SECOND)
    assert len(done.left_out) == 1 and done.left_out[0].startswith("K07: ")


def test_their_no_comes_with_the_merge_although_their_runs_do_not(tmp_path: Path) -> None:
    ours, theirs = two_copies(tmp_path)
    theirs.save_athlete(with_answer(theirs.athlete("K07"), "film", "withdrawn"))

    merge(ours, theirs.folder, DAY)

    answer = ours.athlete("K07").consent("film")
    assert answer is not None and answer.withdrawn


def test_a_folder_that_is_no_squad_is_told(tmp_path: Path) -> None:
    ours, _ = two_copies(tmp_path)

    with pytest.raises(NotThere, match="nowhere"):
        plan_merge(ours, tmp_path / "nowhere", DAY)

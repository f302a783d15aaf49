"""Two coaches: copies merged as far as consent goes, one clip marked twice shown side by side."""

import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from tapmark.errors import NotThere
from tapmark.marks.run import Run
from tapmark.services.copies import plan, put_together
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


def test_merging_takes_the_other_coachs_visits_and_tells_each(tmp_path: Path) -> None:
    ours, theirs = two_copies(tmp_path)
    before = contents(ours.folder)

    planned = plan(ours.folder, theirs.folder, DAY)
    assert contents(ours.folder) == before
    done = put_together(ours.folder, theirs.folder, DAY, {})

    assert planned.differences == done and planned.left_out == ()
    assert ours.visit_dates("K07") == ours.visit_dates("M12") == (FIRST, SECOND)
    assert any("only in the other copy" in each.words for each in done)


@pytest.mark.parametrize("state", ["never asked", "refused", "withdrawn", "expired", "not yet"])
@pytest.mark.parametrize("where", ["here", "there"])
def test_no_visit_is_merged_in_without_consent_here_and_there(
    tmp_path: Path, state: str, where: str
) -> None:
    ours, theirs = two_copies(tmp_path)
    squad = ours if where == "here" else theirs
    squad.save_athlete(with_answer(squad.athlete("K07"), "film", state))

    told = plan(ours.folder, theirs.folder, DAY).left_out
    put_together(ours.folder, theirs.folder, DAY, {})

    assert ours.visit_dates("K07") == (FIRST,)
    assert ours.visit_dates("M12") == (FIRST, SECOND)
    assert len(told) == 1 and told[0].startswith("K07: ")


def test_their_no_comes_with_the_merge_although_their_runs_do_not(tmp_path: Path) -> None:
    ours, theirs = two_copies(tmp_path)
    theirs.save_athlete(with_answer(theirs.athlete("K07"), "film", "withdrawn"))

    put_together(ours.folder, theirs.folder, DAY, {})

    answer = ours.athlete("K07").consent("film")
    assert answer is not None and answer.withdrawn


def test_a_folder_that_is_no_squad_is_told(tmp_path: Path) -> None:
    ours, _ = two_copies(tmp_path)

    with pytest.raises(NotThere, match="nowhere"):
        plan(ours.folder, tmp_path / "nowhere", DAY)

"""Bringing pictures in: what is kept, what is dropped, what is said when they are gone."""

import shutil
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.desk import Desk
from tapmark.app.holding import let_go
from tapmark.app.kept import KeptStills
from tapmark.app.picture_deeds import Wish, load_pictures
from tapmark.app.rate_deeds import answer_rate, rate_words
from tapmark.app.run_deeds import open_run
from tapmark.app.squad_deeds import choose_athlete, use_squad
from tapmark.app.stills_deeds import keep
from tapmark.clip.frames import Clip
from tapmark.errors import CannotWrite, ClipUnreadable, GateClosed, TapmarkError
from tapmark.marks.people import Athlete
from tapmark.marks.run import Step
from tapmark.store.pictures import kept_stills
from tests.app.driving import SAMPLES
from tests.app.made import bare_desk, desk_on_marked_run

CLIP = SAMPLES / "P02" / "clip.mp4"


@pytest.fixture
def desk(tmp_path: Path, squad_folder: Path, truth: dict[str, Any]) -> Iterator[Desk]:
    """The marked run of P02, on a clip of its own in the folder `film`."""
    film = tmp_path / "film"
    film.mkdir()
    shutil.copy(CLIP, film / "clip.mp4")
    made = desk_on_marked_run(tmp_path, squad_folder, truth, film / "clip.mp4")
    yield made
    let_go(made)


def open_again(desk: Desk) -> None:
    name = desk.state.run_name
    desk.attempt(lambda: open_run(desk, "P02", "2026-05-14", name))


def test_a_marked_run_opens_with_its_clip(desk: Desk) -> None:
    assert isinstance(desk.state.gallery.pictures, Clip)
    assert len(desk.state.gallery.pictures) == 101
    assert desk.state.trouble == ""


def test_a_clip_that_was_moved_is_found_again_and_keeps_its_marks(
    desk: Desk, tmp_path: Path
) -> None:
    steps = desk.state.run.steps
    moved = (tmp_path / "film" / "clip.mp4").rename(tmp_path / "renamed clip.mp4")
    open_again(desk)
    assert "clip.mp4" in desk.state.trouble
    load_pictures(desk, Wish(moved))
    assert desk.state.run.steps == steps
    assert desk.state.run.source.path.endswith("renamed clip.mp4")
    assert isinstance(desk.state.gallery.pictures, Clip)


def test_other_pictures_over_a_marked_run_are_a_new_run(desk: Desk) -> None:
    old, name, squad = desk.state.run, desk.state.run_name, desk.state.squad
    load_pictures(desk, Wish(SAMPLES / "P02"))
    assert desk.state.run_name != name
    assert (desk.state.run.source.kind, desk.state.run.steps) == ("stills", (Step(),))
    assert squad.load_run("P02", "2026-05-14", name) == old
    assert squad.visit("P02", "2026-05-14").runs == (name, desk.state.run_name)
    assert "is a new run; run 1 keeps its own pictures and marks" in desk.state.said


def test_other_pictures_over_a_run_without_marks_take_its_place_and_are_told(
    desk: Desk,
) -> None:
    name = desk.state.run_name
    desk.state.record("none", replace(desk.state.run, steps=(Step(),)))
    load_pictures(desk, Wish(SAMPLES / "P02"))
    assert (desk.state.run_name, desk.state.run.source.kind) == (name, "stills")
    assert "takes the place of “clip.mp4”, on which nothing was marked" in desk.state.said
    desk.perform("undo")
    assert desk.state.run.source.kind == "stills", "no undo shows other pictures below a source"


def test_stills_are_kept_and_shown_when_the_clip_has_gone(desk: Desk, tmp_path: Path) -> None:
    keep(desk)
    folder = desk.state.squad.stills_folder("P02", "2026-05-14", desk.state.run_name)
    assert len(kept_stills(folder)) == 25
    shown = desk.state.gallery.pictures.full(desk.state.run.steps[0].key_frames[0].picture)
    (tmp_path / "film" / "clip.mp4").unlink()
    open_again(desk)
    kept = desk.state.gallery.pictures
    assert isinstance(kept, KeptStills) and len(kept) == 101
    again = kept.full(desk.state.run.steps[0].key_frames[0].picture)
    assert again.size == shown.size
    middle = (shown.width // 2, shown.height // 2)
    apart = [
        abs(a - b) for a, b in zip(again.getpixel(middle), shown.getpixel(middle), strict=True)
    ]
    assert max(apart) < 30, "the same picture, but for what JPEG does to it"
    assert desk.state.trouble, "and the missing clip is told"


@pytest.mark.parametrize("refusal", [CannotWrite("The disk is full."), GateClosed("Not agreed.")])
def test_stills_that_are_refused_are_given_up_and_told_once(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, refusal: TapmarkError
) -> None:
    asked: list[int] = []

    def refuse(*what: object) -> None:
        asked.append(1)
        raise refusal

    monkeypatch.setattr("tapmark.app.stills_deeds.keep_in", refuse)
    keep(desk)
    assert (len(asked), desk.state.trouble) == (1, str(refusal))
    desk.state.trouble = ""
    jobs = list(desk.jobs.channels)
    keep(desk)
    assert desk.jobs.channels == jobs, "nothing is decoded again"
    assert desk.state.trouble == ""


def test_a_still_that_cannot_be_decoded_is_left_out_and_the_others_are_kept(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    bad = desk.state.run.steps[0].key_frames[0].picture
    full, asked = Clip.full, list[int]()

    def torn(self: Clip, i: int, is_cancelled: Any = None) -> Any:
        asked.append(i)
        if i == bad:
            raise ClipUnreadable("torn")
        return full(self, i, is_cancelled)

    monkeypatch.setattr(Clip, "full", torn)
    keep(desk)
    keep(desk)
    assert asked.count(bad) == 1
    assert len(desk.state.kept) == 24


def test_a_key_frame_that_moved_has_its_stills_kept_anew(desk: Desk) -> None:
    keep(desk)
    before = dict(desk.state.kept)
    desk.go("frames")
    desk.state.picture = desk.state.step.key_frame("touchdown").picture + 1
    desk.perform("key frame 1")
    keep(desk)
    changed = {still for still, picture in desk.state.kept.items() if before[still] != picture}
    assert changed == {(0, "touchdown", offset) for offset in range(-2, 3)}


def test_without_consent_to_film_no_clip_comes_in(tmp_path: Path, squad_folder: Path) -> None:
    desk = bare_desk(tmp_path)
    use_squad(desk, squad_folder)
    desk.state.squad.save_athlete(Athlete("T17"))
    choose_athlete(desk, "T17")
    desk.perform("new visit")
    assert "T17" in desk.state.trouble and "consent" in desk.state.trouble
    assert desk.state.squad.visit_dates("T17") == ()


def test_stills_get_their_times_from_a_rate_that_is_typed_in(
    tmp_path: Path, squad_folder: Path
) -> None:
    desk = bare_desk(tmp_path)
    use_squad(desk, squad_folder)
    choose_athlete(desk, "P02")
    desk.perform("new visit")
    stills = tmp_path / "stills"
    stills.mkdir()
    for i, path in enumerate(sorted((SAMPLES / "P02").glob("*.jpg"))):
        shutil.copy(path, stills / f"frame_{10 + 20 * i:04}.jpg")
    load_pictures(desk, Wish(stills))
    desk.go("frames")
    for i in range(5):
        desk.state.picture = i
        desk.perform(f"key frame {i + 1}")
    assert desk.state.step.key_frame("touchdown").time_s is None
    desk.attempt(lambda: answer_rate(desk, "240"))
    frames = desk.state.step.key_frames
    apart = [b.time_s - a.time_s for a, b in pairwise(frames)]
    assert apart == pytest.approx([20 / 240] * 4, abs=1e-6)
    assert (rate_words(desk), desk.state.run.set_up.slow_factor) == ("240", 1.0)
    again = desk.state.run_name
    let_go(desk)
    desk.attempt(lambda: open_run(desk, "P02", "2026-05-14", again))
    assert desk.state.gallery.pictures.time_s(1) is not None, "the rate is remembered"


def test_a_folder_without_pictures_says_so_and_leaves_the_run_alone(
    desk: Desk, tmp_path: Path
) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    run = desk.state.run
    load_pictures(desk, Wish(empty))
    assert "empty" in desk.state.trouble
    assert desk.state.run == run


def test_a_run_that_another_window_holds_is_shown_but_not_written(
    desk: Desk, tmp_path: Path, squad_folder: Path
) -> None:
    second = bare_desk(tmp_path / "second")
    use_squad(second, squad_folder)
    choose_athlete(second, "P02")
    name = desk.state.run_name
    second.attempt(lambda: open_run(second, "P02", "2026-05-14", name))
    assert second.is_read_only and second.state.trouble
    before = second.state.squad.run_path("P02", "2026-05-14", name).read_bytes()
    second.go("taps")
    second.perform("last point")
    second.perform("remove tap")
    assert second.state.run == desk.state.run, "what cannot be kept is not marked"
    told = "Nothing was changed. Run 1 is open in another window"
    assert second.state.trouble.startswith(told)
    second.perform("undo")
    assert second.state.run == desk.state.run
    assert before == second.state.squad.run_path("P02", "2026-05-14", name).read_bytes()
    let_go(second)


def test_a_run_that_was_forgotten_can_be_taken_over(
    desk: Desk, tmp_path: Path, squad_folder: Path
) -> None:
    second = bare_desk(tmp_path / "second")
    use_squad(second, squad_folder)
    choose_athlete(second, "P02")
    name = desk.state.run_name
    second.attempt(lambda: open_run(second, "P02", "2026-05-14", name))
    desk.go("taps")
    desk.state.go_to("touchdown")
    desk.perform("remove tap")
    desk.flush()
    written = desk.state.run
    desk.held.close()
    second.perform("take over")
    assert not second.is_read_only
    assert written == second.state.run, "what the other window wrote last is taken over too"
    let_go(second)

"""Bringing pictures in: what is kept, what is dropped, what is said when they are gone."""

import shutil
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.review.actions import keep
from tapmark.app.shell.context import Context
from tapmark.app.shell.rates import answer_rate, rate_words
from tapmark.app.shell.run_lock import let_go
from tapmark.app.shell.runs import load_pictures, open_run
from tapmark.app.shell.squads import choose_athlete, use_squad
from tapmark.app.state.frames_shown import KeptStills
from tapmark.app.state.frames_wanted import Wish
from tapmark.clip.frames import Clip
from tapmark.errors import CannotWrite, ClipUnreadable, NoConsent, TapmarkError
from tapmark.marks.people import Athlete
from tapmark.marks.run import Step
from tapmark.store.pictures import kept_stills
from tests.app.driving import SAMPLES
from tests.app.made import bare_context, context_on_marked_run

CLIP = SAMPLES / "P02" / "clip.mp4"


@pytest.fixture
def context(tmp_path: Path, squad_folder: Path, truth: dict[str, Any]) -> Iterator[Context]:
    """The marked run of P02, on a clip of its own in the folder `film`."""
    film = tmp_path / "film"
    film.mkdir()
    shutil.copy(CLIP, film / "clip.mp4")
    made = context_on_marked_run(tmp_path, squad_folder, truth, film / "clip.mp4")
    yield made
    let_go(made)


def open_again(context: Context) -> None:
    name = context.state.run_name
    context.attempt(lambda: open_run(context, "P02", "2026-05-14", name))


def test_a_marked_run_opens_with_its_clip(context: Context, truth: dict[str, Any]) -> None:
    assert isinstance(context.state.marking.gallery.pictures, Clip)
    assert len(context.state.marking.gallery.pictures) == truth["clip"]["pictures"]
    assert context.state.error == ""


def test_a_clip_that_was_moved_is_found_again_and_keeps_its_marks(
    context: Context, tmp_path: Path
) -> None:
    steps = context.state.run.steps
    moved = (tmp_path / "film" / "clip.mp4").rename(tmp_path / "renamed clip.mp4")
    open_again(context)
    assert "clip.mp4" in context.state.error
    load_pictures(context, Wish(moved))
    assert context.state.run.steps == steps
    assert context.state.run.source.path.endswith("renamed clip.mp4")
    assert isinstance(context.state.marking.gallery.pictures, Clip)


def test_other_pictures_over_a_marked_run_are_a_new_run(context: Context) -> None:
    old, name, squad = context.state.run, context.state.run_name, context.state.squad
    load_pictures(context, Wish(SAMPLES / "P02"))
    assert context.state.run_name != name
    assert (context.state.run.source.kind, context.state.run.steps) == ("stills", (Step(),))
    assert squad.load_run("P02", "2026-05-14", name) == old
    assert squad.visit("P02", "2026-05-14").runs == (name, context.state.run_name)
    assert "is a new run; run 1 keeps its own frames and marks" in context.state.status


def test_other_pictures_over_a_run_without_marks_take_its_place_and_are_told(
    context: Context,
) -> None:
    name = context.state.run_name
    context.state.record("none", replace(context.state.run, steps=(Step(),)))
    load_pictures(context, Wish(SAMPLES / "P02"))
    assert (context.state.run_name, context.state.run.source.kind) == (name, "stills")
    assert "takes the place of “clip.mp4”, on which nothing was marked" in context.state.status
    context.perform("undo")
    assert context.state.run.source.kind == "stills", "no undo shows other pictures below a source"


def test_stills_are_kept_and_shown_when_the_clip_has_gone(
    context: Context, tmp_path: Path, truth: dict[str, Any]
) -> None:
    keep(context)
    folder = context.state.squad.stills_folder("P02", "2026-05-14", context.state.run_name)
    assert len(kept_stills(folder)) == 25
    shown = context.state.marking.gallery.pictures.full(
        context.state.run.steps[0].key_frames[0].picture
    )
    (tmp_path / "film" / "clip.mp4").unlink()
    open_again(context)
    kept = context.state.marking.gallery.pictures
    assert isinstance(kept, KeptStills) and len(kept) == truth["clip"]["pictures"]
    again = kept.full(context.state.run.steps[0].key_frames[0].picture)
    assert again.size == shown.size
    middle = (shown.width // 2, shown.height // 2)
    apart = [
        abs(a - b) for a, b in zip(again.getpixel(middle), shown.getpixel(middle), strict=True)
    ]
    assert max(apart) < 30, "the same picture, but for what JPEG does to it"
    assert context.state.error, "and the missing clip is told"


@pytest.mark.parametrize("refusal", [CannotWrite("The disk is full."), NoConsent("Not agreed.")])
def test_stills_that_are_refused_are_given_up_and_told_once(
    context: Context, monkeypatch: pytest.MonkeyPatch, refusal: TapmarkError
) -> None:
    asked: list[int] = []

    def refuse(*what: object) -> None:
        asked.append(1)
        raise refusal

    monkeypatch.setattr("tapmark.app.review.actions.keep_in", refuse)
    keep(context)
    assert (len(asked), context.state.error) == (1, str(refusal))
    context.state.error = ""
    jobs = list(context.jobs.channels)
    keep(context)
    assert context.jobs.channels == jobs, "nothing is decoded again"
    assert context.state.error == ""


def test_a_still_that_cannot_be_decoded_is_left_out_and_the_others_are_kept(
    context: Context, monkeypatch: pytest.MonkeyPatch
) -> None:
    bad = context.state.run.steps[0].key_frames[0].picture
    full, asked = Clip.full, list[int]()

    def torn(self: Clip, i: int, progress: Any = None) -> Any:
        asked.append(i)
        if i == bad:
            raise ClipUnreadable("torn")
        return full(self, i, progress)

    monkeypatch.setattr(Clip, "full", torn)
    keep(context)
    keep(context)
    assert asked.count(bad) == 1
    assert len(context.state.marking.kept) == 24


def test_a_key_frame_that_moved_has_its_stills_kept_anew(context: Context) -> None:
    keep(context)
    before = dict(context.state.marking.kept)
    context.go("frames")
    context.state.marking.picture = context.state.step.key_frame("touchdown").picture + 1
    context.perform("key frame 1")
    context.perform("key frame 1")  # its taps would go: it asks first
    keep(context)
    changed = {
        still for still, picture in context.state.marking.kept.items() if before[still] != picture
    }
    assert changed == {(0, "touchdown", offset) for offset in range(-2, 3)}


def test_without_consent_to_film_no_clip_comes_in(tmp_path: Path, squad_folder: Path) -> None:
    context = bare_context(tmp_path)
    use_squad(context, squad_folder)
    context.state.squad.save_athlete(Athlete("T17"))
    choose_athlete(context, "T17")
    context.perform("new visit")
    assert "T17" in context.state.error and "consent" in context.state.error
    assert context.state.squad.visit_dates("T17") == ()


def test_stills_get_their_times_from_a_rate_that_is_typed_in(
    tmp_path: Path, squad_folder: Path
) -> None:
    context = bare_context(tmp_path)
    use_squad(context, squad_folder)
    choose_athlete(context, "P02")
    context.perform("new visit")
    stills = tmp_path / "stills"
    stills.mkdir()
    for i, path in enumerate(sorted((SAMPLES / "P02").glob("*.jpg"))):
        shutil.copy(path, stills / f"frame_{10 + 20 * i:04}.jpg")
    load_pictures(context, Wish(stills))
    context.go("frames")
    for i in range(5):
        context.state.marking.picture = i
        context.perform(f"key frame {i + 1}")
    assert context.state.step.key_frame("touchdown").time_s is None
    context.attempt(lambda: answer_rate(context, "240"))
    frames = context.state.step.key_frames
    apart = [b.time_s - a.time_s for a, b in pairwise(frames)]
    assert apart == pytest.approx([20 / 240] * 4, abs=1e-6)
    assert (rate_words(context.state), context.state.run.set_up.slow_factor) == ("240", 1.0)
    again = context.state.run_name
    let_go(context)
    context.attempt(lambda: open_run(context, "P02", "2026-05-14", again))
    assert context.state.marking.gallery.pictures.time_s(1) is not None, "the rate is remembered"


def test_a_folder_without_pictures_says_so_and_leaves_the_run_alone(
    context: Context, tmp_path: Path
) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    run = context.state.run
    load_pictures(context, Wish(empty))
    assert "empty" in context.state.error
    assert context.state.run == run


def test_a_run_that_another_window_holds_is_shown_but_not_written(
    context: Context, tmp_path: Path, squad_folder: Path
) -> None:
    second = bare_context(tmp_path / "second")
    use_squad(second, squad_folder)
    choose_athlete(second, "P02")
    name = context.state.run_name
    second.attempt(lambda: open_run(second, "P02", "2026-05-14", name))
    assert second.saver.is_read_only and second.state.error
    before = second.state.squad.run_path("P02", "2026-05-14", name).read_bytes()
    second.go("taps")
    second.perform("last point")
    second.perform("remove tap")
    assert second.state.run == context.state.run, "what cannot be kept is not marked"
    told = "Nothing was changed. Run 1 is open in another window"
    assert second.state.error.startswith(told)
    second.perform("undo")
    assert second.state.run == context.state.run
    assert before == second.state.squad.run_path("P02", "2026-05-14", name).read_bytes()
    let_go(second)


def test_a_run_that_was_forgotten_can_be_taken_over(
    context: Context, tmp_path: Path, squad_folder: Path
) -> None:
    second = bare_context(tmp_path / "second")
    use_squad(second, squad_folder)
    choose_athlete(second, "P02")
    name = context.state.run_name
    second.attempt(lambda: open_run(second, "P02", "2026-05-14", name))
    context.go("taps")
    context.state.go_to("touchdown")
    context.perform("remove tap")
    context.saver.flush()
    written = context.state.run
    context.saver.held.close()
    second.perform("take over")
    assert not second.saver.is_read_only
    assert written == second.state.run, "what the other window wrote last is taken over too"
    let_go(second)

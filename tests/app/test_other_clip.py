"""Other pictures under the old name: never shown below the old marks, and no number is changed."""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tapmark.app.shell.context import Context
from tapmark.app.shell.run_lock import let_go
from tapmark.app.shell.runs import open_run, wish_of
from tapmark.app.shell.squads import choose_athlete, use_squad
from tapmark.clip.frames import Clip
from tapmark.errors import OtherPictures
from tapmark.marks.run import Source
from tapmark.store.squad import open_squad
from tests.app.driving import SAMPLES
from tests.app.made import NEVER_CANCELLED, bare_context, put_marked_run

WHERE = ("P02", "2026-05-14", "run-1")


@pytest.fixture
def clip(tmp_path: Path) -> Path:
    """A copy of the sample clip where a test may do with it what it likes."""
    copy = tmp_path / "film" / "clip.mp4"
    copy.parent.mkdir()
    shutil.copyfile(SAMPLES / "P02" / "clip.mp4", copy)
    return copy


@pytest.fixture
def opened(
    tmp_path: Path, squad_folder: Path, truth: dict[str, Any], clip: Path
) -> Iterator[Callable[[], Context]]:
    """Return a function that opens the marked run in a window of its own."""
    put_marked_run(squad_folder, truth, clip)
    contexts: list[Context] = []

    def made() -> Context:
        context = bare_context(tmp_path)
        contexts.append(context)
        use_squad(context, squad_folder)
        choose_athlete(context, "P02")
        context.attempt(lambda: open_run(context, *WHERE))
        return context

    yield made
    for context in contexts:
        let_go(context)


def longer(clip: Path) -> None:
    with clip.open("ab") as file:
        file.write(b"another film")


def of_the_same_size(clip: Path) -> None:
    data = bytearray(clip.read_bytes())
    data[5000] ^= 1
    clip.write_bytes(data)


@pytest.mark.parametrize("change", [longer, of_the_same_size])
def test_another_clip_under_the_old_name_is_refused_told_and_the_right_one_offered(
    change: Callable[[Path], None],
    opened: Callable[[], Context],
    clip: Path,
    squad_folder: Path,
    tmp_path: Path,
) -> None:
    let_go(opened())
    file = open_squad(squad_folder).run_path(*WHERE)
    before = file.read_bytes()
    right = tmp_path / "moved" / "film of Thursday.mp4"
    right.parent.mkdir()
    shutil.copyfile(clip, right)
    change(clip)

    context = opened()

    assert (
        context.state.marking.gallery is None
        and "is not what this run was marked on" in context.state.error
    )
    proposal = context.state.around.proposal.proposal
    assert context.state.page == "proposal" and proposal is not None
    assert [words for words, _ in proposal.more] == ["Find moved clips again…", "Choose the clip…"]
    assert file.read_bytes() == before

    context.ask.ready.append(right.parent)
    context.attempt(lambda: proposal.more[0][1](context))
    again = opened()

    assert isinstance(again.state.marking.gallery.pictures, Clip)
    assert again.state.run.steps == open_squad(squad_folder).load_run(*WHERE).steps
    assert again.state.run.source.path.endswith("film of Thursday.mp4")


def change_source(folder: Path, **changes: object) -> bytes:
    squad = open_squad(folder)
    run = squad.load_run(*WHERE)
    squad.save_run(*WHERE, replace(run, source=replace(run.source, **changes)))
    return squad.run_path(*WHERE).read_bytes()


@pytest.mark.parametrize(
    "changes",
    [
        {"duration_s": 9.0, "n_pictures": 2000},
        {"size_px": (1920, 1080)},
        {"fingerprint": "", "size_bytes": 0, "duration_s": 0.1, "n_pictures": 20},
    ],
    ids=["shorter than it was", "larger", "nothing known but a shorter time"],
)
def test_a_clip_of_another_length_or_size_is_refused_and_the_stored_numbers_stay(
    changes: dict[str, object], opened: Callable[[], Context], squad_folder: Path
) -> None:
    let_go(opened())
    before = change_source(squad_folder, **changes)

    context = opened()

    assert "is not what this run was marked on" in context.state.error
    assert context.state.marking.gallery is None
    assert open_squad(squad_folder).run_path(*WHERE).read_bytes() == before


def test_the_clip_that_was_marked_is_shown_again_and_nothing_is_written(
    opened: Callable[[], Context], squad_folder: Path
) -> None:
    let_go(opened())
    before = open_squad(squad_folder).run_path(*WHERE).read_bytes()

    context = opened()

    assert isinstance(context.state.marking.gallery.pictures, Clip) and not context.state.error
    assert open_squad(squad_folder).run_path(*WHERE).read_bytes() == before


def test_a_clip_whose_first_reading_was_cut_short_is_the_same_clip(
    opened: Callable[[], Context], squad_folder: Path
) -> None:
    let_go(opened())
    whole = open_squad(squad_folder).load_run(*WHERE).source
    change_source(squad_folder, n_pictures=1, duration_s=0.0)

    context = opened()

    assert isinstance(context.state.marking.gallery.pictures, Clip) and not context.state.error
    assert open_squad(squad_folder).load_run(*WHERE).source == whole


def test_the_page_with_two_runs_shows_no_other_clip_either(
    opened: Callable[[], Context], clip: Path, squad_folder: Path, tmp_path: Path
) -> None:
    squad = open_squad(squad_folder)
    longer(clip)
    wish = wish_of(squad.load_run(*WHERE), squad.run_path(*WHERE))

    with pytest.raises(OtherPictures, match="bytes, not"):
        wish.opened(tmp_path / "cache", NEVER_CANCELLED)


@pytest.mark.parametrize(
    ("source", "why"),
    [
        (Source("stills", "", (64, 48), 2), "there are 3 stills, not 2"),
        (Source("stills", "", (48, 64), 3), "64 × 48, not 48 × 64"),
        (Source("stills", "", (64, 48), 3), ""),
        (Source("stills"), ""),
    ],
)
def test_stills_of_another_number_or_size_are_refused(
    source: Source, why: str, tmp_path: Path
) -> None:
    folder = tmp_path / "stills"
    folder.mkdir()
    for i in range(3):
        Image.new("RGB", (64, 48), (80 * i, 90, 90)).save(folder / f"{i}.png")
    wish = replace(wish_of_stills(folder), marked=source)

    if why:
        with pytest.raises(OtherPictures, match=why):
            wish.opened(tmp_path / "cache", NEVER_CANCELLED)
    else:
        assert len(wish.opened(tmp_path / "cache", NEVER_CANCELLED)) == 3


def wish_of_stills(folder: Path) -> Any:
    from tapmark.app.state.frames_wanted import Wish

    return Wish(folder, is_new=False)

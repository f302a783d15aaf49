"""Pictures for a phone leave from Review and Sheet, and only where every consent is there."""

from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tapmark.app.shell.context import Context
from tapmark.app.shell.squads import open_visit, use_squad
from tapmark.store.consent import give, withdraw
from tapmark.store.pictures import keep_stills
from tapmark.store.squad import Squad, open_squad
from tests.app.driving import SAMPLES
from tests.app.made import bare_context, put_marked_run


@pytest.fixture
def context(tmp_path: Path, squad_folder: Path, truth: dict[str, Any]) -> Context:
    put_marked_run(squad_folder, truth)
    context = bare_context(tmp_path)
    use_squad(context, squad_folder)
    context.state.session.athlete = context.state.squad.athlete("P02")
    open_visit(context, "2026-05-14")
    context.go("review")
    return context


def keep_touchdown(squad: Squad, name: str) -> None:
    """Keep a still of touchdown, as marking a clip does."""
    stills = {(0, "touchdown", 0): (SAMPLES / "P02" / "1-touchdown.jpg").read_bytes()}
    keep_stills(squad, "P02", "2026-05-14", name, stills, "2026-05-14")


def test_the_step_leaves_as_a_drawn_picture_and_is_opened(context: Context) -> None:
    opened: list[Path] = []
    context.open_file = opened.append

    context.perform("step picture")

    (path,) = opened
    assert path.parent == context.state.squad.visit_folder("P02", "2026-05-14")
    with Image.open(path) as picture:
        assert picture.info == {} and not picture.getexif()
    assert context.state.status == f"Picture: {path}"


def test_without_consent_to_film_no_picture_of_the_step_leaves(context: Context) -> None:
    squad = context.state.squad
    squad.save_athlete(withdraw(squad.athlete("P02"), "film", "K", "2026-05-10"))

    context.perform("step picture")

    assert "P02" in context.state.error and "film" in context.state.error
    assert list(squad.folder.rglob("*.png")) == []


def test_a_still_leaves_with_its_face_covered_only_where_a_photo_may(context: Context) -> None:
    opened: list[Path] = []
    context.open_file = opened.append
    context.perform("still picture")
    assert "photo" in context.state.error and opened == []

    squad = context.state.squad
    keep_touchdown(squad, context.state.run_name)
    agreed = give(squad.athlete("P02"), "print photo", "K", "2026-05-01", "2026-12-31")
    squad.save_athlete(agreed)
    context.state.error = ""
    context.perform("still picture")

    assert context.state.error == ""
    assert [path.name for path in opened] == ["photo-P02-still-touchdown-2026-05-14.png"]
    with Image.open(opened[0]) as picture:
        assert picture.info == {} and not picture.getexif()


def test_stills_of_two_dates_leave_side_by_side_only_where_a_photo_may(
    context: Context, truth: dict[str, Any]
) -> None:
    opened: list[Path] = []
    context.open_file = opened.append
    squad = context.state.squad
    keep_touchdown(squad, context.state.run_name)
    earlier = squad.load_run("P02", "2026-05-14", context.state.run_name)
    name = squad.new_run("P02", "2026-04-02", earlier)
    stills = {(0, "touchdown", 0): (SAMPLES / "P02" / "1-touchdown.jpg").read_bytes()}
    keep_stills(squad, "P02", "2026-04-02", name, stills, "2026-05-14")
    context.perform("compare")
    context.perform("picture on")
    assert (
        context.actions["compare stills"].why_disabled(context)
        == "Go to a key frame first, with 1 to 5."
    )
    context.perform("key frame 1")
    context.perform("compare stills")
    assert "photo" in context.state.error and opened == []

    squad.save_athlete(give(squad.athlete("P02"), "print photo", "K", "2026-05-01", "2026-12-31"))
    context.state.error = ""
    context.perform("compare stills")

    assert (context.state.error, [path.name for path in opened]) == (
        "",
        ["photo-P02-stills-touchdown-2026-05-14.png"],
    )
    with Image.open(opened[0]) as picture:
        assert picture.info == {} and not picture.getexif()


def test_a_squad_on_disk_is_the_one_asked(context: Context, squad_folder: Path) -> None:
    """The consent is read from the file, not from what the window remembers."""
    other = open_squad(squad_folder)
    other.save_athlete(withdraw(other.athlete("P02"), "film", "K", "2026-05-10"))

    context.perform("step picture")

    assert list(squad_folder.rglob("*.png")) == []

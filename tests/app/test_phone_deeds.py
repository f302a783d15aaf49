"""Pictures for a phone leave from Review and Sheet, and only where every consent is there."""

from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tapmark.app.desk import Desk
from tapmark.app.squad_deeds import open_visit, use_squad
from tapmark.store.gates import give, withdraw
from tapmark.store.pictures import keep_stills
from tapmark.store.squad import Squad, open_squad
from tests.app.driving import SAMPLES
from tests.app.made import bare_desk, put_marked_run


@pytest.fixture
def desk(tmp_path: Path, squad_folder: Path, truth: dict[str, Any]) -> Desk:
    put_marked_run(squad_folder, truth)
    desk = bare_desk(tmp_path)
    use_squad(desk, squad_folder)
    desk.state.athlete = desk.state.squad.athlete("P02")
    open_visit(desk, "2026-05-14")
    desk.go("review")
    return desk


def keep_touchdown(squad: Squad, name: str) -> None:
    """Keep a still of touchdown, as marking a clip does."""
    stills = {(0, "touchdown", 0): (SAMPLES / "P02" / "1-touchdown.jpg").read_bytes()}
    keep_stills(squad, "P02", "2026-05-14", name, stills, "2026-05-14")


def test_the_step_leaves_as_a_drawn_picture_and_is_opened(desk: Desk) -> None:
    opened: list[Path] = []
    desk.open_file = opened.append

    desk.perform("step picture")

    (path,) = opened
    assert path.parent == desk.state.squad.visit_folder("P02", "2026-05-14")
    with Image.open(path) as picture:
        assert picture.info == {} and not picture.getexif()
    assert desk.state.said == f"Picture: {path}"


def test_without_consent_to_film_no_picture_of_the_step_leaves(desk: Desk) -> None:
    squad = desk.state.squad
    squad.save_athlete(withdraw(squad.athlete("P02"), "film", "K", "2026-05-10"))

    desk.perform("step picture")

    assert "P02" in desk.state.trouble and "film" in desk.state.trouble
    assert list(squad.folder.rglob("*.png")) == []


def test_a_still_leaves_with_its_face_covered_only_where_a_photo_may(desk: Desk) -> None:
    opened: list[Path] = []
    desk.open_file = opened.append
    desk.perform("still picture")
    assert "photo" in desk.state.trouble and opened == []

    squad = desk.state.squad
    keep_touchdown(squad, desk.state.run_name)
    agreed = give(squad.athlete("P02"), "print photo", "K", "2026-05-01", "2026-12-31")
    squad.save_athlete(agreed)
    desk.state.trouble = ""
    desk.perform("still picture")

    assert desk.state.trouble == ""
    assert [path.name for path in opened] == ["photo-P02-still-touchdown-2026-05-14.png"]
    with Image.open(opened[0]) as picture:
        assert picture.info == {} and not picture.getexif()


def test_stills_of_two_dates_leave_side_by_side_only_where_a_photo_may(
    desk: Desk, truth: dict[str, Any]
) -> None:
    opened: list[Path] = []
    desk.open_file = opened.append
    squad = desk.state.squad
    keep_touchdown(squad, desk.state.run_name)
    earlier = squad.load_run("P02", "2026-05-14", desk.state.run_name)
    name = squad.new_run("P02", "2026-04-02", earlier)
    stills = {(0, "touchdown", 0): (SAMPLES / "P02" / "1-touchdown.jpg").read_bytes()}
    keep_stills(squad, "P02", "2026-04-02", name, stills, "2026-05-14")
    desk.perform("beside")
    desk.perform("beside on")
    assert desk.actions["stills beside"].hindrance(desk) == "Go to a key frame first, with 1 to 5."
    desk.perform("beside frame 1")
    desk.perform("stills beside")
    assert "photo" in desk.state.trouble and opened == []

    squad.save_athlete(give(squad.athlete("P02"), "print photo", "K", "2026-05-01", "2026-12-31"))
    desk.state.trouble = ""
    desk.perform("stills beside")

    assert (desk.state.trouble, [path.name for path in opened]) == (
        "",
        ["photo-P02-stills-touchdown-2026-05-14.png"],
    )
    with Image.open(opened[0]) as picture:
        assert picture.info == {} and not picture.getexif()


def test_a_squad_on_disk_is_the_one_asked(desk: Desk, squad_folder: Path) -> None:
    """The consent is read from the file, not from what the window remembers."""
    other = open_squad(squad_folder)
    other.save_athlete(withdraw(other.athlete("P02"), "film", "K", "2026-05-10"))

    desk.perform("step picture")

    assert list(squad_folder.rglob("*.png")) == []

"""A long clip: a part is asked for, and the run comes back to the same pictures."""

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from tests.app.driving import SAMPLES, Driver, OpenWindow

CLIP = SAMPLES / "P02" / "clip.mp4"


@pytest.fixture
def app(open_app: OpenWindow, squad_folder: Path, monkeypatch: pytest.MonkeyPatch) -> Driver:
    """Film of a new visit, on a program that takes 101 pictures for a long clip."""
    monkeypatch.setattr("tapmark.clip.header.LONG_CLIP", 50)
    monkeypatch.setattr("tapmark.app.state.frames_wanted.USUAL_PICTURES", 24)
    driver = open_app(squad_folder)
    driver.pump(lambda: driver.state.athlete, "the athlete")
    driver.press("Control-Key-n")
    driver.pump(lambda: driver.state.page == "film", "Film")
    return driver


def ask_for(app: Driver, path: Path) -> None:
    app.asked.ready.append(path)
    app.press("Control-Key-o")
    app.pump(lambda: app.state.film.long_clip or app.state.marking.gallery, "the question")


def test_a_part_is_asked_for_and_only_that_is_read(app: Driver) -> None:
    ask_for(app, CLIP)
    panel = app.view.part
    app.pump(lambda: "has about 100 frames" in panel.words.cget("text"), "the words")
    app.click(panel.grid.winfo_children()[0])
    panel.fields["start"].delete(0, "end")
    app.write(panel.fields["start"], "0.1")
    panel.fields["end"].delete(0, "end")
    app.write(panel.fields["end"], "0.3")
    app.click(panel.part)
    app.pump(
        lambda: app.state.marking.gallery and app.state.marking.gallery.pictures.is_done, "the part"
    )
    assert 40 <= len(app.state.marking.gallery.pictures) <= 56
    assert app.state.run.source.part_s == (0.1, 0.3)


def test_the_same_part_comes_back_after_a_close(
    app: Driver, open_app: OpenWindow, tmp_path: Path
) -> None:
    clip = Path(shutil.copy(CLIP, tmp_path / "long.mp4"))
    ask_for(app, clip)
    app.click(app.view.part.part)
    app.pump(
        lambda: app.state.marking.gallery and app.state.marking.gallery.pictures.is_done, "the part"
    )
    app.go("frames")
    app.press("Key-Right", "Key-Right", "Key-1")
    time_s = app.state.marking.gallery.pictures.time_s(2)
    app.close()
    again = open_app(None)
    again.pump(
        lambda: again.state.marking.gallery and again.state.marking.gallery.pictures.is_done,
        "the part",
    )
    pictures = again.state.marking.gallery.pictures
    assert pictures.time_s(again.state.step.key_frames[0].picture) == time_s


def test_all_of_it_can_be_read_all_the_same(app: Driver) -> None:
    ask_for(app, CLIP)
    app.click(app.view.part.whole)
    app.wait_for_clip()
    marked = json.loads((SAMPLES / "P02" / "run-1.json").read_text("utf-8"))
    assert len(app.state.marking.gallery.pictures) == marked["source"]["n_pictures"]
    assert app.state.run.source.part_s is None


def test_a_part_that_ends_before_it_begins_is_told_beside_the_field(app: Driver) -> None:
    ask_for(app, CLIP)
    panel = app.view.part
    panel.fields["end"].delete(0, "end")
    app.write(panel.fields["end"], "0")
    app.click(panel.part)
    assert "must end after it begins" in panel.trouble.cget("text")
    assert "invalid" in panel.fields["end"].state()
    app.press("Escape")
    assert app.state.film.long_clip is None and app.state.marking.gallery is None


def test_a_clip_found_again_keeps_its_part(app: Driver, tmp_path: Path) -> None:
    clip = Path(shutil.copy(CLIP, tmp_path / "long.mp4"))
    ask_for(app, clip)
    app.click(app.view.part.part)
    app.pump(
        lambda: app.state.marking.gallery and app.state.marking.gallery.pictures.is_done, "the part"
    )
    source: Any = app.state.run.source
    app.go("film")
    moved = clip.rename(tmp_path / "moved.mp4")
    app.state.marking.gallery = None
    ask_for(app, moved)
    app.pump(
        lambda: app.state.marking.gallery and app.state.marking.gallery.pictures.is_done, "the part"
    )
    assert app.state.run.source.part_s == source.part_s
    assert app.state.run.source.path.endswith("moved.mp4")

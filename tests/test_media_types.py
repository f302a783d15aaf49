"""One list of media types, and nobody who keeps another."""

import ast
from pathlib import Path

import pytest

from tapmark.media_types import CLIPS, PAGES, STILLS, ending, is_media, kind_of, patterns
from tests.index import parsed

PACKAGE = Path(__file__).parent.parent / "tapmark"

# Endings that phones, cameras and computers write; common practice, no single source
PHONES_WRITE = ("mov", "mp4", "m4v", "3gp", "mkv", "webm", "avi", "mts", "m2ts", "mpg", "wmv")
PHONES_SHOOT = ("jpg", "jpeg", "png", "heic", "heif", "webp", "tif", "tiff", "bmp", "gif", "avif")


@pytest.mark.parametrize("name", [f"IMG_0412.{each}" for each in PHONES_WRITE])
def test_a_clip_is_known_by_its_ending_in_any_letters(name: str) -> None:
    assert kind_of(name) == kind_of(name.upper()) == "clip" and is_media(name)


@pytest.mark.parametrize("name", [f"step.1.{each}" for each in PHONES_SHOOT])
def test_a_still_is_known_by_its_ending_in_any_letters(name: str) -> None:
    assert kind_of(name) == kind_of(name.upper()) == "still" and is_media(name)


@pytest.mark.parametrize(
    "name",
    [
        *("squad.json", "athlete.json", "visit.json", "run-1.json", "shots-2026-05-14.json"),
        *("run-12.damaged-2026-05-14-203015.json", "visit.elsewhere-2026-05-14-203015-2.json"),
        *("checks.toml", "since.txt"),
    ],
)
def test_our_own_files_are_data(name: str) -> None:
    assert kind_of(name) == "data"


@pytest.mark.parametrize(
    "name",
    [
        *("notes", "letter.docx", "old.zip", ".mp4", "clip.mp4.bak", "more.json", "run-0.json"),
        *("run-1.json.mp5", "run-1 (1).json", "checks.toml~", "a.mp4 ", "", "JSON", "x.js"),
    ],
)
def test_what_is_on_no_list_is_unknown(name: str) -> None:
    assert kind_of(name) == "unknown" and not is_media(name)


def test_no_ending_stands_on_two_lists() -> None:
    everything = (*CLIPS, *STILLS, *PAGES)

    assert len(set(everything)) == len(everything)
    assert all(each == each.lower() == ending(f"x{each}") for each in everything)


def test_a_dialog_gets_both_kinds_of_letters() -> None:
    assert patterns((".mp4", ".mov")) == "*.mp4 *.MP4 *.mov *.MOV"


def lists_of_endings(tree: ast.AST) -> list[int]:
    """Return the lines on which a list, tuple or set holds two or more media endings."""
    media = {*CLIPS, *STILLS}
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.List | ast.Tuple | ast.Set):
            words = [e.value for e in ast.walk(node) if isinstance(e, ast.Constant)]
            if len({str(word).lower() for word in words} & media) > 1:
                found.append(node.lineno)
    return found


def test_nobody_keeps_a_list_of_their_own() -> None:
    own = {
        f"{path.relative_to(PACKAGE)}:{line}"
        for path in PACKAGE.rglob("*.py")
        if path.name != "media_types.py"
        for line in lists_of_endings(parsed(path))
    }

    assert own == set()
    assert lists_of_endings(ast.parse("A = {'.jpg', '.MOV'}")) == [1]

"""The generator of awkward clips beside the checkout, met on every item of its manifest."""

import importlib.util
import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tapmark.clip.frames import Clip, Pictures, open_clip, open_stills, read_header
from tapmark.errors import ClipUnreadable, StillsUnusable

pytestmark = pytest.mark.long
Entry = dict[str, Any]

SAID_FOR = {
    "empty file": "empty file",
    "no index (moov atom not found)": "no index",
    "no video stream": "no pictures",
    "not a video": "not a clip|web page",
}

OUR_RATE = {"16_odd_240fps_ms_clock.webm", "26_one_key_240fps.mp4"}
"""No tag in these, but their clock runs at 240 a second, which no phone plays: taken as true."""


@pytest.fixture(scope="module")
def hazards(shared: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[Entry]]:
    script = shared / "hazards" / "make_hazards.py"
    if not script.is_file():
        pytest.skip(f"{script.name} is not in the folder beside this checkout")
    folder = tmp_path_factory.mktemp("hazards")
    subprocess.run([sys.executable, str(script), str(folder)], check=True, capture_output=True)
    manifest = json.loads((folder / "manifest.json").read_text("utf-8"))
    return folder, manifest["files"]


@pytest.fixture(scope="module")
def marks(shared: Path) -> ModuleType:
    """The generator's own functions that read ids, shape and colours."""
    spec = importlib.util.spec_from_file_location(
        "make_hazards", shared / "hazards" / "make_hazards.py"
    )
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["make_hazards"] = module
    spec.loader.exec_module(module)
    return module


def of_kind(entries: list[Entry], kind: str) -> Iterator[Entry]:
    found = [entry for entry in entries if entry["kind"] == kind]
    assert found, f"the manifest lists no {kind}"
    yield from found


def test_every_clip_meets_the_manifest(
    hazards: tuple[Path, list[Entry]], marks: ModuleType, cache: Path
) -> None:
    folder, entries = hazards
    troubles = {}
    for entry in of_kind(entries, "video"):
        clip = open_clip(folder / entry["file"], cache)
        troubles[entry["file"]] = list(differences(clip, entry, marks))
        clip.close()

    assert {name: found for name, found in troubles.items() if found} == {}


def differences(clip: Clip, entry: Entry, marks: ModuleType) -> Iterator[str]:
    low, high = entry["readable_frames"]
    n, ids = len(clip), entry["frame_ids"]
    if not low <= n <= high:
        yield f"{n} pictures"
    sees = [number(clip.preview(i), entry, marks) for i in range(len(ids))]
    if sees != ids:
        yield f"ids {sees}"
    for i in range(0, len(ids), max(1, len(ids) // 5)):
        if number(clip.full(i), entry, marks) != ids[i]:
            yield f"full picture {i} shows {number(clip.full(i), entry, marks)}"
    yield from time_differences(clip, entry)
    yield from look_differences(clip, entry, marks)


def number(picture: Image.Image, entry: Entry, marks: ModuleType) -> int | None:
    """Read an id; of interlaced pictures that of the top field."""
    pixels = np.asarray(picture)
    found: int | None = marks.read_id(
        np.repeat(pixels[0::2], 2, axis=0) if entry["interlaced"] else pixels
    )
    return found


def time_differences(clip: Clip, entry: Entry) -> Iterator[str]:
    times = [clip.time_s(i) for i in range(len(entry["times_s"]))]
    worst = max(abs((t or 0.0) - want) for t, want in zip(times, entry["times_s"], strict=True))
    if worst > entry["time_tol_s"] or None in times:
        yield f"times off by {worst}"
    if entry["capture_times_s"]:
        true = [clip.capture.true_s(t) for t in times]
        pairs = zip(true, entry["capture_times_s"], strict=True)
        if max(abs((t or 9e9) - want) for t, want in pairs if want) > 3e-4:
            yield "true times are off"
    elif clip.capture.slow_factor is not None and entry["file"] not in OUR_RATE:
        yield f"claims to know: {clip.capture}"


def look_differences(clip: Clip, entry: Entry, marks: ModuleType) -> Iterator[str]:
    if list(clip.size_px) != entry["display_size"]:
        yield f"size {clip.size_px}"
    for picture in (clip.preview(0), clip.full(0)):
        if not marks.upright(picture):
            yield "not upright"
        if abs(marks.roundness(picture) - 1) > 0.06:
            yield f"disc {marks.roundness(picture):.3f}"
        pairs = zip(marks.patches(picture), entry["patches"], strict=True)
        worst = max(abs(a - b) for got, want in pairs for a, b in zip(got, want, strict=True))
        if worst > entry["patch_tol"]:
            yield f"colours off by {worst}"
    said = " ".join(clip.notes).casefold()
    for fact, word in (("interlaced", "interlaced"), ("hdr", "hdr"), ("rotation_cw", "turn")):
        if bool(entry[fact]) != (word in said):
            yield f"{fact} is {entry[fact]}, notes say {clip.notes}"


def test_every_error_is_of_the_right_kind(hazards: tuple[Path, list[Entry]]) -> None:
    folder, entries = hazards

    for entry in of_kind(entries, "error"):
        with pytest.raises(ClipUnreadable, match=SAID_FOR[entry["error"]]):
            read_header(folder / entry["file"])


def test_a_cut_clip_offers_what_can_be_read(hazards: tuple[Path, list[Entry]], cache: Path) -> None:
    folder, _ = hazards
    clip = open_clip(folder / "17_truncated_faststart.mp4", cache)
    n, question = len(clip), clip.shortfall
    clip.close()

    assert question is not None
    assert question.startswith(f"The first {n} of about 60 frames")


def test_every_name_opens(
    hazards: tuple[Path, list[Entry]], marks: ModuleType, cache: Path
) -> None:
    folder, entries = hazards
    for entry in of_kind(entries, "folder_of_videos"):
        for file in entry["per_file"]:
            clip = open_clip(folder / entry["file"] / file["name"], cache)
            sees = [marks.read_id(clip.preview(i)) for i in range(len(clip))]

            assert entry["frame_ids"] == sees, file["name"]
            assert entry["frame_ids"][3] == marks.read_id(clip.full(3)), file["name"]
            clip.close()


def test_every_folder_of_stills_meets_the_manifest(
    hazards: tuple[Path, list[Entry]], marks: ModuleType
) -> None:
    folder, entries = hazards
    for entry in of_kind(entries, "stills"):
        if entry["file"] == "29_stills_mixed":
            continue
        stills = open_stills(folder / entry["file"])
        optional = set(entry.get("optional_ids", ()))
        sees = [marks.read_id(stills.full(i)) for i in range(len(stills))]

        assert [i for i in entry["frame_ids"] if i in sees or i not in optional] == sees
        assert all(marks.upright(stills.full(i)) for i in range(len(stills)))


def test_stills_that_cannot_be_used_are_named(hazards: tuple[Path, list[Entry]]) -> None:
    folder, _ = hazards

    assert "c1.png” is too large" in said(open_stills(folder / "30_stills_bomb"))
    assert "shot_12.png” is empty" in said(open_stills(folder / "28_stills_gaps"))
    assert "4, 7–8, 12–19, 21–99" in said(open_stills(folder / "28_stills_gaps"))


def said(pictures: Pictures) -> str:
    return " ".join(pictures.notes)


def test_mixed_stills_are_refused_by_name_and_the_rest_is_right(
    hazards: tuple[Path, list[Entry]], marks: ModuleType
) -> None:
    folder, entries = hazards
    entry = next(entry for entry in entries if entry["file"] == "29_stills_mixed")
    odd = [f["name"] for f in entry["per_file"] if f["display_size"] != [320, 180]]
    with pytest.raises(StillsUnusable) as refused:
        open_stills(folder / entry["file"])
    for name in odd:
        assert name in str(refused.value)

    for size in ([320, 180], [180, 320], [640, 360]):
        files = [f for f in entry["per_file"] if f["display_size"] == size]
        stills = open_stills([folder / entry["file"] / f["name"] for f in files])

        assert tuple(size) == stills.size_px
        assert [f["id"] for f in files] == [
            marks.read_id(stills.full(i)) for i in range(len(stills))
        ]

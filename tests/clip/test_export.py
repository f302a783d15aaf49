"""Exact stills and their times as files."""

import csv
import errno
import math
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image

from tapmark.clip.export import export_frames
from tapmark.clip.frames import open_stills
from tapmark.errors import AlreadyThere, Cancelled, ClipError, ClipUnreadable
from tapmark.progress import Told
from tests.clip import made
from tests.clip.kinds import Truth

MadeClip = Callable[[str], tuple[Path, Truth]]


@pytest.mark.parametrize("kind", ["png", "jpg"])
@pytest.mark.parametrize(
    "name", ["uneven_with_drops.mp4", "wide_pixels_turned.mp4", "equal_stamps.mkv", "hdr_pq.mp4"]
)
def test_stills_are_the_pictures_of_the_clip(
    name: str, kind: str, made_clip: MadeClip, tmp_path: Path
) -> None:
    path, truth = made_clip(name)
    done = export_frames(path, tmp_path / "out", kind=kind)
    files = sorted((tmp_path / "out").glob(f"*.{kind}"))
    pictures = [Image.open(file).convert("RGB") for file in files]

    assert list(truth.numbers) == [made.number_in(picture) for picture in pictures]
    assert {truth.size} == {picture.size for picture in pictures}
    assert made.worst_colour(pictures[0]) <= truth.hue_off
    assert (len(files), False) == (done.n_pictures, done.is_cut)


def rows_of(folder: Path) -> list[dict[str, str]]:
    with (folder / "times.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_times_are_beside_the_stills(made_clip: MadeClip, tmp_path: Path) -> None:
    path, truth = made_clip("noted_240_as_30.mp4")
    export_frames(path, tmp_path / "out")
    rows = rows_of(tmp_path / "out")

    assert list(rows[0]) == ["picture", "time_s", "capture_time_s"]
    assert sorted(p.name for p in (tmp_path / "out").glob("*.png")) == [r["picture"] for r in rows]
    assert truth.times_s == pytest.approx([float(r["time_s"]) for r in rows], abs=1e-8)
    assert [t / 8 for t in truth.times_s] == pytest.approx(
        [float(row["capture_time_s"]) for row in rows], abs=1e-8
    )


def test_unknown_capture_times_stay_empty(made_clip: MadeClip, tmp_path: Path) -> None:
    export_frames(made_clip("plain.mp4")[0], tmp_path / "out")

    assert {""} == {row["capture_time_s"] for row in rows_of(tmp_path / "out")}


def test_a_part_keeps_the_files_clock(long_clip: Path, tmp_path: Path) -> None:
    export_frames(long_clip, tmp_path / "out", from_s=2.0, to_s=2.05)
    rows = rows_of(tmp_path / "out")
    first = Image.open(tmp_path / "out" / rows[0]["picture"])

    assert [k / 240 for k in range(480, 493)] == pytest.approx(
        [float(row["time_s"]) for row in rows], abs=1e-5
    )
    assert made.number_in(first) == 480


def test_an_open_end_goes_to_the_end(long_clip: Path, tmp_path: Path) -> None:
    assert export_frames(long_clip, tmp_path / "out", from_s=4.2).n_pictures == 1024 - 1008


def test_a_late_seek_is_mended(
    long_clip: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tapmark.clip.ingest._seek", lambda header, part: ["-ss", "2.6"])

    assert export_frames(long_clip, tmp_path / "out", from_s=2.0, to_s=2.05).n_pictures == 13


def test_stills_with_their_times_open_again(made_clip: MadeClip, tmp_path: Path) -> None:
    path, truth = made_clip("noted_240_as_30.mp4")
    export_frames(path, tmp_path / "out", kind="jpg")
    stills = open_stills(tmp_path / "out")

    assert truth.times_s == pytest.approx([stills.time_s(i) for i in range(len(stills))])
    assert stills.capture.slow_factor == pytest.approx(8.0)
    assert stills.capture.rate_hz == pytest.approx(240.0)


@pytest.mark.parametrize(
    ("start", "end"),
    [
        *((-1.0, 2.0), (2.0, 1.0), (1.0, 1.0), (math.nan, 1.0), (0.0, math.nan)),
        *((1e308, math.inf), (-math.inf, 1.0), (0.0, 1e300)),
    ],
)
def test_parts_that_cannot_be_are_refused(
    start: float, end: float, made_clip: MadeClip, tmp_path: Path
) -> None:
    with pytest.raises(ClipError, match="cannot be"):
        export_frames(made_clip("plain.mp4")[0], tmp_path / "out", from_s=start, to_s=end)


def test_a_folder_with_something_in_it_is_left_alone(made_clip: MadeClip, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").write_text("mine")

    with pytest.raises(AlreadyThere, match="“out” exists"):
        export_frames(made_clip("plain.mp4")[0], tmp_path / "out")
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["mine.txt"]


def test_an_empty_folder_is_filled(made_clip: MadeClip, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()

    assert export_frames(made_clip("single.mp4")[0], tmp_path / "out").n_pictures == 1


def nothing_left(folder: Path) -> bool:
    return list(folder.iterdir()) == []


def test_cancelling_leaves_nothing(long_clip: Path, tmp_path: Path) -> None:
    with pytest.raises(Cancelled):
        export_frames(long_clip, tmp_path / "out", progress=Told(is_cancelled=lambda: True))

    assert nothing_left(tmp_path)


def test_a_full_disk_leaves_nothing_and_says_so(
    long_clip: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write = Path.write_bytes

    def fill_up(path: Path, data: bytes) -> int:
        if "00020" in path.name:
            raise OSError(errno.ENOSPC, "No space left on device")
        return write(path, data)

    monkeypatch.setattr(Path, "write_bytes", fill_up)
    with pytest.raises(ClipError, match="The disk is full"):
        export_frames(long_clip, tmp_path / "out")

    assert nothing_left(tmp_path)


def test_a_part_without_pictures_leaves_nothing(made_clip: MadeClip, tmp_path: Path) -> None:
    with pytest.raises(ClipUnreadable, match="no frames in that part"):
        export_frames(made_clip("plain.mp4")[0], tmp_path / "out", from_s=50)

    assert nothing_left(tmp_path)

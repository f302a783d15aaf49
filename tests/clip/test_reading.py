"""Reading in the background: usable at once, stoppable at any time, nothing left behind."""

import errno
import struct
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tapmark.clip import ingest, reading
from tapmark.clip.blob import Blob
from tapmark.clip.cache import Cache
from tapmark.clip.clip import Wanted, read_full
from tapmark.clip.frames import Part, begin_clip, open_clip, read_header
from tapmark.clip.header import Header, Track
from tapmark.clip.reading import ClipReader
from tapmark.errors import Cancelled, ClipError, ClipUnreadable, FrameNotThere
from tapmark.progress import Told
from tests.clip import made
from tests.clip.kinds import Truth
from tests.clip.processes import ffmpeg_children, ffmpegs_reading

MadeClip = Callable[[str], tuple[Path, Truth]]


def test_pictures_can_be_used_while_the_rest_is_read(long_clip: Path, cache: Path) -> None:
    clip = begin_clip(long_clip, cache)
    known = len(clip)
    first, last = made.number_in(clip.preview(0)), made.number_in(clip.preview(known - 1))
    while not clip.wait(1):
        assert len(clip) >= known
    n = len(clip)
    clip.close()

    assert (0, known - 1) == (first, last)
    assert n == 1024


def test_progress_names_what_is_expected_and_ends_at_the_count(
    long_clip: Path, cache: Path
) -> None:
    seen: list[tuple[int, int | None]] = []
    clip = open_clip(long_clip, cache, progress=Told(lambda n, total: seen.append((n, total))))
    expected = clip.n_expected
    clip.close()

    assert expected == 1024
    assert seen, "a clip of a thousand pictures takes more than one turn"
    assert {total for _, total in seen} <= {1024, 1025}, "by the length, which is given in 1/100 s"
    assert sorted(n for n, _ in seen) == [n for n, _ in seen]


def test_cancelling_ends_the_process_and_leaves_no_file(long_clip: Path, cache: Path) -> None:
    running: list[int] = []

    def is_cancelled() -> bool:
        running.extend(ffmpeg_children())
        return bool(running)

    with pytest.raises(Cancelled):
        open_clip(long_clip, cache, progress=Told(is_cancelled=is_cancelled))

    assert running, "it was cancelled while ffmpeg ran"
    assert ffmpeg_children() == []
    assert list(cache.glob("*.pictures")) == []


def test_closing_while_reading_ends_the_process_and_leaves_no_file(
    long_clip: Path, cache: Path
) -> None:
    clip = begin_clip(long_clip, cache)
    clip.close()

    assert ffmpeg_children() == []
    assert list(cache.glob("*.pictures")) == []
    with pytest.raises(FrameNotThere):
        clip.preview(0)


BLOCKED = """
import sys
from pathlib import Path
from tapmark.clip import ingest, frames
from tapmark.clip.ingest import Intake
import threading
taken = Intake.take_bytes
def take_once_then_hang(self, chunk):
    taken(self, chunk)
    print("reading", flush=True)
    threading.Event().wait()
Intake.take_bytes = take_once_then_hang
clip = frames.begin_clip(Path(sys.argv[1]), Path(sys.argv[2]))
{ending}
"""


@pytest.mark.parametrize(
    "ending",
    ["sys.stdin.read()", "sys.exit(0)", "raise ValueError"],
    ids=["killed", "left", "failed"],
)
def test_no_process_outlives_the_program(ending: str, long_clip: Path, cache: Path) -> None:
    """The program stops taking pictures, so ffmpeg can only end because the program ended."""
    with subprocess.Popen(
        [sys.executable, "-c", BLOCKED.format(ending=ending), str(long_clip), str(cache)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=Path(__file__).parents[2],
    ) as program:
        assert program.stdout is not None
        assert program.stdout.readline().strip() == b"reading"
        if "stdin" in ending:
            assert len(ffmpegs_reading(long_clip)) == 1
            program.kill()
        program.wait(30)

    assert gone_within(30, lambda: not ffmpegs_reading(long_clip))


def gone_within(seconds: float, is_gone: Callable[[], bool]) -> bool:
    """Ask again and again; each question reads the whole process table, so this does not spin."""
    for _ in range(round(seconds * 50)):
        if is_gone():
            return True
        subprocess.run([sys.executable, "-c", ""], check=True)
    return False


def test_second_opening_takes_the_prepared_pictures(
    made_clip: MadeClip, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, truth = made_clip("uneven_with_drops.mp4")
    first = open_clip(path, cache)
    was = (first.notes, first.capture, [first.time_s(i) for i in range(len(first))])
    first.close()
    monkeypatch.setattr(reading, "Running", None)

    again = open_clip(path, cache)
    now = (again.notes, again.capture, [again.time_s(i) for i in range(len(again))])
    numbers = [made.number_in(again.preview(i)) for i in range(len(again))]
    again.close()

    assert was == now
    assert list(truth.numbers) == numbers


def test_a_changed_clip_is_read_again(tmp_path: Path, cache: Path) -> None:
    path = made.write_steady(tmp_path / "clip.mp4", range(5))
    open_clip(path, cache).close()
    made.write_steady(path, range(20, 26))

    clip = open_clip(path, cache)
    numbers = [made.number_in(clip.preview(i)) for i in range(len(clip))]
    clip.close()

    assert list(range(20, 26)) == numbers


@pytest.fixture
def full_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    append = Blob.append

    def fill_up(blob: Blob, jpeg: bytes) -> None:
        if len(blob) == 10:
            raise OSError(errno.ENOSPC, "No space left on device")
        append(blob, jpeg)

    monkeypatch.setattr(Blob, "append", fill_up)


@pytest.mark.usefixtures("full_disk")
def test_a_disk_that_fills_up_is_named_and_nothing_stays(long_clip: Path, cache: Path) -> None:
    with pytest.raises(ClipError, match=r"is full.*Free some space"):
        open_clip(long_clip, cache)

    assert list(cache.glob("*.pictures")) == []


def test_too_little_space_is_said_before_reading(
    long_clip: Path, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Cache, "free_bytes", lambda self: 1_000_000)

    with pytest.raises(ClipError, match=r"needs about 3 MB .* 1 MB are free"):
        open_clip(long_clip, cache)


def test_nothing_is_written_beside_the_clip(made_clip: MadeClip, tmp_path: Path) -> None:
    path, _ = made_clip("hdr_hlg.mp4")
    own = tmp_path / "own"
    own.mkdir()
    copy = own / "clip.mp4"
    copy.write_bytes(path.read_bytes())
    copy.chmod(0o444)
    own.chmod(0o555)

    clip = open_clip(copy, tmp_path / "cache")
    clip.full(0)
    clip.close()
    inside = list(own.iterdir())
    own.chmod(0o755)

    assert [copy] == inside


def test_a_clip_that_went_away_is_named(tmp_path: Path, cache: Path) -> None:
    path = made.write_steady(tmp_path / "gone.mp4", range(4))
    header = read_header(path)
    clip = open_clip(path, cache)
    path.unlink()

    with pytest.raises(ClipUnreadable, match="changed or"):
        clip.full(2)
    with pytest.raises(ClipUnreadable, match="not there any more"):
        begin_clip(path, cache, header=header)
    assert made.number_in(clip.preview(2)) == 2, "prepared pictures still serve"
    clip.close()


def test_a_full_picture_of_another_clip_is_never_taken(tmp_path: Path, cache: Path) -> None:
    path = made.write_steady(tmp_path / "clip.mp4", range(30))
    clip = open_clip(path, cache)
    made.write_steady(path, range(40, 70))

    with pytest.raises(ClipUnreadable, match="file has changed"):
        clip.full(7)
    clip.close()


def test_a_full_picture_whose_stamp_is_not_there_is_never_replaced_by_a_neighbour(
    made_clip: MadeClip,
) -> None:
    path, _ = made_clip("plain.mp4")
    between = Wanted(i=3, stamp=1700, n_twins_before=0, has_twin=False, gap_s=1 / 30)

    with pytest.raises(ClipUnreadable, match="cannot be found"):
        read_full(read_header(path), between, path.parent)


@pytest.fixture(scope="module")
def whole(long_clip: Path, tmp_path_factory: pytest.TempPathFactory) -> list[float | None]:
    clip = open_clip(long_clip, tmp_path_factory.mktemp("whole"))
    times = [clip.time_s(i) for i in range(len(clip))]
    clip.close()
    return times


@pytest.mark.parametrize("part", [(0.0, 0.2), (1.9, 2.4), (3.0, 3.004), (4.2, 99.0)])
def test_a_part_gives_the_same_pictures_as_the_whole(
    part: tuple[float, float], long_clip: Path, cache: Path, whole: list[float | None]
) -> None:
    clip = open_clip(long_clip, cache, part=part)
    wanted = [k for k in range(1024) if part[0] <= k / 240 <= part[1]]
    numbers = [made.number_in(clip.preview(i)) for i in range(len(clip))]
    times = [clip.time_s(i) for i in range(len(clip))]
    middle = len(clip) // 2
    full = made.number_in(clip.full(middle))
    clip.close()

    assert wanted == numbers
    assert [whole[k] for k in wanted] == times
    assert wanted[middle] == full
    assert wanted[middle] / 240 == pytest.approx(times[middle], abs=1e-5)


def test_a_seek_that_lands_late_is_noticed_and_mended(
    long_clip: Path, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    late = ["-ss", "2.600000", "-t", "3.0"]
    monkeypatch.setattr(ingest, "_seek", lambda header, part: late)

    clip = open_clip(long_clip, cache, part=(2.0, 2.9))
    numbers = [made.number_in(clip.preview(i)) for i in range(len(clip))]
    clip.close()

    assert list(range(480, 697)) == numbers


def test_a_part_without_pictures_says_so(long_clip: Path, cache: Path) -> None:
    with pytest.raises(ClipUnreadable, match="no frames between 50 and 60"):
        open_clip(long_clip, cache, part=(50, 60))


def test_a_part_that_ends_before_it_starts_is_our_mistake() -> None:
    with pytest.raises(ValueError, match="part"):
        Part(2, 1)


def test_prepared_pictures_that_were_cut_short_are_noticed(long_clip: Path, cache: Path) -> None:
    clip = open_clip(long_clip, cache)
    stored = next(cache.glob("*.pictures"))
    with stored.open("r+b") as file:
        file.truncate(100)

    number = made.number_in(clip.preview(900))
    clip.close()
    assert number == 900, "read from the clip itself"
    again = open_clip(long_clip, cache)
    number = made.number_in(again.preview(900))
    again.close()

    assert number == 900


def test_counts_that_disagree_are_refused(
    made_clip: MadeClip, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Should an encoder ever swallow a picture, no stamp may be given to a neighbour."""
    path, _ = made_clip("plain.mp4")
    append = Blob.append
    monkeypatch.setattr(
        Blob, "append", lambda blob, jpeg: append(blob, jpeg) if len(blob) < 9 else None
    )

    with pytest.raises(ClipUnreadable, match="announces 24 frames but gives 9"):
        open_clip(path, cache)


def test_joined_recordings_of_two_sizes_lose_nothing(tmp_path: Path, cache: Path) -> None:
    """Two recordings in one file: the clock starts anew and the pictures change their size."""
    options = {"preset": "ultrafast", "bf": "0", "x264-params": "log-level=error"}
    first = made.write_steady(tmp_path / "a.ts", range(10), options=options)
    pictures = [made.draw(n, (320, 180)) for n in range(20, 30)]
    second = made.write_clip(
        tmp_path / "b.ts", pictures, made.steady(10, 60, 90_000), 90_000, options=options
    )
    joined = tmp_path / "joined.ts"
    joined.write_bytes(first.read_bytes() + second.read_bytes())
    clip = open_clip(joined, cache)
    numbers = [made.number_in(clip.preview(i)) for i in range(len(clip))]
    full = [made.number_in(clip.full(i)) for i in (3, 13)]
    said, sizes = " ".join(clip.notes), {clip.preview(i).size for i in (0, 15)}
    clip.close()

    assert [*range(10), *range(20, 30)] == numbers
    assert full == [3, 23], "both carry the same stamp"
    assert {made.WIDE} == sizes
    assert "size changes inside" in said
    assert "clock jumps back" in said


def test_a_clip_that_would_pass_the_limit_asks_for_a_part(long_clip: Path, cache: Path) -> None:
    with pytest.raises(ClipError, match=r"more frames than the 1 MB .* Choose a part"):
        open_clip(long_clip, cache, limit_bytes=1_000_000)


def test_a_clip_of_unknown_length_stops_at_the_limit(
    long_clip: Path, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ClipReader, "_check_space", lambda self: None)

    with pytest.raises(ClipError, match="Choose a part"):
        open_clip(long_clip, cache, limit_bytes=1_000_000)
    assert list(cache.glob("*.pictures")) == []


def test_a_clip_that_promises_huge_pictures_is_refused_unread(tmp_path: Path) -> None:
    """A GIF of 43 bytes whose header announces 12 000 × 9 000 pixels."""
    screen = struct.pack("<HHBBB", 12_000, 9_000, 0x80, 0, 0) + b"\0\0\0\xff\xff\xff"
    picture = b",\0\0\0\0\x01\0\x01\0\0\x02\x02D\x01\0;"
    (tmp_path / "bomb.gif").write_bytes(b"GIF89a" + screen + picture)

    with pytest.raises(ClipUnreadable, match="12000 × 9000, more than this program can hold"):
        read_header(tmp_path / "bomb.gif")


@pytest.mark.parametrize(
    ("what", "wrong"), [("size_px", (100, 400)), ("hdr", "pq"), ("colour_space", "unknown")]
)
def test_a_listing_that_is_wrong_is_corrected_by_the_first_picture(
    what: str, wrong: object, made_clip: MadeClip, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, truth = made_clip("plain.mp4")
    monkeypatch.setattr(Track, what, wrong)
    clip = begin_clip(path, cache)
    first, size = made.number_in(clip.preview(0)), clip.size_px
    while not clip.wait(1):
        pass
    numbers = [made.number_in(clip.preview(i)) for i in range(len(clip))]
    colour = made.worst_colour(clip.preview(3))
    clip.close()

    assert (0, truth.size) == (first, size)
    assert list(truth.numbers) == numbers
    assert colour <= truth.hue_off


def test_pictures_that_turn_out_huge_are_refused(
    made_clip: MadeClip, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, _ = made_clip("plain.mp4")
    header = read_header(path)
    monkeypatch.setattr("tapmark.clip.header.MOST_PIXELS", 1000)

    with pytest.raises(ClipUnreadable, match="more than this program can hold"):
        open_clip_with(header, cache)
    assert list(cache.glob("*.pictures")) == []


def open_clip_with(header: Header, cache: Path) -> None:
    clip = begin_clip(header.path, cache, header=header)
    while not clip.wait(1):
        pass
    clip.check()

"""The folder of prepared pictures: bounded, private, and never the only copy of anything."""

import errno
import json
import os
import random
from hashlib import sha256
from pathlib import Path, PurePosixPath

import pytest

from tapmark.clip.blob import FOOTER, PNG_END, SIGN, Splitter, open_blob, start_blob
from tapmark.clip.cache import ABANDONED_S, Cache, user_cache_folder
from tapmark.clip.frames import begin_clip, open_clip
from tapmark.errors import ClipError
from tests.clip import made


@pytest.mark.parametrize(
    ("platform", "environment", "wanted"),
    [
        ("linux", {}, "/home/k/.cache/tapmark"),
        ("linux", {"XDG_CACHE_HOME": "/fast"}, "/fast/tapmark"),
        ("darwin", {}, "/home/k/Library/Caches/tapmark"),
        ("win32", {"LOCALAPPDATA": "/local"}, "/local/tapmark"),
        ("win32", {}, "/home/k/AppData/Local/tapmark"),
    ],
)
def test_each_system_has_its_place(platform: str, environment: dict[str, str], wanted: str) -> None:
    folder = user_cache_folder(environment, Path("/home/k"), platform)

    assert PurePosixPath(wanted) == PurePosixPath(folder.as_posix())


def test_oldest_goes_out_first_once_the_limit_is_passed(tmp_path: Path) -> None:
    clips = [made.write_steady(tmp_path / f"{n}.mp4", range(n, n + 8)) for n in range(4)]
    cache = tmp_path / "cache"
    for n, clip in enumerate(clips[:3]):
        open_clip(clip, cache).close()
        for path in cache.glob("*.pictures"):
            if path.stat().st_mtime > 1e9:
                os.utime(path, (1000 + n, 1000 + n))
    size = Cache(cache).size_bytes()
    open_clip(clips[0], cache).close()

    open_clip(clips[3], cache, limit_bytes=size - 10).close()

    kept = [clip.name for clip in clips if Cache(cache).find(clip, details(clip, cache))]
    assert kept == ["0.mp4", "2.mp4", "3.mp4"], "0 was used last, so 1 is the oldest"


def details(clip: Path, cache: Path) -> str:
    """Return what the front door adds to the key of a whole clip."""
    from tapmark.clip.ffmpeg import find_program

    return f"{find_program().version} None"


def test_what_a_crash_left_goes_after_an_hour(tmp_path: Path) -> None:
    clip = made.write_steady(tmp_path / "a.mp4", range(3))
    cache = Cache(tmp_path / "cache")
    old, fresh = (cache.start(clip, name) for name in ("old", "fresh"))
    for blob in (old, fresh):
        blob.append(b"half a picture")
        blob.close()
    now_s = fresh.path.stat().st_mtime
    os.utime(old.path, (now_s - ABANDONED_S - 60,) * 2)

    open_clip(clip, cache.folder).close()

    assert (old.path.exists(), fresh.path.exists()) == (False, True)


def test_a_second_window_does_not_disturb_the_first(tmp_path: Path) -> None:
    clip = made.write_steady(tmp_path / "a.mp4", range(40))
    first = begin_clip(clip, tmp_path / "cache")
    second = open_clip(clip, tmp_path / "cache")
    second.close()
    while not first.wait(1):
        pass
    numbers = [made.number_in(first.preview(i)) for i in range(len(first))]
    first.close()

    assert list(range(40)) == numbers


def test_forgetting_a_clip_removes_all_of_it_and_nothing_else(tmp_path: Path) -> None:
    clips = [made.write_steady(tmp_path / f"{n}.mp4", range(90)) for n in "ab"]
    cache = tmp_path / "cache"
    for clip in clips:
        open_clip(clip, cache).close()
    open_clip(clips[0], cache, part=(0, 0.5)).close()
    clips[0].unlink()

    assert Cache(cache).forget(clips[0]) == 2
    assert len(list(cache.glob("*.pictures"))) == 1


def test_file_names_give_no_name_away(tmp_path: Path) -> None:
    clip = made.write_steady(tmp_path / "Firstname Lastname.mp4", range(2))
    open_clip(clip, tmp_path / "cache").close()

    assert not [p for p in (tmp_path / "cache").iterdir() if "name" in p.name.casefold()]


@pytest.mark.skipif(os.name != "posix", reason="POSIX permissions")
def test_only_its_owner_may_look_into_the_folder(tmp_path: Path) -> None:
    assert Cache(tmp_path / "cache").folder.stat().st_mode & 0o077 == 0


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")

    with pytest.raises(ClipError, match="cannot be made"):
        Cache(tmp_path / "file" / "cache")


def test_an_unfinished_or_foreign_file_is_never_taken_for_a_whole_one(tmp_path: Path) -> None:
    blob = start_blob(tmp_path / "a")
    blob.append(b"picture")
    unfinished = open_blob(tmp_path / "a")
    blob.finish({"n": 1})
    finished = open_blob(tmp_path / "a")
    data = (tmp_path / "a").read_bytes()
    blob.close()

    assert unfinished is None
    assert finished is not None and finished[1] == {"n": 1} and finished[0].read(0) == b"picture"
    finished[0].close()
    for wrong in (b"", b"short", data[:-1], data[3:], data[:-9] + b"?" + data[-8:]):
        (tmp_path / "b").write_bytes(wrong)
        assert open_blob(tmp_path / "b") is None


@pytest.mark.parametrize("size", [1, 2, 3, 7, 1000])
def test_pictures_are_cut_apart_wherever_the_chunks_end(size: int) -> None:
    pictures = [b"\xff\xd8one\xff\xd9", b"\xff\xd8\xff\x00two\xff\xd9", b"\xff\xd8\xff\xd9"]
    stream, splitter = b"".join(pictures), Splitter()
    chunks = [stream[k : k + size] for k in range(0, len(stream), size)]

    assert pictures == [picture for chunk in chunks for picture in splitter.feed(chunk)]


def test_png_pictures_are_cut_at_their_last_chunk() -> None:
    splitter = Splitter(PNG_END)

    assert [
        *splitter.feed(b"one" + PNG_END + b"tw"),
        *splitter.feed(b"o" + PNG_END[:5]),
        *splitter.feed(PNG_END[5:]),
    ] == [b"one" + PNG_END, b"two" + PNG_END]


def test_pictures_are_read_right_where_the_system_lacks_pread(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Windows has no such call."""
    monkeypatch.delattr(os, "pread", raising=False)
    clip = open_clip(made.write_steady(tmp_path / "a.mp4", range(6)), tmp_path / "cache")
    numbers = [made.number_in(clip.preview(i)) for i in (5, 0, 3)]
    clip.close()

    assert numbers == [5, 0, 3]


@pytest.fixture(scope="module")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, int]:
    """A finished file of prepared pictures, and where its index begins."""
    folder = tmp_path_factory.mktemp("prepared")
    clip = made.write_steady(folder / "a.mp4", range(6))
    open_clip(clip, folder / "cache").close()
    path = next((folder / "cache").glob("*.pictures"))
    whole = path.read_bytes()
    return whole, whole.rindex(b'{"ends"')


@pytest.mark.parametrize("seed", range(60))
def test_a_flipped_bit_in_the_index_is_never_taken_for_a_picture_or_a_time(
    seed: int, prepared: tuple[bytes, int], tmp_path: Path
) -> None:
    whole, index = prepared
    dice = random.Random(seed)
    bad = bytearray(whole)
    bad[dice.randrange(index, len(whole))] ^= 1 << dice.randrange(8)
    path = tmp_path / "a.pictures"
    path.write_bytes(bad)

    assert open_blob(path) is None


def test_an_index_of_another_kind_is_no_index(tmp_path: Path) -> None:
    """Right by its checksum and still not ours: numbers below 0, endless brackets, no list."""
    for n, ends in enumerate(([-5], [2**80], "abc", None, [[]], [3, 2, 1])):
        blob = start_blob(tmp_path / f"{n}.pictures")
        blob.append(b"x")
        blob.finish({"a": 1})
        blob.close()
        packed = json.dumps({"ends": ends, "sums": [0], "facts": {}}).encode()
        data = b"x" + packed + FOOTER.pack(len(packed), sha256(packed).digest(), SIGN)
        blob.path.write_bytes(data)

        assert open_blob(blob.path) is None


@pytest.mark.parametrize("i", [0, 3, 5])
def test_a_flipped_bit_in_a_prepared_picture_is_noticed_and_the_picture_read_again(
    i: int, tmp_path: Path
) -> None:
    """Every single byte of a picture: many a changed bit still decodes, to another picture."""
    clip = made.write_steady(tmp_path / "a.mp4", range(6))
    cache = tmp_path / "cache"
    open_clip(clip, cache).close()
    prepared = next(cache.glob("*.pictures"))
    whole = prepared.read_bytes()
    found = open_blob(prepared)
    assert found is not None
    blob = found[0]
    at = whole.index(blob.read(i))
    size = len(blob.read(i))
    n_told = 0
    for k in range(at, at + size, 97):
        bad = bytearray(whole)
        bad[k] ^= 1 << (k % 8)
        prepared.write_bytes(bad)
        with pytest.raises(OSError, match="checksum"):
            blob.read(i)
        n_told += 1
    blob.close()
    assert n_told > 20

    damaged = open_clip(clip, cache)
    numbers = [made.number_in(damaged.preview(j)) for j in range(6)]
    numbers += [made.number_in(damaged.small(i))]
    sizes = {damaged.preview(j).size for j in range(6)}
    damaged.close()

    assert numbers == [*range(6), i] and len(sizes) == 1
    assert not prepared.exists(), "so that the next opening reads the clip anew"
    again = open_clip(clip, cache)
    again.preview(i)
    again.close()
    assert len(list(cache.glob("*.pictures"))) == 1


def test_a_damaged_file_that_cannot_go_while_it_is_open_goes_when_the_clip_is_closed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As on Windows, which removes no file that is open."""
    clip = made.write_steady(tmp_path / "a.mp4", range(6))
    cache = tmp_path / "cache"
    open_clip(clip, cache).close()
    prepared = next(cache.glob("*.pictures"))
    prepared.write_bytes(bytes(100) + prepared.read_bytes()[100:])
    damaged = open_clip(clip, cache)

    with monkeypatch.context() as held:
        held.setattr(Path, "unlink", refuse_open)
        assert made.number_in(damaged.preview(0)) == 0
        assert prepared.exists()
    damaged.close()

    assert not prepared.exists()


def refuse_open(path: Path, missing_ok: bool = False) -> None:
    raise PermissionError(errno.EACCES, "in use", str(path))

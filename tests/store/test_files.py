"""Whole or not at all; read with a reason; damaged files set aside."""

import contextlib
import errno
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapmark import disk, leftovers
from tapmark.errors import CannotWrite, FileDamaged, InUse, NotThere, StoreError
from tapmark.store import files
from tests.links import link
from tests.store import made

ROOT = Path(__file__).parents[2]


def failing(call: str, nth: int, code: int) -> Callable[..., object]:
    """The system call of that name, failing on its nth use."""
    real, uses = getattr(os, call), iter(range(1, 1000))

    def fail_now(*arguments: object, **more: object) -> object:
        if next(uses) == nth:
            raise OSError(code, os.strerror(code))
        return real(*arguments, **more)

    return fail_now


@pytest.mark.parametrize(
    ("call", "nth", "code", "reason"),
    [
        ("open", 1, errno.EACCES, "no permission"),
        ("open", 1, errno.EROFS, "can only be read"),
        ("open", 1, errno.ENOENT, "the folder is gone"),
        ("open", 1, errno.ENAMETOOLONG, "name is too long"),
        ("write", 1, errno.ENOSPC, "the disk is full"),
        ("write", 1, errno.EDQUOT, "share of the disk is full"),
        ("fsync", 1, errno.EIO, "the disk reports a fault"),
        ("replace", 1, errno.EBUSY, "another program has it open"),
        ("replace", 1, errno.EXDEV, os.strerror(errno.EXDEV)),
    ],
)
def test_a_write_that_fails_leaves_the_old_file_and_nothing_else(
    call: str, nth: int, code: int, reason: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "run-1.json"
    files.write_json(path, {"old": 1})
    before = made.contents(tmp_path)

    with monkeypatch.context() as broken, pytest.raises(CannotWrite, match=reason):
        broken.setattr(os, call, failing(call, nth, code))
        files.write_json(path, {"new": 2})

    assert made.contents(tmp_path) == before


def test_a_write_that_stops_half_way_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "run-1.json"
    files.write_json(path, {"old": 1})
    real_write = os.write
    sizes = iter([3, 5])

    def write_a_bit(handle: int, data: memoryview) -> int:
        try:
            return real_write(handle, data[: next(sizes)])
        except StopIteration:
            raise OSError(errno.ENOSPC, "full") from None

    with monkeypatch.context() as broken, pytest.raises(CannotWrite):
        broken.setattr(os, "write", write_a_bit)
        files.write_json(path, {"new": "a long enough value"})

    assert made.contents(tmp_path) == {"run-1.json": b'{\n  "old": 1\n}\n'}


def test_short_writes_are_carried_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real_write = os.write
    with monkeypatch.context() as slow:
        slow.setattr(os, "write", lambda handle, data: real_write(handle, data[:1]))
        files.write_bytes(tmp_path / "a", b"all of it")

    assert (tmp_path / "a").read_bytes() == b"all of it"


def test_a_file_system_that_cannot_flush_folders_is_no_failure(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as odd:
        odd.setattr(os, "fsync", failing("fsync", 2, errno.EINVAL))
        files.write_bytes(tmp_path / "a", b"1")

    assert (tmp_path / "a").read_bytes() == b"1"


def test_a_half_written_file_of_a_dead_program_is_replaced(tmp_path: Path) -> None:
    (tmp_path / f"a.{os.getpid()}.part").write_bytes(b"half")
    files.write_bytes(tmp_path / "a", b"whole")

    assert made.contents(tmp_path) == {"a": b"whole"}


def test_a_link_where_the_half_written_file_goes_is_not_followed(tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.write_bytes(b"mine")
    link(tmp_path / f"a.{os.getpid()}.part", elsewhere)

    files.write_bytes(tmp_path / "a", b"whole")

    assert elsewhere.read_bytes() == b"mine"
    assert (tmp_path / "a").read_bytes() == b"whole"


def test_a_folder_cannot_be_made_where_a_file_stands(tmp_path: Path) -> None:
    (tmp_path / "athletes").write_bytes(b"")

    with pytest.raises(CannotWrite, match="a file stands where a folder should be"):
        files.make_folder(tmp_path / "athletes")
    with pytest.raises(CannotWrite, match="a file stands where a folder should be"):
        files.make_folder(tmp_path / "athletes" / "K07")


def test_a_missing_file_is_named_with_its_folder(tmp_path: Path) -> None:
    with pytest.raises(NotThere, match=r"There is no “run-9\.json” in"):
        files.read_bytes(tmp_path / "run-9.json")


def test_a_folder_in_the_place_of_a_file_cannot_be_read(tmp_path: Path) -> None:
    (tmp_path / "run-1.json").mkdir()

    with pytest.raises(StoreError, match=r"“run-1\.json” cannot be read"):
        files.read_bytes(tmp_path / "run-1.json")


def test_an_enormous_file_is_refused_unread(tmp_path: Path) -> None:
    with (tmp_path / "run-1.json").open("wb") as file:
        file.truncate(files.LARGEST_JSON + 1)

    with pytest.raises(FileDamaged, match="larger than 20 MB"):
        files.read_bytes(tmp_path / "run-1.json")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "line 1, letter 1"),
        (b'{"format": 1,\n "a": }', "line 2, letter 7"),
        (b'{"a": NaN}', "NaN is not a number"),
        (b'{"a": -Infinity}', "-Infinity is not a number"),
        (b'{"a": 1e999}', "1e999 is too large"),
        (b'{"a": ' + b"9" * 5000 + b"}", "is too long"),
        (b'{"a": 1, "a": 2}', "“a” stands twice"),
        (b"\xff\xfe{}", "byte 1 is not UTF-8"),
        (b"[" * 100_000, "too many brackets"),
    ],
)
def test_what_is_no_json_is_refused_with_its_place(data: bytes, words: str) -> None:
    with pytest.raises(FileDamaged, match="is damaged") as caught:
        files.json_value(data, "x.json")

    assert words in str(caught.value)


def test_a_byte_order_mark_does_no_harm() -> None:
    assert files.json_value(b'\xef\xbb\xbf{"a": 1}', "x") == {"a": 1}


@given(made.junk)
def test_json_written_is_json_read(plain: object) -> None:
    assert files.json_value(files.json_bytes(plain), "x") == plain


@given(st.binary(max_size=60))
def test_any_bytes_give_a_value_or_damage(data: bytes) -> None:
    try:
        plain = files.json_value(data, "x")
    except FileDamaged as error:
        assert str(error).startswith("“x” is damaged")
    else:
        assert files.json_value(files.json_bytes(plain), "x") == plain


def refuse(plain: object, name: str) -> object:
    raise FileDamaged(f"“{name}”: no.")


def test_a_damaged_file_is_copied_aside_with_its_date_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "run-1.json"
    path.write_bytes(b"torn")
    os.utime(path, (1_778_790_000, 1_778_790_000))

    with pytest.raises(FileDamaged, match=r"A copy is kept as “run-1\.damaged-2026-05-1"):
        files.read_value(path, refuse)

    copy = next(tmp_path.glob("run-1.damaged-*.json"))
    assert (copy.read_bytes(), path.read_bytes()) == (b"torn", b"torn")


def test_the_same_damage_is_kept_once_and_another_one_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "run-1.json"
    for data in (b"torn", b"torn", b"other", b"other"):
        path.write_bytes(data)
        os.utime(path, (1_778_790_000, 1_778_790_000))
        with pytest.raises(FileDamaged):
            files.read_value(path, refuse)

    kept = {copy.read_bytes() for copy in tmp_path.glob("run-1.damaged-*.json")}
    assert kept == {b"torn", b"other"}
    assert len(made.contents(tmp_path)) == 3


def test_a_file_that_cannot_be_copied_aside_is_left_as_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "run-1.json"
    path.write_bytes(b"torn")

    with monkeypatch.context() as broken, pytest.raises(FileDamaged, match="left as it was"):
        broken.setattr(os, "open", failing("open", 1, errno.EROFS))
        files.read_value(path, refuse)

    assert made.contents(tmp_path) == {"run-1.json": b"torn"}


def test_a_file_from_the_year_dot_can_be_set_aside(tmp_path: Path) -> None:
    path = tmp_path / "run-1.json"
    path.write_bytes(b"torn")
    os.utime(path, (0, 0))

    with pytest.raises(FileDamaged, match=r"damaged-19(70|69)-"):
        files.read_value(path, refuse)


def test_removing_what_is_not_there_is_no_failure(tmp_path: Path) -> None:
    files.remove_file(tmp_path / "gone")

    with pytest.raises(CannotWrite):
        files.remove_file(tmp_path)


flushes_folders = pytest.mark.skipif(sys.platform == "win32", reason="no folder is flushed there")


@flushes_folders
def test_a_disk_fault_while_flushing_the_folder_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as broken, pytest.raises(CannotWrite, match="reports a fault"):
        broken.setattr(os, "fsync", failing("fsync", 2, errno.EIO))
        files.write_bytes(tmp_path / "a", b"1")


def test_a_copy_that_cannot_be_compared_is_no_copy(tmp_path: Path) -> None:
    path = tmp_path / "run-1.json"
    path.write_bytes(b"torn")
    copy = files.keep_copy(path, b"torn", "damaged")
    assert copy is not None
    copy.unlink()
    copy.mkdir()

    assert files.keep_copy(path, b"torn", "damaged") is None


def test_bytes_of_a_file_that_has_gone_are_kept_all_the_same(tmp_path: Path) -> None:
    copy = files.keep_copy(tmp_path / "run-1.json", b"theirs", "elsewhere")

    assert copy is not None
    assert copy.name == "run-1.elsewhere-1970-01-01-000000.json"
    assert copy.read_bytes() == b"theirs"


@pytest.mark.parametrize(
    ("way", "said"),
    [
        ("squad/athletes/K07/athlete.json", "K07/athlete.json"),
        ("squad/athletes/K07/2026-05-14/run-1.json", "K07/2026-05-14/run-1.json"),
        ("squad/squad.json", "squad.json"),
    ],
)
def test_a_file_that_everybody_has_is_named_with_whose_it_is(way: str, said: str) -> None:
    assert said == files.whose(Path(way))


class Busy:
    """Another program that has a file open: its place cannot be taken so many times."""

    def __init__(self, n: int, monkeypatch: pytest.MonkeyPatch) -> None:
        self.pauses: list[float] = []
        self.n_tried, self._real = 0, os.replace

        def replace(part: str, path: str) -> None:
            self.n_tried += 1
            if self.n_tried <= n:
                raise PermissionError(errno.EACCES, "Access is denied")
            self._real(part, path)

        monkeypatch.setattr(disk, "WAITS_FOR_OTHERS", True)  # as Windows does
        monkeypatch.setattr(os, "replace", replace)
        monkeypatch.setattr(disk.time, "sleep", self.pauses.append)


def test_a_file_that_another_program_lets_go_of_is_written_after_all(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a").write_bytes(b"old")
    busy = Busy(2, monkeypatch)

    files.write_bytes(tmp_path / "a", b"new")

    assert made.contents(tmp_path) == {"a": b"new"}
    assert busy.n_tried == 3 and len(busy.pauses) == 2


def test_a_file_that_a_program_reads_again_and_again_is_caught_between_two_reads(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Open 97 times out of 100, as under Wine: few looks in two seconds find it open each time."""
    (tmp_path / "a").write_bytes(b"old")
    Busy(900, monkeypatch)

    files.write_bytes(tmp_path / "a", b"new")

    assert made.contents(tmp_path) == {"a": b"new"}


def test_a_file_that_another_program_keeps_open_stays_whole_and_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a").write_bytes(b"old")
    busy = Busy(10**9, monkeypatch)

    with pytest.raises(InUse, match="a virus scanner, a sync program or a preview"):
        files.write_bytes(tmp_path / "a", b"new")

    assert made.contents(tmp_path) == {"a": b"old"}
    assert 2.0 <= sum(busy.pauses) <= 2.5 and busy.n_tried == len(busy.pauses) + 1
    assert max(busy.pauses) <= 0.01, "in slices"


def test_where_files_can_be_replaced_while_they_are_read_a_refusal_is_told_at_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    busy = Busy(10**9, monkeypatch)
    monkeypatch.setattr(disk, "WAITS_FOR_OTHERS", False)

    with pytest.raises(CannotWrite, match="no permission there"):
        files.write_bytes(tmp_path / "a", b"new")
    assert busy.pauses == [] and busy.n_tried == 1


class Calls:
    """The system calls of a write in their order, with what each was done to."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.made: list[tuple[str, str]] = []
        names: dict[int, str] = {}
        real = {name: getattr(os, name) for name in ("open", "write", "fsync", "close")}

        def opened(path: Path, flags: int, *more: int, **named: int) -> int:
            handle: int = real["open"](path, flags, *more, **named)
            names[handle] = Path(path).name
            self.made.append(("make" if flags & os.O_CREAT else "open", names[handle]))
            return handle

        monkeypatch.setattr(os, "open", opened)
        for name in ("write", "fsync", "close"):
            monkeypatch.setattr(os, name, self._noted(name, real[name], names))
        for name in ("replace", "rename", "unlink", "remove"):
            monkeypatch.setattr(os, name, self._noted(name, getattr(os, name), None))

    def _noted(
        self, name: str, real: Callable[..., object], names: dict[int, str] | None
    ) -> Callable[..., object]:
        def call(what: Any, *more: Any, **named: Any) -> object:
            done = real(what, *more, **named)
            self.made.append((name, names.get(what, "") if names is not None else Path(what).name))
            return done

        return call


@flushes_folders
def test_a_write_is_flushed_takes_its_place_in_one_move_and_flushes_the_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """POSIX rename(2) is atomic; what was not flushed before it may be lost in a power cut.

    No test can cut the power, so this one reads the order of the calls.
    """
    path = tmp_path / "run-1.json"
    path.write_bytes(b"old")
    part = f"{path.name}.{os.getpid()}.part"
    with monkeypatch.context() as watched:
        calls = Calls(watched)
        files.write_bytes(path, b"new")

    told = [call for call in calls.made if call[0] not in ("close", "unlink")]
    assert told == [
        ("make", part),
        ("write", part),
        ("fsync", part),
        ("replace", part),
        ("open", tmp_path.name),
        ("fsync", tmp_path.name),
    ]
    assert ("unlink", path.name) not in calls.made


@pytest.mark.parametrize("call", ["open", "write", "fsync", "replace"])
@pytest.mark.parametrize("nth", [1, 2, 3, 4])
@pytest.mark.parametrize("is_new", [False, True])
def test_of_two_files_that_belong_together_both_are_written_or_none(
    call: str, nth: int, is_new: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every system call of the pair failing in turn, as on a full disk."""
    pair = {tmp_path / "sheet.pdf": b"new pdf", tmp_path / "sheet.html": b"new html"}
    for path in () if is_new else pair:
        path.write_bytes(b"old")
    before = made.contents(tmp_path)

    with monkeypatch.context() as broken, contextlib.suppress(CannotWrite):
        broken.setattr(os, call, failing(call, nth, errno.ENOSPC))
        files.write_together(pair)

    after = {path.name: data for path, data in pair.items()}
    assert made.contents(tmp_path) in (before, after)


def test_a_pair_whose_second_file_is_held_stays_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pair = {tmp_path / "sheet.pdf": b"new pdf", tmp_path / "sheet.html": b"new html"}
    (tmp_path / "sheet.pdf").write_bytes(b"old")

    with monkeypatch.context() as broken, pytest.raises(CannotWrite, match="has it open"):
        broken.setattr(os, "replace", failing("replace", 2, errno.EBUSY))
        files.write_together(pair)

    assert made.contents(tmp_path) == {"sheet.pdf": b"old"}


PAIR_KILLED = """
import os, sys
from pathlib import Path
from tapmark import disk
from tapmark.store import files
folder, n = Path(sys.argv[1]), int(sys.argv[2])
calls = iter(range(100))
def killed(name, real):
    def call(*given, **named):
        if next(calls) == n:
            os.kill(os.getpid(), 9)
        return real(*given, **named)
    setattr(os, name, call)
for name in ("open", "write", "fsync", "replace", "unlink"):
    killed(name, getattr(os, name))
files.write_together({folder / "sheet.pdf": b"new", folder / "sheet.html": b"new too"})
print("done")
"""


@pytest.mark.parametrize("is_new", [False, True])
@pytest.mark.skipif(os.name == "nt", reason="kill -9")
def test_a_pair_killed_at_any_system_call_is_made_equal_by_the_next_start(
    is_new: bool, tmp_path: Path
) -> None:
    """Real kills at each call in turn; one at least must fall between the two moves."""
    new = {"sheet.pdf": b"new", "sheet.html": b"new too"}
    old = {} if is_new else {"sheet.pdf": b"old", "sheet.html": b"old too"}
    finished, whole, n = 0, False, 0
    while not whole:
        folder = tmp_path / str(n)
        folder.mkdir()
        for name, data in old.items():
            (folder / name).write_bytes(data)
        command = [sys.executable, "-c", PAIR_KILLED, str(folder), str(n)]
        ended = subprocess.run(command, cwd=ROOT, capture_output=True, encoding="utf-8")
        whole, n = ended.stdout == "done\n", n + 1
        assert whole or ended.returncode == -9, ended.stderr

        done = files.finish_together(leftovers.left_together(folder))
        leftovers.remove_left(leftovers.left_in_squad(folder))

        assert made.contents(folder) in (old, new), n
        assert [path.name for path in done] in ([], ["sheet.html"])
        finished += len(done)

    assert finished >= 1 and n > 8

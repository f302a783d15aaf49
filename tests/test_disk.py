"""The one door to the disk: pipes, devices, endless links and closed folders in place of files."""

import ast
import errno
import os
import sys
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

import pytest
from PIL import Image

from tapmark import disk
from tapmark.checklist.criteria import load
from tapmark.clip.blob import open_blob
from tapmark.clip.colour import write_table
from tapmark.clip.export import export_frames
from tapmark.clip.stills import open_stills
from tapmark.clip.troubles import look_at
from tapmark.errors import InUse, StoreError, TapmarkError
from tapmark.services.measuring import measure_paths
from tapmark.store import archive
from tapmark.store.check import check_squad
from tapmark.store.files import json_value, read_bytes, write_bytes
from tapmark.store.lock import lock_path, take_lock
from tapmark.store.pictures import fingerprint, kept_since
from tapmark.store.settings import Settings, load_settings
from tapmark.store.squad import Squad, open_squad
from tests.clip import made as made_clips
from tests.index import walked
from tests.links import link
from tests.store import made

if sys.platform != "win32":
    import resource

PACKAGE = Path(__file__).parent.parent / "tapmark"
DAY = "2026-03-14"
NOW = datetime(2026, 5, 14, 21, 0)


def a_pipe(path: Path) -> None:
    if not hasattr(os, "mkfifo"):
        pytest.skip("no pipes with names on this system")
    os.mkfifo(path)


def an_endless_link(path: Path) -> None:
    if not Path("/dev/zero").exists():
        pytest.skip("no endless file on this system")
    link(path, "/dev/zero")


def a_circle(path: Path) -> None:
    link(path, path.name)


def a_folder(path: Path) -> None:
    path.mkdir()


def a_huge_file(path: Path) -> None:
    if sys.platform == "win32":
        pytest.skip("a file with a hole in it takes all its room on Windows")
    with path.open("wb") as file:
        file.truncate(30_000_000_000)


NO_FILES = (a_pipe, an_endless_link, a_circle, a_folder, a_huge_file)
no_file = pytest.mark.parametrize("put", NO_FILES, ids=lambda put: put.__name__)


@pytest.fixture(autouse=True)
def little_memory() -> Iterator[None]:
    """What reads without a bound fails here and does not take the machine with it."""
    if sys.platform == "win32":  # has no such bound for a program
        yield
        return
    before = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (6 << 30, before[1]))
    yield
    resource.setrlimit(resource.RLIMIT_AS, before)


@pytest.fixture
def squad(tmp_path: Path) -> Squad:
    return made.squad_of(tmp_path / "squad", ("K07",))


SQUAD_FILES: dict[str, Callable[[Squad], object]] = {
    "squad.json": lambda squad: open_squad(squad.folder),
    "athletes/K07/athlete.json": lambda squad: squad.athlete("K07"),
    f"athletes/K07/{DAY}/visit.json": lambda squad: squad.visit("K07", DAY),
    f"athletes/K07/{DAY}/run-1.json": lambda squad: squad.load_run("K07", DAY, "run-1"),
}


@no_file
@pytest.mark.parametrize("way", SQUAD_FILES)
def test_a_file_of_a_squad_that_is_none_is_refused_at_once_and_checked(
    way: str, put: Callable[[Path], None], squad: Squad
) -> None:
    path = squad.folder / way
    path.unlink()
    put(path)

    with pytest.raises(StoreError) as refused:
        SQUAD_FILES[way](squad)
    found = check_squad(Squad(squad.folder))

    assert str(refused.value).isprintable() and str(refused.value).endswith(".")
    assert way == "squad.json" or any(path.name in each.words for each in found)


READERS: dict[str, Callable[[Path], object]] = {
    "back-up": archive.check_backup,
    "restored": lambda path: archive.restore(path, path.parent / "r", NOW),
    "lock": lambda path: take_lock(path.with_name("run-1.json"), "test", NOW).release(),
    "clip": look_at,
    "fingerprint": fingerprint,
    "still": lambda path: open_stills([path]),
    "stills beside": lambda path: open_stills(path.parent),
    "list": lambda path: read_bytes(path, 2_000_000),
    "checks.toml": load,
}


@no_file
@pytest.mark.parametrize("what", READERS)
def test_whatever_is_opened_and_is_no_file_is_refused_in_words(
    what: str, put: Callable[[Path], None], tmp_path: Path
) -> None:
    name = "run-1.json.lock" if what == "lock" else "a.jpg"
    put(tmp_path / name)
    if put is a_huge_file and what in ("fingerprint", "lock"):
        READERS[what](tmp_path / name)  # only its first megabyte is read
        return

    with pytest.raises(TapmarkError) as refused:
        READERS[what](tmp_path / name)

    assert str(refused.value).isprintable() and len(str(refused.value)) > 20


@no_file
def test_what_falls_back_when_it_cannot_be_read_falls_back(
    put: Callable[[Path], None], tmp_path: Path
) -> None:
    """Settings, the day stills came, prepared pictures and times beside stills."""
    for name in ("settings.json", "since.txt", "a.pictures"):
        put(tmp_path / name)

    assert load_settings(tmp_path / "settings.json")[0] == Settings()
    assert kept_since(tmp_path) == ""
    assert open_blob(tmp_path / "a.pictures") is None


@no_file
def test_times_beside_stills_that_are_no_file_are_not_known(
    put: Callable[[Path], None], tmp_path: Path
) -> None:
    Image.new("RGB", (8, 8)).save(tmp_path / "1.png")
    put(tmp_path / "times.csv")

    assert open_stills(tmp_path).time_s(0) is None


def test_a_file_of_our_own_that_is_far_too_large_is_not_packed(
    squad: Squad, tmp_path: Path
) -> None:
    path = squad.run_path("K07", DAY, "run-1")
    path.unlink()
    a_huge_file(path)

    told = archive.back_up(squad, tmp_path / "b.zip", "2026-05-14")

    way = f"athletes/K07/{DAY}/run-1.json"
    assert (way, "it is far larger than such a file can be") in told.left_out


def test_a_lock_that_is_a_pipe_neither_waits_nor_is_taken(squad: Squad) -> None:
    path = squad.run_path("K07", DAY, "run-1")
    a_pipe(lock_path(path))

    with pytest.raises(StoreError, match="no file but a pipe"):
        take_lock(path, "test", NOW)


def test_a_link_in_a_squad_is_not_followed_out_of_it(squad: Squad, tmp_path: Path) -> None:
    """What lies elsewhere must not come in as a copy set aside, nor be measured."""
    path = squad.run_path("K07", DAY, "run-1")
    path.rename(tmp_path / "elsewhere.json")
    link(path, tmp_path / "elsewhere.json")

    with pytest.raises(StoreError, match="it is a link"):
        squad.load_run("K07", DAY, "run-1")

    assert list(path.parent.glob("*damaged*")) == []
    assert disk.read(tmp_path / "elsewhere.json", 10**6).startswith(b"{")


@pytest.mark.parametrize("levels", [61, 900, 100_000])
def test_brackets_within_brackets_are_counted_before_anybody_walks_them(levels: int) -> None:
    for opening, closing in (("[", "]"), ('{"a":', "}")):
        data = (opening * levels + "1" + closing * levels).encode()
        with pytest.raises(StoreError, match="too many brackets within brackets"):
            json_value(data, "squad.json")


def test_what_lies_below_a_folder_is_all_told_and_links_are_not_walked(tmp_path: Path) -> None:
    (tmp_path / "a" / "b").mkdir(parents=True)
    (tmp_path / "a" / "b" / "c").write_bytes(b"1")
    link(tmp_path / "a" / "up", tmp_path)

    ways = [path.relative_to(tmp_path).as_posix() for path in disk.all_below(tmp_path)]

    assert ways == ["a", "a/b", "a/b/c", "a/up"]


def test_a_name_no_system_can_carry_is_refused_in_a_sentence(tmp_path: Path) -> None:
    for path in (tmp_path / ("a" * 300), tmp_path / ("a/" * 2500), tmp_path / "n\0l"):
        for ask in (disk.exists, open_squad, lambda p: list(measure_paths([p], NOW.date(), print))):
            with pytest.raises(StoreError) as refused:
                ask(path)
            assert str(refused.value).isprintable() and len(str(refused.value)) < 300


def test_no_room_opens_a_file_for_reading_by_itself() -> None:
    """Every file read passes tapmark.disk; what is opened elsewhere is opened for writing."""
    found = [
        f"{path.relative_to(PACKAGE)}:{node.lineno} {name}"
        for path in sorted(PACKAGE.rglob("*.py"))
        if path.name != "disk.py" and "practice" not in path.parts
        for node in walked(path)
        if isinstance(node, ast.Call) and (name := opens(node))
    ]

    assert found == []


def opens(node: ast.Call) -> str:
    """Return how a call opens a path for reading, "" when it does not."""
    called = ast.unparse(node.func)
    owner, _, last = called.rpartition(".")
    what = [ast.unparse(each) for each in node.args]
    if last in ("read_text", "read_bytes"):
        return "" if owner == "files" or called == "read_bytes" else called
    if called in ("Image.open", "zipfile.ZipFile", "imageio.v3.imread", "tomllib.load"):
        return "" if what[0] == "file" or what[0].startswith("io.BytesIO(") else called
    if last == "open" and owner not in ("os", "archive", "tarfile"):
        modes = [each.value for each in node.args if isinstance(each, ast.Constant)]
        return "" if any(str(mode)[:1] in "wxa" for mode in modes) else called
    is_read = called == "os.open" and "os.O_RDONLY" in what[-1]
    return called if is_read and what[0] != "folder" else ""  # a folder is opened to be flushed


def test_a_planted_read_is_seen() -> None:
    planted = (
        "open(p)", "p.open('rb')", "p.read_text()", "Image.open(p)", "zipfile.ZipFile(p)",
        "self.path.open()", "os.open(p, os.O_RDONLY)",
    )  # fmt: skip
    let_be = ("p.open('xb')", "files.read_bytes(p)", "Image.open(io.BytesIO(d))", "open(p, 'w')")

    for code in (*planted, *let_be):
        node = ast.parse(code).body[0].value  # type: ignore[attr-defined]
        assert bool(opens(node)) == (code in planted), code


def _restored_over(folder: Path) -> None:
    squad = made.squad_of(folder / "squad", ("K07",))
    archive.back_up(squad, folder / "squad.zip", DAY)
    archive.restore(folder / "squad.zip", squad.folder, NOW, replace_old=True)


MOVES: dict[str, tuple[Callable[[Path], object], str]] = {
    "a file": (lambda folder: write_bytes(folder / "a", b"new"), "a"),
    "a table of colours": (lambda folder: write_table("pq", folder), "pq33v1.cube"),
    "stills of a clip": (
        lambda folder: export_frames(
            made_clips.write_steady(folder / "a.mp4", range(3)), folder / "stills"
        ),
        "stills",
    ),
    "a back-up and what it replaces": (_restored_over, "squad"),
}


@pytest.mark.parametrize("what", MOVES)
@pytest.mark.parametrize("n_held", [2, 10**9])
def test_whatever_takes_its_place_waits_for_a_program_that_holds_it_open(
    what: str, n_held: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As on Windows, where virus scanners and sync programs hold files and folders for moments."""
    make, name = MOVES[what]
    left, real = [n_held, n_held], {"replace": os.replace, "rename": os.rename}

    def held(which: str, k: int) -> Callable[[Path, Path], None]:
        def move(part: Path, path: Path) -> None:
            left[k] -= 1
            if left[k] >= 0:
                raise PermissionError(errno.EACCES, "Access is denied")
            real[which](part, path)

        return move

    monkeypatch.setattr(disk, "WAITS_FOR_OTHERS", True)
    monkeypatch.setattr(disk.time, "sleep", lambda _: None)
    monkeypatch.setattr(os, "replace", held("replace", 0))
    monkeypatch.setattr(os, "rename", held("rename", 1))
    if n_held > 2:
        with pytest.raises(InUse, match="another program has it open"):
            make(tmp_path)
    else:
        make(tmp_path)

    assert (tmp_path / name).exists() == (n_held == 2 or name == "squad")
    assert not [path for path in disk.all_below(tmp_path) if path.name.endswith(".part")]


def test_no_room_moves_a_file_or_folder_by_itself() -> None:
    """Every move passes tapmark.disk, which waits on Windows for programs that hold it open."""
    found = [
        f"{path.relative_to(PACKAGE)}:{node.lineno} {ast.unparse(node)}"
        for path in sorted(PACKAGE.rglob("*.py"))
        if path.name != "disk.py"
        for node in walked(path)
        if isinstance(node, ast.Call) and moves(node)
    ]

    assert found == []


def moves(node: ast.Call) -> bool:
    """Say whether a call moves a file; the `replace` of one plain argument is a path's."""
    called = ast.unparse(node.func)
    owner, _, last = called.rpartition(".")
    if called in ("os.replace", "os.rename", "os.renames", "shutil.move"):
        return True
    return bool(owner) and (last == "rename" or (last == "replace" and len(node.args) == 1))


def test_a_planted_move_is_seen() -> None:
    planted = ("half.rename(out)", "half.replace(target)", "os.replace(a, b)", "shutil.move(a, b)")
    let_be = ("text.replace('a', 'b')", "replace(run, steps=())", "day.replace(year=2027)")

    for code in (*planted, *let_be):
        node = ast.parse(code).body[0].value  # type: ignore[attr-defined]
        assert moves(node) == (code in planted), code

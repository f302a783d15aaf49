"""Imports go one way, and a few libraries have one home each."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.index import parsed, walked

PACKAGE = Path(__file__).parent.parent / "tapmark"
MODULES = sorted(PACKAGE.rglob("*.py"))

LOWER = {"errors", "geometry", "marks", "measures", "checklist", "report"}
LOWER |= {"clip", "store", "media_types", "leftovers", "disk", "kinds", "progress"}
MAY_IMPORT = {
    "__init__": set(),
    "__main__": {"cli"},
    "errors": set(),
    "media_types": set(),
    "leftovers": set(),
    "disk": {"errors"},
    "kinds": set(),
    "progress": {"errors"},
    "geometry": {"errors"},
    "marks": {"errors", "geometry"},
    "measures": {"errors", "geometry", "marks"},
    "checklist": {"errors", "disk", "kinds", "marks", "measures"},
    "report": {"errors", "geometry", "marks", "measures", "checklist"},
    "clip": {"errors", "media_types", "leftovers", "disk", "progress"},
    "store": {
        "errors",
        "media_types",
        "leftovers",
        "disk",
        "kinds",
        "progress",
        "marks",
        "geometry",
        "checklist",
    },
    "services": LOWER,
    "app": LOWER | {"services"},
    "cli": LOWER | {"services", "app"},
}
"""Package -> the packages of Tapmark that it may import besides itself."""
PAGE_FOLDERS = ("squad", "film", "mark", "review", "season")
APP_LAYERS = ("jobs", "state", "shell", "widgets", "pages")
"""The folders of app from the lowest up; what lies in app itself may import all of them."""
HOMES = {
    "threading": ("app/jobs.py", "clip/ffmpeg.py", "clip/blob.py"),  # the last a lock only
    "queue": ("app/jobs.py", "clip/ffmpeg.py"),
    "subprocess": ("clip/ffmpeg.py", "app/shell/hand_over.py"),
    "tkinter": ("app/",),
    "imageio": ("clip/",),
    "imageio_ffmpeg": ("clip/",),
    "numpy": ("geometry/", "measures/", "clip/", "report/"),
    "PIL": ("report/", "clip/", "app/"),
    "ctypes": ("app/", "leftovers.py"),  # Windows alone is asked through it
    **dict.fromkeys(
        ("pickle", "marshal", "shelve", "dbm", "code", "runpy"), ()
    ),  # run what they read
    **dict.fromkeys(("socket", "ssl", "urllib", "http", "ftplib", "smtplib", "asyncio"), ()),
    **dict.fromkeys(("xmlrpc", "webbrowser", "multiprocessing", "concurrent"), ()),
    "random": (),
}


def imports_of(path: Path) -> Iterator[str]:
    """Yield every imported module, also those inside functions."""
    for node in walked(path):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: write imports in full"
            module = node.module or ""
            yield from (
                [f"tapmark.{a.name}" for a in node.names] if module == "tapmark" else [module]
            )


def room_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def layer_of(dotted_name: str) -> tuple[int, str]:
    """Return how high a module of app lies and, among the pages, the folder it belongs to."""
    folder = dotted_name.split(".")[2] if dotted_name.count(".") >= 2 else ""
    if folder in PAGE_FOLDERS:
        return APP_LAYERS.index("pages"), folder
    return (APP_LAYERS.index(folder) if folder in APP_LAYERS else len(APP_LAYERS)), ""


def wrong_in_app(here: str, imported: str) -> str:
    """Return why a module of app may not import another one, "" when it may."""
    (mine, my_page), (its, its_page) = layer_of(here), layer_of(imported)
    if its > mine:
        return f"{here} may not import {imported}: it lies higher"
    return (
        f"{my_page} and {its_page} are two pages"
        if my_page and my_page != its_page and its == mine
        else ""
    )


def modules_imported(path: Path) -> Iterator[str]:
    """Yield the dotted name of every module of Tapmark that a module imports, types included."""
    known = {dotted(each) for each in MODULES}
    for node in walked(path):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("tapmark"):
            for alias in node.names:
                whole = f"{node.module}.{alias.name}"
                yield whole if whole in known else node.module or ""


def test_in_the_window_nothing_imports_upwards_and_no_page_imports_another() -> None:
    wrong = [
        wrong_in_app(dotted(path), name)
        for path in MODULES
        if room_of(path) == "app"
        for name in modules_imported(path)
        if name.startswith("tapmark.app.")
    ]

    assert [each for each in wrong if each] == []


UPWARDS = {
    "tapmark.app.state.session": "tapmark.app.shell.context",
    "tapmark.app.shell.runs": "tapmark.app.film.actions",
    "tapmark.app.widgets.table": "tapmark.app.squad.view",
    "tapmark.app.review.view": "tapmark.app.mark.taps_view",
    "tapmark.app.mark.taps_view": "tapmark.app.main",
}


def test_planted_wrong_imports_in_the_window_are_caught() -> None:
    for here, imported in UPWARDS.items():
        assert wrong_in_app(here, imported), here
        assert not wrong_in_app(imported, here) or layer_of(imported)[1], here


def test_no_modules_import_each_other_in_a_circle_types_included() -> None:
    after = {dotted(path): set(modules_imported(path)) - {dotted(path)} for path in MODULES}
    while free := [name for name, needs in after.items() if not needs & after.keys()]:
        for name in free:
            del after[name]

    assert sorted(after) == []


def test_every_room_has_a_rule() -> None:
    assert {room_of(path) for path in MODULES} <= set(MAY_IMPORT)


def test_every_module_imports_only_what_its_room_may() -> None:
    assert len(MODULES) > 100
    for path in MODULES:
        check_imports(path)


def check_imports(path: Path) -> None:
    """Fail when a module imports what its room may not."""
    inside, room = path.relative_to(PACKAGE).as_posix(), room_of(path)
    for name in imports_of(path):
        top, *rest = name.split(".")
        if top == "tapmark" and rest and rest[0] != "__version__":
            allowed = MAY_IMPORT[room] | {room}
            assert rest[0] in allowed, f"{inside}: {room} may not import {rest[0]}"
        homes = HOMES.get(top, ("",))
        assert inside.startswith(homes), f"{inside}: {top} may be imported in {homes} only"


PLANTED = [
    ("report/x.py", "import tapmark.clip.frames"),
    ("marks/x.py", "import tkinter"),
    ("measures/x.py", "def f():\n    import subprocess"),
    ("geometry/x.py", "from tapmark import checklist"),
    ("store/x.py", "import pickle"),
    ("app/x.py", "from urllib.request import urlopen"),
]


def plant(folder: Path, inside: str, code: str) -> Path:
    """Write a module into a package that is made up, and return where."""
    planted = folder / inside
    planted.parent.mkdir(exist_ok=True)
    planted.write_text(code, "utf-8")
    return planted


def test_planted_wrong_imports_are_caught(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.modules[__name__], "PACKAGE", tmp_path)
    for inside, code in PLANTED:
        with pytest.raises(AssertionError):
            check_imports(plant(tmp_path, inside, code))


def test_everything_below_the_window_works_where_tkinter_is_missing() -> None:
    rooms = MAY_IMPORT.keys() - {"app", "__main__", "__init__"}
    names = [dotted(path) for path in MODULES if room_of(path) in rooms]
    code = "import sys; sys.modules['tkinter'] = None\n" + "\n".join(f"import {n}" for n in names)

    done = subprocess.run(
        [sys.executable, "-c", code], cwd=PACKAGE.parent, capture_output=True, encoding="utf-8"
    )

    assert len(names) > 100
    assert done.returncode == 0, done.stderr


def read_first(path: Path, seen: set[Path]) -> Iterator[tuple[Path, str]]:
    """Yield (file, module) of what is imported as a file is read, and as its imports are."""
    seen.add(path)
    for node in parsed(path).body:
        names = [alias.name for alias in getattr(node, "names", ())]
        module = getattr(node, "module", None)
        if isinstance(node, ast.ImportFrom):
            names = [str(module), *(f"{module}.{name}" for name in names)]
        if isinstance(node, ast.Import | ast.ImportFrom):
            for name in names:
                yield path, name
                other = PACKAGE.parent / (name.replace(".", "/") + ".py")
                if other.is_file() and other not in seen:
                    yield from read_first(other, seen)


def test_every_file_of_tests_can_be_read_where_the_modules_of_posix_are_missing() -> None:
    """One that cannot ends the tests of its folder on Windows before the first."""
    posix = {"resource", "fcntl", "pwd", "grp", "termios", "pty", "tty", "syslog"}
    seen: set[Path] = set()
    files = (PACKAGE.parent / "tests").rglob("test_*.py")
    wrong = [each for file in files for each in read_first(file, seen) if each[1] in posix]
    assert not wrong
    one_that_does = PACKAGE.parent / "tests/long/mutants.py"
    assert (one_that_does, "resource") in read_first(one_that_does, set())


def dotted(path: Path) -> str:
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(part for part in parts if part != "__init__")


def calls_of(path: Path) -> Iterator[str]:
    for node in walked(path):
        if isinstance(node, ast.Call):
            yield ast.unparse(node.func)


RUNS_TEXT = {"eval", "exec", "compile", "__import__", "os.system", "os.popen", "builtins.eval"}
CLOCKS = {
    "time.time",
    "datetime.now",
    "datetime.datetime.now",
    "date.today",
    "datetime.date.today",
    "datetime.today",
}


def test_clocks_prints_and_evals_stay_in_their_homes() -> None:
    for path in MODULES:
        check_calls(path)


def check_calls(path: Path) -> None:
    """Fail when a module asks the clock, prints or runs text outside the rooms for it."""
    room, calls = room_of(path), set(calls_of(path))
    if room not in {"cli", "app"}:
        assert not calls & CLOCKS, f"{path.name}: pass the time in as an argument"
    if room != "cli":
        assert "print" not in calls, path.name
    assert not calls & RUNS_TEXT, path.name


def test_planted_evals_are_caught(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.modules[__name__], "PACKAGE", tmp_path)
    for call in ("eval('1')", "exec('x = 1')", "os.system('ls')"):
        with pytest.raises(AssertionError):
            check_calls(plant(tmp_path, "store/x.py", f"import os\n{call}\n"))

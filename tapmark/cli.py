"""The command line: read the arguments, call one service, print what it returns.

Results go to stdout, talk to stderr. Exit 0 done, 1 a TapmarkError in a line or two, 2 wrong usage.
Rooms are imported inside the commands, so that help comes at once and needs no library; only the
progress line, which needs none, stands above.
"""

import argparse
import contextlib
import errno
import io
import os
import re
import signal
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from types import FrameType
from typing import Any, TextIO

from tapmark import __version__, disk
from tapmark.errors import Cancelled, CannotWrite, NoScreen, TapmarkError
from tapmark.progress import Waiting, with_bar

Words = argparse.Namespace
Argument = tuple[tuple[str, ...], dict[str, object]]


@dataclass(frozen=True)
class Command:
    """One word after `tapmark`: its line of help, its arguments and what it does.

    run: returns an exit code, or None for 0.
    """

    name: str
    about: str
    arguments: tuple[Argument, ...]
    run: Callable[[Words], int | None]


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return the exit code; no traceback ever reaches a person.

    A result that did not get out is never 0; a pipe that its reader shut ends without a word.
    """
    write_plainly()
    try:
        try:
            code = _guarded(lambda: _run(argv))
        except SystemExit:  # of the parser: help, or wrong usage
            if _guarded(_flush):
                return 1
            raise
        return _guarded(_flush) or code
    except _PipeShut:
        return 1


def open_by_click() -> int:
    """Open the window without a console, as a double click does; return the exit code.

    There nothing can be printed, and Windows gives no streams at all: what is said goes nowhere.
    """
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, io.StringIO())
    return main([])


def _guarded(work: Callable[[], int]) -> int:
    """Return the exit code of some work, 1 after saying what went wrong."""
    try:
        return work()
    except TapmarkError as trouble:
        say(str(trouble))
    except (KeyboardInterrupt, Cancelled):
        say("Stopped.")
    except BrokenPipeError:
        raise _PipeShut from None
    except OSError as trouble:  # a disk that went away, or was closed to us, in the middle
        say(disk.sentence(trouble.filename or "The disk", trouble))
    finally:
        hear_term(signal.SIG_DFL)
    return 1


def _run(argv: Sequence[str] | None) -> int:
    words = parser().parse_args(argv)
    hear_term(signal.default_int_handler)  # told to end, we clean up as after Ctrl-C
    for value in vars(words).values():
        for path in value if isinstance(value, list) else [value]:
            if isinstance(path, Path):  # too long, in a circle, closed to us: before all else
                disk.exists(path)
    return words.run(words) or 0


def parser() -> argparse.ArgumentParser:
    """Return the parser made from the table of commands."""
    top = _Parser(
        prog="tapmark",
        description="Mark one running step by hand, get honest numbers, print one page. "
        "Without a command the window opens.",
    )
    top.add_argument("--version", action="version", version=f"tapmark {__version__}")
    top.set_defaults(run=window, folder=None)
    commands = top.add_subparsers(metavar="COMMAND")
    for command in COMMANDS:
        one = commands.add_parser(command.name, help=command.about, description=command.about)
        for names, options in command.arguments:
            one.add_argument(*names, **options)  # type: ignore[arg-type]
        one.set_defaults(run=command.run)
    return top


def window(words: Words) -> int:
    """Open the window, on a squad folder where one is named."""
    try:
        from tapmark.app.main import open_window
    except ModuleNotFoundError as missing:
        if missing.name not in ("tkinter", "_tkinter"):
            raise
        raise NoScreen(
            "This Python has no tkinter, so the window cannot open. Install it (on many Linux "
            "systems the package is called python3-tk); every command works without it."
        ) from None
    hear_term(signal.SIG_DFL)  # within Tk nothing may be raised; once it stands it listens itself
    return open_window(words.folder, getattr(words, "place", ""))


def demo(words: Words) -> int:
    """Copy the sample squad, measure it, write both sheets, open the window on its Review."""
    from tapmark.services.demo import SHOWN, free_folder, make_demo

    folder = free_folder(words.folder or Path("tapmark-demo"))
    show(make_demo(folder, date.today()))
    try:
        place = "/".join((*SHOWN, "review", "", ""))
        return 0 if words.no_window else window(Words(folder=folder / "squad", place=place))
    except TapmarkError as trouble:  # no screen is no failure of the demo
        say(str(trouble))
        return 0


def frames(words: Words) -> None:
    """Write exact stills and their times."""
    from tapmark.services.clips import write_frames

    waiting = _waiting()
    written = write_frames(words.clip, words.out, (words.start, words.end), say, waiting)
    show([f"{written.n_pictures} frames and times.csv in {written.folder}"])


def measure(words: Words) -> None:
    """Print every measure of runs or of a whole squad."""
    from tapmark.services.measuring import measure_paths, written

    if words.json and words.csv:
        parser().error("--json and --csv are two forms of the same numbers: ask for one of them.")
    measured = measure_paths(words.what, date.today(), say)
    show(written(measured, words.json, words.csv, words.comma))


def sheet(words: Words) -> None:
    """Write the page of one or more visits, or the group sheet of squads."""
    from tapmark.services.group import write_groups
    from tapmark.services.pages import write_sheets

    today = date.today()
    if words.copy == "group":
        written = write_groups(words.visit, words.paper, today, say)
    else:
        written = write_sheets(words.visit, words.paper, words.copy, today)
    show(map(str, with_bar(written, sys.stderr, len(words.visit), "sheets")))


def film(words: Words) -> None:
    """Write a film of the step of a visit, or of two visits beside each other."""
    from tapmark.services.film import write_film
    from tapmark.services.places import visit_at

    places = tuple(visit_at(path) for path in (words.beside, words.visit) if path)
    with _waiting() as waiting:
        path = write_film(
            places,
            words.out or places[-1].folder,
            date.today(),
            words.kind,
            _looked_through if sys.stdin and sys.stdin.isatty() else None,
            waiting.telling("frames"),
            as_gif=words.gif,
        )
    show([str(path)])


def _waiting() -> Waiting:
    return Waiting(sys.stderr, time.monotonic)


def _looked_through(path: Path) -> bool:
    say(f"Look through it once: {path}")
    say("Is every face in it covered? Type yes, or anything else, and Return.")
    return sys.stdin.readline().strip().casefold() == "yes"


def squad(words: Words) -> None:
    """Say who is due, who can be filmed and what each one works on."""
    from tapmark.services.squads import describe

    show(describe(words.folder, date.today(), say))


def compare(words: Words) -> None:
    """Say what moved between two visits of one athlete."""
    from tapmark.services.changes import compare_visits

    show(compare_visits(words.earlier, words.later, date.today()))


def check(words: Words) -> None:
    """Read every file of a squad and say what is damaged or missing."""
    from tapmark.services.squads import check_squad

    show(check_squad(words.folder, date.today()))


def backup(words: Words) -> None:
    """Put a whole squad into one zip with a list of checksums."""
    from tapmark.services.squads import back_up

    show(back_up(words.squad, words.zip, date.today(), say))


def restore(words: Words) -> None:
    """Unpack a back-up after checking every byte of it."""
    from tapmark.services.squads import restore_backup

    show(restore_backup(words.zip, words.folder, datetime.now(), words.replace, words.dry_run))


def delete(words: Words) -> None:
    """Delete one athlete everywhere in a squad, or list what would go."""
    from tapmark.services.places import kept_outside
    from tapmark.services.squads import delete_athlete

    here = kept_outside(os.environ, sys.platform)
    show(delete_athlete(words.squad, words.code, words.dry_run, datetime.now(), *here))


def doctor(words: Words) -> None:
    """Say what this installation can do, or what a clip is like."""
    from tapmark.services.doctor import examine

    waiting = _waiting()
    show(examine(words.clip, words.stopwatch or (), words.keep or (), date.today(), waiting))


def hear_term(how: signal.Handlers | Callable[[int, FrameType | None], None]) -> None:
    """Say what SIGTERM does; in a thread that is not the first nothing changes."""
    with contextlib.suppress(ValueError):
        signal.signal(signal.SIGTERM, how)


def write_plainly() -> None:
    """Write UTF-8 with plain line ends, whatever the console: "±" and "≈" are in every result."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="replace", newline="\n")


class _PipeShut(Exception):
    """The reader of our results went away: nothing is left to say."""


class _Parser(argparse.ArgumentParser):
    """A parser whose help and complaints pass the same door as all other words."""

    def _print_message(self, message: str, file: Any = None) -> None:
        _put_out(message, sys.stderr if file is sys.stderr else sys.stdout)


def show(lines: Iterable[str]) -> None:
    """Print results; raise CannotWrite when they do not get out."""
    for line in lines:
        if sys.stdout is None:
            raise CannotWrite("There is nowhere to print the result to. Start it in a terminal.")
        _put_out(f"{line}\n", sys.stdout)


def say(line: str) -> None:
    """Print talk that is no result."""
    _put_out(f"{line}\n", sys.stderr)


def _flush() -> int:
    """Put out what the results' stream still holds back."""
    if sys.stdout is not None:
        _put_out("", sys.stdout, is_last=True)
    return 0


def _put_out(text: str, stream: TextIO | None, *, is_last: bool = False) -> None:
    """Write text without the signs that steer a terminal: names come from anywhere.

    After a failure the stream leads nowhere, so that Python finds nothing to complain of at its
    end. Talk that fails is dropped; of results it raises _PipeShut or CannotWrite.
    """
    if stream is None:  # a window without a console
        return
    try:
        stream.write(_STEERING.sub("?", text))
        if is_last:
            stream.flush()
    except OSError as trouble:
        with contextlib.suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
        if stream is sys.stderr:
            return
        if trouble.errno in (errno.EPIPE, errno.EINVAL):  # EINVAL is how Windows says it
            raise _PipeShut from None
        raise CannotWrite(f"The result is not whole: {disk.reason(trouble)}.") from None


_STEERING = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]|\r(?!\n|$)"
)
"""Signs that move, colour, hide or turn round what a terminal shows; line ends of a table stay."""


def _path(name: str, about: str, **more: object) -> Argument:
    return (name,), {"type": Path, "metavar": name.strip("-").upper(), "help": about, **more}


def _flag(name: str, about: str) -> Argument:
    return (name,), {"action": "store_true", "help": about}


def _seconds(name: str, key: str, about: str) -> Argument:
    return (name,), {"dest": key, "type": float, "metavar": "S", "help": about}


def _pair(name: str, metavar: object, about: str) -> Argument:
    return (name,), {"nargs": 2, "metavar": metavar, "help": about}


def _choice(name: str, *choices: str) -> Argument:
    return (name,), {"choices": choices, "default": choices[0], "help": f"default: {choices[0]}"}


_ONE_SQUAD = (_path("folder", "squad"),)
_DRY_RUN = _flag("--dry-run", "only say what would happen")

COMMANDS = (
    Command(
        "demo",
        "measure two drawn runners and write their sheets",
        (
            _path("folder", "where to; default: tapmark-demo", nargs="?"),
            _flag("--no-window", "do not open the window afterwards"),
        ),
        demo,
    ),
    Command(
        "frames",
        "write exact stills and times of a clip",
        (
            _path("clip", "a clip"),
            _path("--out", "folder for the stills", required=True),
            _seconds("--from", "start", "first second on the file's clock"),
            _seconds("--to", "end", "last second on the file's clock"),
        ),
        frames,
    ),
    Command(
        "measure",
        "print the measures of runs or of a squad",
        (
            _path("what", "run files, or one squad folder", nargs="+"),
            _flag("--json", "everything, units in the key names"),
            _flag("--csv", "one row a measure"),
            _flag("--comma", "decimal comma in the CSV, fields parted by semicolons"),
        ),
        measure,
    ),
    Command(
        "sheet",
        "write the printed page of a visit",
        (
            _path("visit", "SQUAD/athletes/CODE/DATE; squads with --copy group", nargs="+"),
            _choice("--paper", "a4", "letter"),
            _choice("--copy", "athlete", "coach", "photo", "group"),
        ),
        sheet,
    ),
    Command(
        "film",
        "write a film of the step of a visit",
        (
            _path("visit", "SQUAD/athletes/CODE/DATE"),
            _path("--beside", "another visit, shown beside it"),
            _choice("--kind", "drawn", "photo"),
            _flag("--gif", "a small GIF in place of an MP4"),
            _path("--out", "folder; default: the visit"),
        ),
        film,
    ),
    Command("squad", "say who is due and what each one works on", _ONE_SQUAD, squad),
    Command(
        "compare",
        "say what moved between two visits of one athlete",
        (_path("earlier", "visit folder"), _path("later", "visit folder")),
        compare,
    ),
    Command("check", "read every file of a squad, or of a back-up", _ONE_SQUAD, check),
    Command(
        "backup",
        "put a squad into one zip with checksums",
        (_path("squad", "squad folder"), _path("zip", "the new zip file")),
        backup,
    ),
    Command(
        "restore",
        "check and unpack a back-up",
        (
            _path("zip", "a back-up"),
            _path("folder", "where the squad shall lie"),
            _flag("--replace", "rename and keep a squad that lies there"),
            _DRY_RUN,
        ),
        restore,
    ),
    Command(
        "delete",
        "delete one athlete everywhere in a squad",
        (_path("squad", "squad folder"), (("code",), {"help": "the athlete's code"}), _DRY_RUN),
        delete,
    ),
    Command(
        "doctor",
        "say what this installation can do, or what a clip is like",
        (
            _path("clip", "a clip or a still", nargs="?"),
            _pair("--stopwatch", "FRAME=SHOWN", "two readings of a stopwatch: its true rate"),
            _pair("--keep", ("SQUAD", "PHONE"), "keep that rate with a squad, as this phone's"),
        ),
        doctor,
    ),
)

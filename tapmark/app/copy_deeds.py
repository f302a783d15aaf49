"""Back-up, the way back, two copies put together, and a look through the files."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.proposal import Line, Proposal, propose
from tapmark.app.squad_deeds import forget_run, needs_squad, refresh_roster, today, use_squad
from tapmark.app.squad_side import SquadSide
from tapmark.app.titles import several, squad_name
from tapmark.errors import TapmarkError
from tapmark.store.archive import Backup, Restored, back_up, check_backup, held_on_to, restore
from tapmark.store.check import Finding
from tapmark.store.check import check_squad as look_through
from tapmark.store.squad import Squad, open_squad

UNTOUCHED = "Stopped. Nothing was changed."
PLAIN = "The zip is not encrypted: keep the stick as you would keep the pictures."


def ask_back_up(desk: Desk) -> None:
    """Ask where to, then write the whole squad into one zip and read it back."""
    state = desk.state
    if not state.squad:
        return
    desk.refuse_unsaved()
    name = f"{state.squad.folder.name} {today(desk)}.zip"
    path = desk.ask.save_as("Back up: choose a stick", name)
    if path is None:
        return
    squad, folder, on = state.squad, state.squad.folder, today(desk)
    state.said = f"Backing up to “{path.name}” …"
    desk.jobs.run(
        "copy",
        lambda task: back_up(open_squad(folder), path, on, task.report),
        lambda done: desk.attempt(lambda: _backed_up(desk, squad, done)),
        desk.failed,
        stopped="Stopped. No back-up was made.",
        by="window",
    )


def _backed_up(desk: Desk, squad: Squad, done: Backup) -> None:
    """Note the day with the squad that was backed up, open or not."""
    state = desk.state
    is_open = state.squad is not None and state.squad.folder == squad.folder
    own = state.squad if is_open and state.squad else squad
    own.save_choices(
        replace(own.choices if is_open else own.reload_choices(), backed_up=today(desk))
    )
    if is_open:
        refresh_roster(desk)
    size = f"{several(done.n_files, 'file')}, {done.n_bytes / 1e6:.1f} MB, every one read back"
    if done.left_out:
        propose(desk, left_out(done, size))
    else:
        state.said = f"{size}: {done.path}. {PLAIN}"
        state.tell()


def left_out(done: Backup, size: str) -> Proposal:
    """Return what did not go into a back-up, and why."""
    return Proposal(
        "The back-up is made",
        (
            f"{size}: {done.path}",
            PLAIN,
            f"{several(len(done.left_out), 'file')} stayed out of it. They are still here.",
        ),
        (("file", 26), ("why it stayed out", 16)),
        tuple(Line(way, (way, why)) for way, why in done.left_out),
    )


def ask_restore(desk: Desk) -> None:
    """Ask for a back-up, read every byte of it, and only then offer to bring it back."""
    path, folder = desk.ask.zip_file(), desk.state.folder
    if path:
        desk.state.said = f"Reading “{path.name}” …"
        desk.jobs.run(
            "copy",
            lambda task: (check_backup(path, task.report), _holds_on(path, folder)),
            lambda found: desk.attempt(lambda: propose(desk, whole(desk, *found))),
            desk.failed,
            stopped=UNTOUCHED,
            by="window",
        )
        desk.state.tell()


def _holds_on(path: Path, folder: Path | None) -> tuple[str, ...]:
    return held_on_to(path, folder).told() if folder else ()


def whole(desk: Desk, found: Backup, holds_on: tuple[str, ...] = ()) -> Proposal:
    """Return the offer to bring a checked back-up back.

    holds_on: what was withdrawn or deleted since in the squad it may replace.
    """
    state = desk.state
    into = ((f"In place of {squad_name(state)}…", lambda d: _replace(d, found)),)
    return Proposal(
        "This back-up is whole",
        (
            f"“{found.path.name}” holds {several(found.n_files, 'file')}, "
            f"{found.n_bytes / 1e6:.1f} MB. Every one fits its checksum.",
            "It can be unpacked into a new folder beside the squad you have. Put in place of this "
            "squad, the present folder is renamed and kept, never deleted.",
            "Whoever was deleted after the back-up was made would be back in a new folder.",
            *(f"In place of this squad: {words}" for words in holds_on),
        ),
        confirm="Unpack into a new folder…",
        deed=lambda d, choices: _unpack(d, found),
        more=into if state.squad else (),
    )


def _unpack(desk: Desk, found: Backup) -> None:
    folder = desk.ask.folder("Unpack: choose a new or an empty folder")
    if folder:
        _restore(desk, found, folder, desk.failed, replace_old=False)


def _replace(desk: Desk, found: Backup) -> None:
    """Put a back-up in the place of the squad, which is closed until that is done."""
    state, folder = desk.state, desk.state.folder
    if folder is None:
        return
    forget_run(desk)  # its lock lies in the folder that is renamed
    state.squad, state.athlete, state.side = None, None, SquadSide()
    desk.go("squad")

    def failed(trouble: TapmarkError) -> None:
        desk.attempt(lambda: use_squad(desk, folder))
        desk.failed(trouble)

    _restore(desk, found, folder, failed, replace_old=True)


def _restore(
    desk: Desk,
    found: Backup,
    folder: Path,
    failed: Callable[[TapmarkError], None],
    *,
    replace_old: bool,
) -> None:
    now = desk.now()
    desk.state.said = f"Unpacking into “{folder.name}” …"
    desk.jobs.run(
        "copy",
        lambda task: restore(found.path, folder, now, replace_old),
        lambda done: desk.attempt(lambda: _restored(desk, done)),
        failed,
        by="squad",
    )
    desk.state.tell()


def _restored(desk: Desk, done: Restored) -> None:
    use_squad(desk, done.folder)
    kept = f" The old folder is kept as “{done.old_kept.name}”." if done.old_kept else ""
    desk.state.said = f"Every file was checked and unpacked: {done.folder}.{kept}"
    desk.state.tell()


def check_files(desk: Desk) -> None:
    """Look through every file of the squad, beside the window."""
    folder = desk.state.folder
    if folder:
        on = today(desk)
        desk.state.said = "Looking through the files …"
        desk.jobs.run(
            "copy",
            lambda task: look_through(open_squad(folder, []), on),
            lambda found: propose(desk, findings(folder, found)),
            desk.failed,
            stopped=UNTOUCHED,
            by="squad",
        )


def findings(folder: Path, found: tuple[Finding, ...]) -> Proposal:
    """Return what is odd about the files, or that all is well."""
    all_well = "Every file can be read, nothing is missing and nothing is left over."
    about = ("Nothing was changed. A damaged file stays as it is, a copy with its date beside it.",)
    return Proposal(
        "The files of this squad",
        about if found else (all_well,),
        (("where", 16), ("what was found", 30)),
        tuple(
            Line(
                f"{i}",
                (each.path.relative_to(folder).as_posix(), each.words),
                "To look at" if each.is_serious else "Good to know",
                about=each.words,
            )
            for i, each in enumerate(found)
        ),
    )


_SQUAD = ("squad", "group", "season", "proposal")

ACTIONS = (
    Action("back up", "Back up the squad…", ask_back_up, ("Mod+B",), _SQUAD, "Copies", needs_squad),
    Action("restore", "Check a back-up, bring it back…", ask_restore, (), (), "Copies"),
    Action("check squad", "Look through the files", check_files, (), (), "Copies", needs_squad),
)

"""A run that is open for marking: nobody else writes it, and every save is on the disk."""

from datetime import datetime

from tapmark.disk import PATIENCE_S
from tapmark.errors import StoreError
from tapmark.marks.run import Run
from tapmark.store.lock import Lock, take_lock
from tapmark.store.squad import Squad


class OpenRun:
    """One run, held for writing until close; `run` is what was saved last.

    notes: sentences about what was found or kept while it was open; the window shows them.
    """

    def __init__(self, squad: Squad, code: str, dated: str, name: str, lock: Lock) -> None:
        self.code, self.dated, self.name = code, dated, name
        self.notes: tuple[str, ...] = ()
        self.run = squad.load_run(code, dated, name)
        self._squad, self._lock = squad, lock

    def save(self, run: Run, patience_s: float = PATIENCE_S) -> None:
        """Put the run on the disk; when this returns, a power cut cannot take it back.

        A version that another program put there is kept beside it and told in notes.
        patience_s: how long another program that has the file open is waited for.
        Raises CannotWrite; then the file holds what was saved before.
        """
        kept = self._squad.save_run(self.code, self.dated, self.name, run, patience_s)
        self.run = run
        if kept:
            told = (
                f"Another program changed “{self.name}” while it was open here. Its version is "
                f"kept as “{kept.name}”; yours is saved. Compare the two and delete the one you "
                "don't need."
            )
            self.notes = (*self.notes, told)

    def close(self) -> None:
        """Give the run free for others."""
        self._lock.release()

    def __enter__(self) -> "OpenRun":
        return self

    def __exit__(self, *error: object) -> None:
        self.close()


def open_run(
    squad: Squad,
    code: str,
    dated: str,
    name: str,
    program: str,
    now: datetime,
    take_over: bool = False,
) -> OpenRun:
    """Open a run for marking.

    Raises HeldByAnother (offer `squad.load_run`, to look at only), CannotWrite on a disk that can
    only be read (the same), NotThere, FileDamaged, FileTooNew.
    """
    squad.load_run(code, dated, name)
    lock = take_lock(squad.run_path(code, dated, name), program, now, take_over)
    try:
        return OpenRun(squad, code, dated, name, lock)
    except StoreError:
        lock.release()
        raise

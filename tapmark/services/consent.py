"""The one check on every way in and out: window, command line and batches pass here."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from pathlib import Path

from tapmark.errors import NoConsent, NotThere
from tapmark.marks.people import CONSENTS, Athlete
from tapmark.media_types import is_film
from tapmark.store import consent
from tapmark.store.files import write_bytes, write_together
from tapmark.store.leaving import Leaving
from tapmark.store.pictures import Still, is_photo_page, keep_stills
from tapmark.store.squad import RunAt, Squad, Troubles

PHOTO, KEPT_PHOTO = "photo", "kept photo"
"""A photo in place of the line figure, and a page with such a photo, which stays in the folder."""
_KIND_OF_FILE = {
    **{".html": "html", ".png": "png", ".csv": "csv", ".txt": "physio note"},
    **{".mp4": "film", ".gif": "film"},
}


def let_in(squad: Squad, code: str, today: date) -> Athlete:
    """Return the athlete when clips of them may be brought in; raise NoConsent, NotThere."""
    athlete = squad.athlete(code)
    refuse_clips_of(athlete, today)
    return athlete


def refuse_clips_of(athlete: Athlete, today: date) -> None:
    """Raise NoConsent where no clip of an athlete may be brought in."""
    consent.may_import(athlete, today.isoformat())


def keep_in(squad: Squad, run: RunAt, stills: Mapping[Still, bytes], today: date) -> None:
    """Keep JPEG stills beside a run; raise NoConsent, FileDamaged, CannotWrite.

    Without the consent to keep them they go when the sheet is written, a week later at the latest.
    """
    let_in(squad, run[0], today)
    keep_stills(squad, *run, stills, today.isoformat())


def let_out(kind: str, squad: Squad, codes: Iterable[str], today: date) -> tuple[Athlete, ...]:
    """Return the athletes when something of all of them may leave; raise NoConsent for the first.

    kind: one of store.consent.WAYS_OUT, PHOTO or KEPT_PHOTO.
    """
    athletes = tuple(squad.athlete(code) for code in codes)
    for athlete in athletes:
        if kind in (PHOTO, KEPT_PHOTO):
            consent.may_show_photo(athlete, today.isoformat())
            if kind == KEPT_PHOTO:
                consent.may_keep_stills(athlete, today.isoformat())
        else:
            consent.may_write(kind, athlete, today.isoformat())
    return athletes


def who_goes_out(
    kind: str, squad: Squad, today: date, troubles: Troubles
) -> tuple[tuple[Athlete, ...], tuple[str, ...]]:
    """Return those who are not archived and may be on a page of the group, and why not the others.

    troubles: athletes whose file cannot be read are left out and told there.
    """
    here = (athlete for athlete in squad.athletes(troubles) if not athlete.is_archived)
    return consent.who_may(kind, here, today.isoformat())


def write_out(
    kind: str, squad: Squad, codes: Iterable[str], path: Path, data: bytes, today: date
) -> Path:
    """Write a file that leaves, whole or not at all, and return its path.

    codes: everybody who is in it. Raises NoConsent and leaves the disk alone, CannotWrite.
    """
    let_out(kind, squad, codes, today)
    write_bytes(path, data)
    return path


def write_pair_out(
    kinds: tuple[str, str],
    squad: Squad,
    codes: Sequence[str],
    pdf: Path,
    contents: tuple[bytes, bytes],
    today: date,
) -> Path:
    """Write a page as PDF and, beside it, as HTML: both or neither; return the PDF's path.

    kinds, contents: of PDF and HTML. Raises NoConsent and leaves the disk alone, CannotWrite.
    """
    for kind in kinds:
        let_out(kind, squad, codes, today)
    write_together({pdf: contents[0], pdf.with_suffix(".html"): contents[1]})
    return pdf


def file_name(codes: Iterable[str], what: str, dated: str, ending: str) -> str:
    """Return a name of codes, purpose and date: nobody's name stands in a file name."""
    return f"{'-'.join((*codes, what, dated))}{ending}"


def hand_over(squad: Squad, path: Path, today: date) -> Path:
    """Return a written page or table when it may be printed or opened now.

    The answers may have changed since it was written. Raises NoConsent, NotThere when it is gone.
    """
    if not path.is_file():
        raise NotThere(f"“{path.name}” is not there any more. Make it again.")
    parts = path.resolve().relative_to(squad.folder.resolve()).parts
    codes = parts[1:2] if parts[0] == "athletes" and len(parts) > 2 else squad.codes()
    kind = KEPT_PHOTO if is_photo_page(path) else _KIND_OF_FILE.get(path.suffix.lower(), "pdf")
    if codes == parts[1:2]:
        let_out(kind, squad, codes, today)
    shown = Leaving(squad, today.isoformat()).codes_of(path) if is_film(path.name) else frozenset()
    if len(shown) > 1:
        let_out("side by side", squad, sorted(shown), today)
        codes = tuple(sorted(shown))
    for code in codes:
        written = path.stat().st_mtime
        answers = squad.athlete_folder(code) / "athlete.json"
        then = datetime.fromtimestamp(written).date().isoformat()
        athlete = squad.athlete(code)
        ran_out = [
            use
            for use in CONSENTS
            if consent.consent_state(athlete, use, then)
            != consent.consent_state(athlete, use, today.isoformat())
        ]
        if ran_out or answers.stat().st_mtime > written:
            raise NoConsent(
                f"What is known of {code} has changed since “{path.name}” was written. "
                "Make it again, then hand it over."
            )
    return path

"""Consent: what may be brought in, and what may go out, for one athlete on one day."""

from collections.abc import Callable, Iterable
from dataclasses import replace

from tapmark.errors import NoConsent
from tapmark.marks.days import long_day
from tapmark.marks.people import CONSENT_WORDS, Athlete, Consent
from tapmark.store.shown import shown_text

FILM = "film"
KEEP_STILLS = "keep stills"
PRINT_PHOTO = "print photo"
SHARE_WITH_PHYSIO = "share with physio"
SHOW_TO_GROUP = "show to group"
WAYS_OUT = {
    "pdf": ((FILM,), "The page is not written"),
    "html": ((FILM,), "The web page is not written"),
    "png": ((FILM,), "The picture is not written"),
    "film": ((FILM,), "The film is not written"),
    "csv": ((FILM,), "The table is not written"),
    "group sheet": ((FILM,), "The group sheet goes without them"),
    "side by side": ((FILM, SHOW_TO_GROUP), "The two are not shown side by side"),
    "physio note": ((FILM, SHARE_WITH_PHYSIO), "The note is not written"),
    "pictures in a back-up": ((FILM, KEEP_STILLS), "Their pictures stay out of the back-up"),
}
"""What leaves the program: the consents it needs, and what follows where one is missing."""
STATES = ("given", "never asked", "refused", "withdrawn", "expired", "not yet")


def consent_state(athlete: Athlete, use: str, today: str) -> str:
    """Return one of STATES for a use of pictures; today is an ISO date.

    "not yet" is a consent dated after today: the clock or the date is wrong.
    """
    answer = athlete.consent(use)
    if answer is None:
        return "never asked"
    if answer.withdrawn:
        return "withdrawn"
    if not answer.is_given:
        return "refused"
    if answer.dated > today:
        return "not yet"
    return "expired" if answer.expires and answer.expires < today else "given"


def may_import(athlete: Athlete, today: str) -> None:
    """Return when clips of the athlete may be brought in; raise NoConsent."""
    if athlete.is_archived:
        raise NoConsent(f"{athlete.code} is archived. Take them out of the archive first.")
    _need(athlete, FILM, today, "No clip is brought in")


def may_write(kind: str, athlete: Athlete, today: str) -> None:
    """Return when a page, table or picture of the athlete may be written; raise NoConsent.

    kind: one of WAYS_OUT.
    """
    uses, then = WAYS_OUT[kind]
    for use in uses:
        _need(athlete, use, today, then)


def may_show_photo(athlete: Athlete, today: str) -> None:
    """Return when a photo may stand on paper in place of the line figure; raise NoConsent."""
    for use in (FILM, PRINT_PHOTO):
        _need(athlete, use, today, "The page shows the line figure instead of a photo")


def may_keep_stills(athlete: Athlete, today: str) -> None:
    """Return when stills may stay after the sheet is written; raise NoConsent."""
    for use in (FILM, KEEP_STILLS):
        _need(athlete, use, today, "The stills go when the sheet is written; the points stay")


def is_allowed(check: Callable[..., None], *arguments: object) -> bool:
    """Return whether a check above passes, for a view that greys things out."""
    try:
        check(*arguments)
    except NoConsent:
        return False
    return True


def who_may(
    kind: str, athletes: Iterable[Athlete], today: str
) -> tuple[tuple[Athlete, ...], tuple[str, ...]]:
    """Return those for whom it may be written, and a sentence for each of the others."""
    may: list[Athlete] = []
    sentences: list[str] = []
    for athlete in athletes:
        try:
            may_write(kind, athlete, today)
            may.append(athlete)
        except NoConsent as closed:
            sentences.append(str(closed))
    return tuple(may), tuple(sentences)


def give(athlete: Athlete, use: str, by: str, today: str, expires: str = "") -> Athlete:
    """Return the athlete with a consent given today; earlier answers stay on record."""
    answer = Consent(use, True, by, today, expires)
    return replace(athlete, consents=(*athlete.consents, answer))


def refuse(athlete: Athlete, use: str, by: str, today: str) -> Athlete:
    """Return the athlete with a no to one use of pictures, dated today."""
    return replace(athlete, consents=(*athlete.consents, Consent(use, False, by, today)))


def withdraw(athlete: Athlete, use: str, by: str, today: str) -> Athlete:
    """Return the athlete with a consent withdrawn today; earlier answers stay on record."""
    old = athlete.consent(use) or Consent(use, False)
    answer = replace(old, by=by, withdrawn=today)
    return replace(athlete, consents=(*athlete.consents, answer))


def both_answers(ours: tuple[Consent, ...], theirs: tuple[Consent, ...]) -> tuple[Consent, ...]:
    """Return the answers of two versions of an athlete; what both had stands first.

    Where each has news, every no comes last: it was given without knowing of the other's yes.
    """
    n = 0
    while n < min(len(ours), len(theirs)) and ours[n] == theirs[n]:
        n += 1
    if n in (len(ours), len(theirs)):
        return max(ours, theirs, key=len)
    news = (*ours[n:], *(answer for answer in theirs[n:] if answer not in ours[n:]))
    noes_last = sorted(news, key=lambda answer: not answer.is_given or bool(answer.withdrawn))
    return (*ours[:n], *noes_last)


_STATE_WORDS = {
    "never asked": "nobody has been asked for the consent “{use}”",
    "refused": "the consent “{use}” was refused ({by}{dated})",
    "withdrawn": "the consent “{use}” was withdrawn on {withdrawn}",
    "expired": "the consent “{use}” ran out on {expires}. Ask again and enter the new date",
    "not yet": "the consent “{use}” is dated {dated}, after today, {today}. Look at the date and "
    "at this computer's clock",
}


def _need(athlete: Athlete, use: str, today: str, then: str) -> None:
    state = consent_state(athlete, use, today)
    if state == "given":
        return
    answer = athlete.consent(use) or Consent(use, False)
    words = _STATE_WORDS[state].format(
        use=CONSENT_WORDS[use],
        by=f"{shown_text(answer.by)}, " if answer.by else "",
        dated=long_day(answer.dated) or "no date",
        withdrawn=long_day(answer.withdrawn),
        expires=long_day(answer.expires),
        today=long_day(today),
    )
    raise NoConsent(f"{athlete.code}: {words}. {then}.")

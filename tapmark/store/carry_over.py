"""What a restore must not undo: a no said since the back-up was made, and who was deleted since.

Read from the squad that lies in the place to be restored. A yes in the back-up that is younger
than the no stays. Who was deleted is written nowhere, only when: if the squad knows of deletions
that the back-up does not, an athlete in the back-up alone counts as deleted.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from tapmark.errors import StoreError
from tapmark.marks.days import long_day
from tapmark.marks.people import CONSENT_WORDS, Athlete, Consent
from tapmark.store import delete
from tapmark.store.choices import SquadChoices
from tapmark.store.squad import Squad, open_squad


@dataclass(frozen=True)
class CarriedOver:
    """What of the squad in place holds on after a restore.

    answers:    (code, their no) of each use of pictures.
    deleted:    codes that are in the back-up and were deleted since.
    deleted_on: the dates that squad.json must know afterwards.
    unread:     sentences about files of the squad in place that nobody can read.
    """

    answers: tuple[tuple[str, Consent], ...] = ()
    deleted: tuple[str, ...] = ()
    deleted_on: tuple[str, ...] = ()
    unread: tuple[str, ...] = ()

    def told(self) -> tuple[str, ...]:
        """Return a sentence for each thing, for the coach to read before anything is done."""
        return (
            *(
                f"{code}: the no to “{CONSENT_WORDS[no.use]}” of {long_day(_said_on(no)) or 'here'}"
                " is younger than the back-up and goes on counting."
                for code, no in self.answers
            ),
            *(f"{code} was deleted since and stays deleted." for code in self.deleted),
            *(f"Cannot be carried over: {words}" for words in self.unread),
        )


def carried_over(
    folder: Path, athletes: Iterable[Athlete], choices: SquadChoices, codes: Iterable[str]
) -> CarriedOver:
    """Return what of the squad in a folder holds on when a back-up takes its place.

    athletes, choices: of the back-up, as far as they can be read; codes: of everybody in it.
    """
    troubles: list[StoreError] = []
    try:
        here = open_squad(folder, troubles)
    except StoreError:
        return CarriedOver()  # nothing there, or no squad
    known = set(here.codes())
    later = Counter(here.choices.deleted_on) - Counter(choices.deleted_on)
    answers = tuple(
        (theirs.code, no)
        for theirs in athletes
        if theirs.code in known
        for no in _nos_since(here, theirs, troubles)
    )
    return CarriedOver(
        answers,
        tuple(sorted(set(codes) - known)) if later else (),
        tuple(sorted((Counter(choices.deleted_on) | Counter(here.choices.deleted_on)).elements())),
        tuple(map(str, troubles)),
    )


def put_into(squad: Squad, carried: CarriedOver, now: datetime) -> None:
    """Put it into the squad unpacked from the back-up; raise StoreError when it cannot be."""
    for code in carried.deleted:
        delete.delete_athlete(squad, delete.plan_delete(squad, code), now)
    for code in dict.fromkeys(code for code, _ in carried.answers):
        athlete = squad.athlete(code)
        nos = tuple(no for whose, no in carried.answers if whose == code)
        squad.save_athlete(replace(athlete, consents=(*athlete.consents, *nos)))
    known = squad.choices.deleted_on
    missing = tuple(sorted((Counter(carried.deleted_on) - Counter(known)).elements()))
    if missing:
        squad.save_choices(replace(squad.choices, deleted_on=(*known, *missing)))


def _nos_since(here: Squad, theirs: Athlete, troubles: list[StoreError]) -> tuple[Consent, ...]:
    try:
        ours = here.athlete(theirs.code)
    except StoreError as error:
        troubles.append(error)
        return ()
    last = {each.use: each for each in ours.consents}
    return tuple(no for no in last.values() if _is_no(no) and not _is_answered(theirs, no))


def _is_no(answer: Consent) -> bool:
    return bool(answer.withdrawn) or not answer.is_given


def _is_answered(theirs: Athlete, no: Consent) -> bool:
    """Say whether the back-up has a no as well, or a yes that is younger."""
    answer = theirs.consent(no.use)
    if answer is None:
        return False
    return _is_no(answer) or answer.dated > _said_on(no)


def _said_on(no: Consent) -> str:
    return no.withdrawn or no.dated

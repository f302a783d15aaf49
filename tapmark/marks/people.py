"""An athlete and a visit, as frozen values: codes and choices, never a full name."""

from dataclasses import dataclass

CONSENTS = ("film", "keep stills", "print photo", "share with physio", "show to group")
CONSENT_WORDS = {
    "film": "film",
    "keep stills": "keep stills",
    "print photo": "photo on the sheet",
    "share with physio": "share with physio",
    "show to group": "show to the group",
}
"""Use -> what it is called in forms and sentences."""

CLEARANCES = ("", "under treatment", "cleared")


@dataclass(frozen=True)
class Consent:
    """One answer to one use of pictures; every date is ISO text, "" where there is none."""

    use: str
    is_given: bool
    by: str = ""
    dated: str = ""
    expires: str = ""
    withdrawn: str = ""


@dataclass(frozen=True)
class Length:
    """A body length with the day it was measured; what: "leg" (tape) or "height"."""

    what: str
    cm: float
    dated: str


@dataclass(frozen=True)
class Athlete:
    """A code or initials, year of birth, event group, lengths and consent.

    clearance:  "" (no treatment known), "under treatment" or "cleared" by a licensed clinician.
    extra:      keys of the file that this version does not know; written back unchanged.
    """

    code: str
    birth_year: int | None = None
    group: str = ""
    notes: str = ""
    lengths: tuple[Length, ...] = ()
    mass_kg: float | None = None
    consents: tuple[Consent, ...] = ()
    clearance: str = ""
    is_archived: bool = False
    own_cue: str = ""
    goal_race: str = ""
    extra: tuple[tuple[str, object], ...] = ()

    def consent(self, use: str) -> Consent | None:
        """Return the latest answer for that use of pictures, or None when never asked."""
        return next((c for c in reversed(self.consents) if c.use == use), None)


@dataclass(frozen=True)
class Slot:
    """One thing to work on: item number 1 to 18 and the words chosen for it ("" = by rule)."""

    item: int
    cue: str = ""
    since: str = ""


@dataclass(frozen=True)
class Visit:
    """One athlete on one day: which runs, the choice, the words, the notes.

    dated:        ISO date of filming.
    runs:         names of run files, e.g. "run-1".
    slots:        at most two; None = not chosen by hand, the rule decides.
    reason:       why the coach chose otherwise than the rule.
    accepted:     items that the coach accepts for an athlete under 16.
    ticked:       (date, did it, felt) rows typed back in from paper.
    """

    code: str
    dated: str
    runs: tuple[str, ...] = ()
    slots: tuple[Slot, ...] | None = None
    reason: str = ""
    accepted: tuple[int, ...] = ()
    notes: str = ""
    sheet_number: int = 0
    retest_week: str = ""
    ticked: tuple[tuple[str, bool, str], ...] = ()
    coach_saw: str = ""
    extra: tuple[tuple[str, object], ...] = ()

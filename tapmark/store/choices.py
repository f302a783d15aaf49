"""What a squad has chosen once and for all (squad.json), and when a back-up is due."""

from dataclasses import dataclass, field
from datetime import date

from tapmark.marks.days import long_day
from tapmark.marks.run import QUESTIONS, SetUp

PAPERS = ("a4", "letter")
NECK_BASE = ("not asked", "yes", "no")
REMIND_AFTER = 7  # days


@dataclass(frozen=True)
class OwnError:
    """One row of a coach's tap card: how far two looks at the same point lie apart.

    marker:      who tapped, as in Run.marked_by.
    point:       "hip", "near knee" … as tapped.
    sd_percent:  √(Σ(dx² + dy²) / 4n) per coordinate, in % of leg length.
    n:           second looks that went in.
    """

    marker: str
    point: str
    sd_percent: float
    n: int
    dated: str = ""


@dataclass(frozen=True)
class Phone:
    """A phone by the name the squad gives it, and its true rate in pictures per second."""

    name: str
    rate_hz: float
    dated: str = ""


@dataclass(frozen=True)
class SquadChoices:
    """Defaults of one squad.

    neck_base:     "yes", "no" or "not asked": tap the neck base in place of the shoulder.
    set_up:        answers offered for the next run.
    season_ends:   ISO date; pictures and points are kept keep_months longer.
    rota_weeks:    an athlete not filmed for longer than this is due.
    backed_up:     ISO date of the last back-up that was made from this folder.
    list_for_adults: the 18 items stand on the pages of adults as well.
    deleted_on:    dates on which somebody was deleted; never who.
    """

    name: str = ""
    language: str = "en"
    paper: str = "a4"
    neck_base: str = "not asked"
    marker: str = ""
    set_up: SetUp = field(default_factory=lambda: SetUp(unanswered=QUESTIONS))
    tap_card: tuple[OwnError, ...] = ()
    phones: tuple[Phone, ...] = ()
    season_ends: str = ""
    keep_months: int = 12
    rota_weeks: int = 5
    per_evening: int = 8
    list_for_adults: bool = False
    backed_up: str = ""
    deleted_on: tuple[str, ...] = ()
    extra: tuple[tuple[str, object], ...] = ()

    def own_errors(self, marker: str) -> tuple[OwnError, ...]:
        """Return the tap card of one marker."""
        return tuple(row for row in self.tap_card if row.marker == marker)


def backup_reminder(choices: SquadChoices, today: str) -> str:
    """Return a sentence when the last back-up is older than REMIND_AFTER, else ""."""
    if not choices.backed_up:
        return "This squad has never been backed up. Plug in a USB stick and make a back-up."
    n_days = (date.fromisoformat(today) - date.fromisoformat(choices.backed_up)).days
    if 0 <= n_days <= REMIND_AFTER:
        return ""
    if n_days < 0:
        then = long_day(choices.backed_up)
        return f"The last back-up is dated {then}: look at this computer's clock."
    return f"The last back-up is {n_days} days old. Plug in a USB stick and make a new one."

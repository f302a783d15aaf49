"""The form for consent: one answer to each use of pictures, who signed, when, until when.

Only what changed is written, and every earlier answer stays on record. Taking a yes back is a
withdrawal and counts at once.
"""

from datetime import date

from tapmark.app.form import Entries, Field, FieldTrouble, day_of
from tapmark.app.roster import whom_to_ask
from tapmark.marks.days import long_day, short_day
from tapmark.marks.people import CONSENT_WORDS, CONSENTS, Athlete, Consent
from tapmark.store.gates import consent_state, give, refuse, withdraw

YES, NO, NOT_ASKED = "yes", "no", "not asked"
RENEW, KEEP = "renew every yes", "only what changed"


def consent_fields(athlete: Athlete, today: str) -> tuple[Field, ...]:
    """Return one field a use, then who signed, when, until when."""
    answers = (
        Field(use, CONSENT_WORDS[use], state_words(athlete, use, today), _choices(athlete, use))
        for use in CONSENTS
    )
    return (
        *answers,
        Field("by", "Signed by", f"initials: {whom_to_ask(athlete, date.fromisoformat(today))}"),
        Field("dated", "on", "empty: today"),
        Field("until", "until", "empty: until it is taken back"),
        Field("reach", "Counts for", choices=(KEEP, RENEW)),
    )


def consent_entries(athlete: Athlete, season_ends: str, today: str) -> dict[str, str]:
    """Return the answers as they stand; the end of the season is offered as the last day."""
    answers = {use: _answer(athlete, use) for use in CONSENTS}
    until = season_ends if season_ends > today else ""
    has_ended = any(consent_state(athlete, use, today) == "expired" for use in CONSENTS)
    return {**answers, "until": long_day(until), "reach": RENEW if has_ended else KEEP}


def all_no(athlete: Athlete) -> dict[str, str]:
    """Return the answers with no to everything that was ever answered, and to filming."""
    asked = (use for use in CONSENTS if athlete.consent(use) or use == CONSENTS[0])
    return dict.fromkeys(asked, NO)


def with_consents(athlete: Athlete, entries: Entries, today: str) -> Athlete:
    """Return the athlete with the answers of the form; raise FieldTrouble."""
    by = entries.get("by", "").strip()[:200]
    signed = day_of(entries.get("dated", ""), "dated") or today
    if signed > today:
        raise FieldTrouble("dated", f"{long_day(signed)} lies after today, {long_day(today)}.")
    until = day_of(entries.get("until", ""), "until")
    for use in CONSENTS:
        old, new = _answer(athlete, use), entries.get(use, NOT_ASKED)
        if new == YES and (old != YES or entries.get("reach") == RENEW):
            _need_signature(by, until, signed)
            athlete = give(athlete, use, by, signed, until)
        elif new == NO and old != NO:
            athlete = (withdraw if old == YES else refuse)(athlete, use, by, signed)
    return athlete


def taken_back(before: Athlete, after: Athlete) -> tuple[str, ...]:
    """Return the uses that were a yes before and are a no now."""
    return tuple(
        use for use in CONSENTS if _answer(before, use) == YES and _answer(after, use) == NO
    )


def state_words(athlete: Athlete, use: str, today: str) -> str:
    """Return the answer on record in a few words: who, when, until when."""
    answer, state = athlete.consent(use), consent_state(athlete, use, today)
    if answer is None:
        return ""
    if state == "withdrawn":
        return f"taken back {short_day(answer.withdrawn)}{_by(answer)}"
    if state == "refused":
        return f"no since {short_day(answer.dated)}{_by(answer)}"
    if state == "expired":
        return f"ran out {short_day(answer.expires)}{_by(answer)}: ask again"
    if state == "not yet":
        return f"dated {short_day(answer.dated)}, after today"
    until = f"until {short_day(answer.expires)}" if answer.expires else "no end"
    return f"{until}{_by(answer)}, since {short_day(answer.dated)}"


def _by(answer: Consent) -> str:
    return f", {answer.by}" if answer.by else ""


def _answer(athlete: Athlete, use: str) -> str:
    answer = athlete.consent(use)
    if answer is None:
        return NOT_ASKED
    return YES if answer.is_given and not answer.withdrawn else NO


def _choices(athlete: Athlete, use: str) -> tuple[str, ...]:
    return (YES, NO) if athlete.consent(use) else (NOT_ASKED, YES, NO)


def _need_signature(by: str, until: str, signed: str) -> None:
    if not by:
        raise FieldTrouble("by", "Write who signed, in initials.")
    if until and until <= signed:
        raise FieldTrouble(
            "until", f"{long_day(until)} is over before it begins, {long_day(signed)}."
        )

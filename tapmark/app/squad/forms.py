"""The forms of the Squad page: athlete, consent, the squad's choices."""

from dataclasses import replace
from datetime import date
from functools import partial

from tapmark.app.shell.context import Context
from tapmark.app.shell.squads import choose_athlete, open_form, refresh_roster
from tapmark.app.shell.why_disabled import today
from tapmark.app.state.form import (
    NO,
    YES,
    Entries,
    Field,
    FieldTrouble,
    Form,
    day_of,
    number,
    whole,
)
from tapmark.app.state.roster_lines import whom_to_ask
from tapmark.errors import StoreError
from tapmark.marks.days import long_day, short_day
from tapmark.marks.people import CONSENT_WORDS, CONSENTS, Athlete, Length
from tapmark.store.choices import SquadChoices
from tapmark.store.consent import consent_state, give, refuse, withdraw
from tapmark.store.names import check_new_code
from tapmark.store.retention import sweep
from tapmark.store.season import growth, length_on


def form_of(context: Context, name: str) -> Form:
    """Return the form of that name for what is chosen now: "new athlete", "athlete" …"""
    squad, athlete, day = context.state.squad, context.state.athlete, today(context)
    if name == "consent" and athlete:
        return Form(
            f"Consent of {athlete.code}",
            "Tick what the signed paper allows; no tick is a no, and counts at once and "
            "everywhere.",
            consent_fields(athlete, day),
            consent_entries(athlete, squad.choices.season_ends if squad else "", day),
            lambda entries: _save_consent(context, entries, athlete),
            "film",
            (("All", dict.fromkeys(CONSENTS, YES)), ("None", dict.fromkeys(CONSENTS, NO))),
        )
    if name == "squad" and squad:
        chosen = squad.choices
        save = partial(_save_choices, context, old=chosen)
        return Form("This squad", "", CHOICES, choices_entries(chosen), save, "name")
    known = athlete if name == "athlete" else None
    return Form(
        f"Change {known.code}" if known else "New athlete",
        "",
        athlete_fields(known),
        athlete_entries(known),
        lambda entries: _save_athlete(context, entries, known),
        "birth_year" if known else "code",
    )


def _save_athlete(context: Context, entries: Entries, old: Athlete | None) -> None:
    day = today(context)
    athlete = athlete_from(entries, old, context.state.the_squad.codes(), day)
    _write(context, athlete, old)
    if old is None:
        open_form(context, "consent")
        words = f"{athlete.code} is in the squad. Which consents do you hold on paper?"
        context.state.status = words
        return
    context.state.status = f"{athlete.code} is saved."
    for what in SPANS:
        dates = [length.dated for length in athlete.lengths if length.what == what]
        grown = growth(athlete, dates[-2], day, what) if len(dates) > 1 else None
        if grown:
            words = f"{athlete.code} grew {grown.cm:.1f} cm: changes are compared in % of leg."
            context.state.status = words


def _write(context: Context, athlete: Athlete, old: Athlete | None) -> None:
    """Write a new athlete, or what the form changed of a known one; close the form."""
    state, squad = context.state, context.state.the_squad
    if old is None:
        squad.add_athlete(athlete)
    else:
        squad.save_athlete(athlete, old)
    _close(context)
    if state.athlete and state.athlete.code == athlete.code:
        state.session.athlete = squad.athlete(athlete.code)
    else:
        choose_athlete(context, athlete.code)


def _close(context: Context) -> None:
    """Close the form after its contents were saved, and read the list again."""
    context.saver.note_saved()
    refresh_roster(context)
    context.state.around.squad.form = ""


def _save_consent(context: Context, entries: Entries, old: Athlete) -> None:
    day = today(context)
    athlete = with_consents(old, entries, day)
    _write(context, athlete, old)
    given = [CONSENT_WORDS[u] for u in CONSENTS if consent_state(athlete, u, day) == "given"]
    said = f"saved. Allowed: {', '.join(given)}." if given else "saved. Nothing is allowed."
    if uses := withdrawn_uses(old, athlete):
        n_stills = sum(due.n_pictures for due in sweep(context.state.the_squad, day))
        gone = f" {n_stills} stills were deleted with it." if n_stills else ""
        said = (
            f"{', '.join(uses)} withdrawn.{gone} Back-ups and printed pages are out of reach: see "
            "to them by hand."
        )
    context.state.status = f"{athlete.code}: {said}"


def _save_choices(context: Context, entries: Entries, old: SquadChoices) -> None:
    context.state.the_squad.save_choices(choices_from(entries, old), old)
    _close(context)
    context.state.status = "The choices of this squad are saved."


SPANS = {"height": (100.0, 230.0), "leg": (50.0, 130.0)}
MASS = (15.0, 200.0)
TREATMENT = {
    "no treatment known": "",
    "under treatment": "under treatment",
    "cleared by a clinician": "cleared",
}
LAST_DAY = "9999-12-31"


def athlete_fields(athlete: Athlete | None) -> tuple[Field, ...]:
    """Return the fields of the form; the code of a known athlete is fixed.

    Of a new one three are asked at once, the rest behind one button.
    """
    is_new, lengths = athlete is None, _lengths(athlete) if athlete else {}
    last = lengths.get("leg") or lengths.get("height")
    measured = f"last {short_day(last.dated)}; empty: today" if last else "empty: today"
    rest = (
        Field("leg_cm", "Leg length, cm", "bony knob of the hip to the floor, in shoes"),
        Field("height_cm", "or height, cm"),
        Field("measured", "measured on", measured),
        Field("mass_kg", "Mass, kg", "may stay empty"),
        Field("clearance", "Physio", choices=tuple(TREATMENT)),
        Field("goal_race", "Goal race on", "the two weeks before stay quiet"),
        Field("own_cue", "Their word for it"),
        Field("notes", "Note on the sides", "e.g. jumps off the left; no diagnoses here"),
    )
    return (
        Field("code", "Code or initials", "never a full name", is_fixed=not is_new),
        Field("birth_year", "Year of birth", "under 18 a parent signs as well"),
        Field("group", "Event group", "e.g. 400 and 800 m"),
        *(replace(field, is_later=is_new) for field in rest),
    )


def _lengths(athlete: Athlete) -> dict[str, Length]:
    """Return the newest leg and height that were measured."""
    found = {what: length_on(athlete, what, LAST_DAY) for what in SPANS}
    return {what: length for what, length in found.items() if length}


def athlete_entries(athlete: Athlete | None) -> dict[str, str]:
    """Return what is known as it stands in the form."""
    if athlete is None:
        return {"clearance": next(iter(TREATMENT))}
    names = {state: words for words, state in TREATMENT.items()}
    return {
        "code": athlete.code,
        "birth_year": str(athlete.birth_year or ""),
        "group": athlete.group,
        **{f"{what}_cm": f"{length.cm:g}" for what, length in _lengths(athlete).items()},
        "mass_kg": f"{athlete.mass_kg:g}" if athlete.mass_kg else "",
        "clearance": names[athlete.clearance],
        "goal_race": long_day(athlete.goal_race),
        "own_cue": athlete.own_cue,
        "notes": athlete.notes,
    }


def athlete_from(
    entries: Entries, old: Athlete | None, taken: tuple[str, ...], today: str
) -> Athlete:
    """Return the athlete that the form describes; raise FieldTrouble for what cannot be used.

    taken: codes of the squad. Lengths are added with their day; one of the same day is mended.
    """
    typed = {key: text.strip() for key, text in entries.items()}
    athlete = old or Athlete(_new_code(typed.get("code", ""), taken))
    measured = day_of(typed.get("measured", ""), "measured") or today
    if measured > today:
        raise FieldTrouble("measured", f"{long_day(measured)} lies after today, {long_day(today)}.")
    lengths, known = {(each.what, each.dated): each for each in athlete.lengths}, _lengths(athlete)
    for what, words in (("leg", "the leg length in cm"), ("height", "height in cm")):
        cm = number(typed.get(f"{what}_cm", ""), f"{what}_cm", words, *SPANS[what])
        if cm is not None and not (what in known and known[what].cm == cm):
            lengths[what, measured] = Length(what, cm, measured)
    return replace(
        athlete,
        lengths=tuple(sorted(lengths.values(), key=lambda length: length.dated)),
        birth_year=_year(typed.get("birth_year", ""), int(today[:4])),
        group=typed.get("group", "")[:200],
        mass_kg=number(typed.get("mass_kg", ""), "mass_kg", "mass in kg", *MASS),
        clearance=TREATMENT.get(typed.get("clearance", ""), ""),
        goal_race=day_of(typed.get("goal_race", ""), "goal_race"),
        own_cue=typed.get("own_cue", "")[:200],
        notes=typed.get("notes", ""),
    )


def _new_code(code: str, taken: tuple[str, ...]) -> str:
    if not code:
        raise FieldTrouble("code", "Give the athlete a code or initials, e.g. K07.")
    try:
        return check_new_code(code, taken)
    except StoreError as trouble:
        raise FieldTrouble("code", str(trouble)) from None


def _year(text: str, this_year: int) -> int | None:
    if not text:
        return None
    is_year = text.isascii() and text.isdecimal()
    if not is_year or not this_year - 100 <= int(text) <= this_year - 4:
        raise FieldTrouble("birth_year", f"“{text}” is no year of birth. Write four digits.")
    return int(text)


TOP_OF_TRUNK = {"shoulder": "no", "base of neck": "yes", "not asked": "not asked"}
TOP_NOTE = "the base of the neck is better for the trunk"
LIST_NOTE = "they always stand on the coach's copy"
CHOICES = (
    Field("name", "Name of the squad"),
    Field("marker", "Marked by", "initials of the person who taps"),
    Field("rota_weeks", "Film again after weeks", "due once it is longer ago than that"),
    Field("per_evening", "Athletes per evening", "6 to 8 can be marked in one night"),
    Field("season_ends", "Season ends on", "then every athlete is asked again"),
    Field("keep_months", "Months kept after it", "pictures and points; then they are to go"),
    Field("neck_base", "Top of trunk", TOP_NOTE, tuple(TOP_OF_TRUNK)),
    Field("list_for_adults", "18 items on adults' pages", LIST_NOTE, is_tick=True),
)
"""The fields of the squad's own form, by the names of its choices."""


def choices_entries(choices: SquadChoices) -> dict[str, str]:
    """Return what is chosen as it stands in the form."""
    tops = {kept: words for words, kept in TOP_OF_TRUNK.items()}
    return {
        **{field.key: str(getattr(choices, field.key)) for field in CHOICES},
        "season_ends": long_day(choices.season_ends),
        "neck_base": tops[choices.neck_base],
        "list_for_adults": YES if choices.list_for_adults else NO,
    }


def choices_from(entries: Entries, old: SquadChoices) -> SquadChoices:
    """Return the choices that the form describes; raise FieldTrouble."""
    name = entries.get("name", "").strip()[:200]
    if not name:
        raise FieldTrouble("name", "Give the squad a name, e.g. Thursday group.")
    return replace(
        old,
        name=name,
        marker=entries.get("marker", "").strip()[:200],
        rota_weeks=whole(entries.get("rota_weeks", ""), "rota_weeks", "the weeks", 1, 52),
        per_evening=whole(entries.get("per_evening", ""), "per_evening", "the athletes", 1, 60),
        season_ends=day_of(entries.get("season_ends", ""), "season_ends"),
        keep_months=whole(entries.get("keep_months", ""), "keep_months", "the months", 0, 120),
        neck_base=TOP_OF_TRUNK[entries.get("neck_base", "not asked")],
        list_for_adults=entries.get("list_for_adults", NO) == YES,
    )


NOT_ASKED = "not asked"


def consent_fields(athlete: Athlete, today: str) -> tuple[Field, ...]:
    """Return a box to tick for each use, then who signed, when, until when."""
    answers = (
        Field(use, CONSENT_WORDS[use], state_words(athlete, use, today), is_tick=True)
        for use in CONSENTS
    )
    return (
        *answers,
        Field("by", "Signed by", f"initials: {whom_to_ask(athlete, date.fromisoformat(today))}"),
        Field("dated", "Signed on", "one paper, one date: it counts for every tick"),
        Field("until", "Until", "empty: until it is withdrawn"),
    )


def consent_entries(athlete: Athlete, season_ends: str, today: str) -> dict[str, str]:
    """Return the answers as they stand; the end of the season is offered as the last day."""
    answers = {use: YES if _answer(athlete, use) == YES else NO for use in CONSENTS}
    until = season_ends if season_ends > today else ""
    return {**answers, "dated": long_day(today), "until": long_day(until)}


def with_consents(athlete: Athlete, entries: Entries, today: str) -> Athlete:
    """Return the athlete with the answers of the form; raise FieldTrouble.

    A signature counts for the whole paper: every tick is a yes of that day, and what is not ticked
    a no. Without one a yes can only be taken back.
    """
    by = entries.get("by", "").strip()[:200]
    signed = day_of(entries.get("dated", ""), "dated") or today
    if signed > today:
        raise FieldTrouble("dated", f"{long_day(signed)} lies after today, {long_day(today)}.")
    until = day_of(entries.get("until", ""), "until")
    ticked = {use for use in CONSENTS if entries.get(use) == YES}
    if not (by or ticked or athlete.consents):
        raise FieldTrouble("by", "Tick what the paper allows, and write who signed, in initials.")
    for use in CONSENTS:
        old = _answer(athlete, use)
        if use in ticked and (old != YES or by):
            if not by:
                raise FieldTrouble("by", "Write who signed, in initials.")
            if until and until <= signed:
                over = f"{long_day(until)} is over before it begins, {long_day(signed)}."
                raise FieldTrouble("until", over)
            athlete = give(athlete, use, by, signed, until)
        elif use not in ticked and old == YES:
            athlete = withdraw(athlete, use, by, signed)
        elif use not in ticked and old == NOT_ASKED and by:
            athlete = refuse(athlete, use, by, signed)
    return athlete


def withdrawn_uses(before: Athlete, after: Athlete) -> tuple[str, ...]:
    """Return the uses that were a yes before and are a no now."""
    return tuple(
        use for use in CONSENTS if _answer(before, use) == YES and _answer(after, use) == NO
    )


def state_words(athlete: Athlete, use: str, today: str) -> str:
    """Return the answer on record in a few words: who, when, until when."""
    answer = athlete.consent(use)
    if answer is None:
        return ""
    by = f", {answer.by}" if answer.by else ""
    until = f"until {short_day(answer.expires)}" if answer.expires else "no end"
    words = {
        "withdrawn": f"withdrawn {short_day(answer.withdrawn)}{by}",
        "refused": f"no since {short_day(answer.dated)}{by}",
        "expired": f"ran out {short_day(answer.expires)}{by}: ask again",
        "not yet": f"dated {short_day(answer.dated)}, after today",
    }
    given = f"{until}{by}, since {short_day(answer.dated)}"
    return words.get(consent_state(athlete, use, today), given)


def _answer(athlete: Athlete, use: str) -> str:
    answer = athlete.consent(use)
    if answer is None:
        return NOT_ASKED
    return YES if answer.is_given and not answer.withdrawn else NO

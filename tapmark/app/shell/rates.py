"""How fast it was filmed: typed, taken from a phone, read off a stopwatch, or guessed."""

from collections.abc import Iterator
from dataclasses import replace

from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.runs import reload_with_rate, typed_rate
from tapmark.app.shell.why_disabled import needs_visit, unless
from tapmark.app.state.form import number
from tapmark.app.state.session import AppState
from tapmark.clip.frames import capture_told
from tapmark.marks.edits import change_set_up
from tapmark.marks.run import QUESTIONS, Run, SetUp
from tapmark.measures.checks import likely_rate
from tapmark.measures.likely_rate import LikelyRate
from tapmark.store.choices import Phone

NOT_KNOWN = "not known"
TRUE_CLOCK = "as the file says"
FILMED_AT = ("30", "60", "120", "240", "480")
BY_WATCH = "stopwatch, {}"


def file_rate_hz(state: AppState) -> float | None:
    """Return the usual frames per second on the file's clock."""
    return None if state.pictures is None else state.pictures.rate_hz()


def true_rate_hz(state: AppState) -> float | None:
    """Return true frames per second of the clip at hand; None when not known."""
    run, hz = state.run, file_rate_hz(state)
    factor = run.set_up.slow_factor if run else None
    return hz * factor if hz and factor else None


def rate_choices(state: AppState) -> tuple[str, ...]:
    """Return what can be answered: the phones of the squad whose true rate is known come first."""
    return (NOT_KNOWN, TRUE_CLOCK, *map(phone_words, _phones(state)), *FILMED_AT)


def phone_words(phone: Phone) -> str:
    """Return a phone as it stands in the list."""
    return f"{phone.rate_hz:.1f} {phone.name}"


def _phones(state: AppState) -> Iterator[Phone]:
    """Yield the phones of the squad, from what is in memory: this is asked at every redraw."""
    if state.squad:
        yield from state.squad.choices.phones


def answer_rate(context: Context, text: str) -> None:
    """Keep how many frames per second were filmed.

    text: a number, a phone of the squad, "as the file says" or "not known"; raises FieldTrouble
    """
    text, rate = text.strip(), file_rate_hz(context.state)
    gallery = context.state.marking.gallery
    is_number = text not in ("", NOT_KNOWN, TRUE_CLOCK)
    if is_number and gallery and gallery.pictures.kind == "stills":
        reload_with_rate(context, _rate(text))
    elif text == NOT_KNOWN or not text:
        answer(context.state, "rate not known", slow_factor=None, rate_source=NOT_KNOWN)
    elif text == TRUE_CLOCK:
        answer(context.state, "rate as the file says", slow_factor=1.0, rate_source="typed in")
    elif rate:
        _keep_filmed(context.state, text, rate)
    else:
        context.state.status = "These frames carry no times, so the rate cannot be used."


def _keep_filmed(state: AppState, text: str, file_hz: float) -> None:
    """Keep a number of exposures a second: measured of a phone, nominal of a menu, or typed in."""
    phone = next((phone for phone in _phones(state) if phone_words(phone) == text), None)
    filmed = phone.rate_hz if phone else _rate(text)
    factor, source = filmed / file_hz, "typed in"
    if phone:
        source = BY_WATCH.format(phone.name)
    elif text in FILMED_AT:  # what a menu calls 240 is eight times 29.97
        factor = capture_told(filmed, file_hz).slow_factor or factor
    answer(state, f"filmed at {filmed:g}", slow_factor=factor, rate_source=source)


def _rate(text: str) -> float:
    value = number(text.split()[0], "rate", "frames per second", 1, 20_000)
    return value if value is not None else 0.0


def rate_words(state: AppState) -> str:
    """Return the answer about the rate as it stands, for its field."""
    run, rate = state.run, file_rate_hz(state)
    factor = run.set_up.slow_factor if run else None
    typed = typed_rate(run) if run else None
    if typed is not None:
        return f"{typed:g}"
    if run is None or factor is None:
        return NOT_KNOWN
    for phone in _phones(state):
        if run.set_up.rate_source == BY_WATCH.format(phone.name):
            return phone_words(phone)
    if factor == 1.0 or not rate:
        return TRUE_CLOCK
    return f"{factor * rate:.0f}"


def offered(state: AppState) -> LikelyRate | None:
    """Return the rate that would make odd times of the step at hand a runner's, if one would."""
    if state.run is None or not any(check.name == "time" for check in state.review.checks):
        return None
    return likely_rate(state.run, min(state.marking.i_step, len(state.run.steps) - 1))


def offer_words(state: AppState) -> str:
    """Return what the button says that takes the offer; "" without an offer."""
    found = offered(state)
    if found is None:
        return ""
    is_usual = found.slow_factor == 1.0
    return "Filmed at normal speed" if is_usual else f"Filmed at {found.filmed_hz:.0f}"


def take_offer(context: Context) -> None:
    """Take the rate that explains the odd times; undo brings the old one back."""
    found = offered(context.state)
    if found:
        words = f"filmed at {found.filmed_hz:.0f}"
        answer(context.state, words, slow_factor=found.slow_factor, rate_source="typed in")


REMEMBERED = (
    "context",
    "camera",
    "camera_distance_m",
    "scale_m",
    "zone",
    "surface",
    "direction",
    "is_mirrored",
)
"""Answers offered for the next athlete, to be taken with one key; none is taken by itself."""


def answer(state: AppState, label: str, /, **answers: object) -> None:
    """Keep answers of the set-up, and offer the lasting ones for the next run."""
    if not state.run:
        return
    state.record(label, change_set_up(state.run, **answers))
    lasting = {key: value for key, value in answers.items() if key in REMEMBERED}
    if lasting and state.squad:
        choices = state.squad.choices
        usual = change_set_up(Run(set_up=choices.set_up), **lasting).set_up
        if usual != choices.set_up:
            state.squad.save_choices(replace(choices, set_up=usual))


def last_answers(state: AppState) -> dict[str, object]:
    """Return what was answered last in this squad and is not answered for the run at hand.

    Only what was truly answered, of whichever athlete; never pain, and never the rate of a clip.
    """
    run, last = state.run, state.squad.choices.set_up if state.squad else SetUp()
    if run is None or last == SetUp():
        return {}
    found = {}
    for field in REMEMBERED:
        now, was = getattr(run.set_up, field), getattr(last, field)
        is_open = field in run.set_up.unanswered if field in QUESTIONS else now in (None, "", False)
        if is_open and field not in last.unanswered and was not in (None, "", False):
            found[field] = was
    return found


def take_last(context: Context) -> None:
    """Answer what is open as it was answered last; undo takes it back."""
    answer(context.state, "as last time", **last_answers(context.state))


_needs_offer = unless("No other rate would explain the times.", lambda c: offered(c.state))
_needs_last = unless(
    "Nothing is left to answer as last time.", lambda c: last_answers(c.state), needs_visit
)
ACTIONS = (
    Action(
        "as last time",
        "Answer as last time",
        take_last,
        ("T",),
        ("film",),
        "Film",
        _needs_last,
    ),
    Action(
        "take rate",
        "Take the rate that explains the times",
        take_offer,
        ("Y",),
        ("frames", "taps", "review"),
        "Film",
        _needs_offer,
    ),
)

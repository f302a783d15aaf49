"""Practising on a drawn runner, and one's own error card in plain words."""

from collections.abc import Iterator
from functools import partial
from math import inf
from pathlib import Path

from tapmark import disk
from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.proposals import propose
from tapmark.app.shell.runs import open_run
from tapmark.app.shell.squads import forget_run, use_squad
from tapmark.app.shell.why_disabled import today
from tapmark.app.state.measure_lines import number
from tapmark.app.state.proposal import Line, Proposal
from tapmark.checklist.words import Words
from tapmark.marks.days import several
from tapmark.measures.catalogue import row
from tapmark.measures.repeatability import Shift
from tapmark.services.demo import SHOWN, free_folder, make_sample_squad
from tapmark.services.practising import ErrorCard, error_card, is_drawn, new_runner

SURE, LOOSE = 0.75, 1.35  # shares of the usual scatter beyond which it is worth a word
MOST_ROWS = 12


def practise(context: Context) -> None:
    """Open the next drawn clip: in this squad when it is one for practice, else in a folder.

    While no squad is open nothing is asked: it lies beside the settings, as the sample does.
    """
    context.saver.refuse_unsaved()
    squad = context.state.squad
    folder: Path | None = context.settings.path.parent / "practice"
    codes = squad.codes() if squad else ()
    if squad and codes and all(is_drawn(squad, code) for code in codes):
        folder = squad.folder
    elif squad:
        folder = context.ask.folder("Practise: choose a new or an empty folder")
    if folder is None:
        return
    forget_run(context)
    at = new_runner(folder, today(context))
    use_squad(context, folder)
    open_run(context, *at)
    words = "Mark this step like any other; Help in the menu bar, or F8, says how close you are."
    context.state.status = words


def open_sample(context: Context) -> None:
    """Open the drawn sample on the Review of its newest visit; it is made once and then kept."""
    context.saver.refuse_unsaved()
    folder = context.settings.path.parent / "sample"
    if not disk.is_file(folder / "squad" / "squad.json"):
        folder = free_folder(folder)
        make_sample_squad(folder, context.today())
    use_squad(context, folder / "squad")
    open_run(context, *SHOWN, ("review",))


def how_close(context: Context) -> None:
    """Show the error card of the drawn run that is open."""
    state, code = context.state, context.state.where[0]
    context.saver.refuse_unsaved()
    card = error_card(state.the_squad, code, state.the_run)
    proposal = Proposal(
        f"How close you were: {code}",
        tuple(sentences(card)),
        ("", "yours", "to compare", "in words"),
        tuple(_lines(card, state.session.criteria().words)),
        more=(("The next drawn runner", practise),),
        back=state.page if state.page in ("taps", "review") else "squad",
    )
    propose(context, proposal)


def sentences(card: ErrorCard) -> Iterator[str]:
    """Yield what the card says at a glance."""
    wrong = [(event, off) for event, off in card.frames if off]
    if not wrong:
        yield f"All {len(card.frames)} key frames stand on the right frame."
    else:
        told = ", ".join(f"{event} {_frames(off)}" for event, off in wrong)
        n = len(card.frames) - len(wrong)
        yield f"{n} of {len(card.frames)} key frames stand on the right frame: {told}."
    loose = [kind.kind for kind in card.kinds if kind.sd > LOOSE * kind.usual]
    if card.kinds and not loose:
        yield "Your taps lie as close to the true places as a careful coach's."
    elif loose:
        yield f"Look twice at: {', '.join(loose)}. Use the magnifier and the cross-hair."
    yield from map(_shifted, card.shifts)
    if card.left_open:
        yield f"{several(card.left_open, 'point')} without a place: said hidden or behind."
    if card.rows:
        n_in = sum(abs(each.difference) <= each.plus_minus for each in card.rows)
        yield (
            f"{n_in} of {len(card.rows)} measures lie within what marking is allowed; about one in "
            "twenty falls out by chance."
        )


def _frames(off: int) -> str:
    return f"{several(abs(off), 'frame')} too {'late' if off > 0 else 'early'}"


def _shifted(shift: Shift) -> str:
    """Say in which ways the taps of a kind lie beside the true places."""
    half = shift.plus_minus or (inf, inf)
    ways = [
        f"{abs(by):.1f} % of a leg too {more if by > 0 else less}"
        for by, least, more, less in (
            (shift.forward_pct_leg, half[0], "far forward", "far back"),
            (shift.up_pct_leg, half[1], "high", "low"),
        )
        if abs(by) > least
    ]
    return f"A habit: your {shift.kind} taps lie {' and '.join(ways)}."


def _lines(card: ErrorCard, words: Words) -> Iterator[Line]:
    """Yield key frames, kinds of taps, and the measures that differ most for their ±."""
    for event, off in card.frames:
        yours, said = (f"{off:+d}", _frames(off)) if off else ("0", "the right frame")
        yield Line(f"frame {event}", (words.event(event), yours, "0", said), "Key frames")
    for kind in card.kinds:
        share = kind.sd / kind.usual
        said = (
            "surer than usual" if share < SURE else "as usual" if share <= LOOSE else "look twice"
        )
        name, yours = f"{kind.kind}, {several(kind.n, 'tap')}", f"± {number(kind.sd, 1)} % of leg"
        cells = name, yours, f"usual ± {number(kind.usual, 1)}", said
        yield Line(f"kind {kind.kind}", cells, "Taps (one standard deviation, each way)")
    telling = sorted(card.rows, key=lambda r: -abs(r.difference) / r.plus_minus)
    for each in telling[:MOST_ROWS]:
        told, is_in = row(each.key), abs(each.difference) <= each.plus_minus
        foot, unit = f", {each.leg}" if each.leg else "", told.shown_unit
        cells = (
            words.row(each.key) + foot,
            f"{number(each.by_b, told.digits)}{unit}",
            f"true {number(each.by_a, told.digits)}{unit}",
            "within its ±" if is_in else "further off than marking should be",
        )
        yield Line(f"row {each.key} {each.leg}", cells, "Measures that differ most")


def _needs_drawn(context: Context) -> str:
    state = context.state
    if not state.squad or not state.visit or not state.run_name:
        return "Open a drawn run first: Practise on a drawn runner, in the menu."
    is_known = is_drawn(state.squad, state.visit.code)
    return "" if is_known else f"{state.visit.code} is no drawn runner, so the truth is not known."


_practice = partial(Action, group="Practice")
_of_drawn = partial(_practice, pages=("frames", "taps", "review"), why_disabled=_needs_drawn)
ACTIONS = (
    _practice("open sample", "Open the drawn sample", open_sample, pages=("squad",)),
    _practice(
        "practise", "Practise on a drawn runner…", practise, pages=("squad", "review", "proposal")
    ),
    _of_drawn("how close", "How close was I? (drawn runners)", how_close, ("F8",)),
)

"""Practising on a drawn runner, and one's own error card in plain words."""

from collections.abc import Iterator

from tapmark import disk
from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.proposals import propose
from tapmark.app.shell.runs import open_run
from tapmark.app.shell.squads import forget_run, use_squad
from tapmark.app.shell.why_disabled import today
from tapmark.app.state.measure_lines import number
from tapmark.app.state.proposal import Line, Proposal
from tapmark.app.state.titles import several
from tapmark.checklist.words import Words
from tapmark.measures.catalogue import row
from tapmark.measures.repeatability import RowDifference, Shift
from tapmark.services.demo import SHOWN, free_folder, make_sample_squad
from tapmark.services.practising import ErrorCard, KindError, error_card, is_drawn, new_runner
from tapmark.store.squad import Squad

SURE, LOOSE = 0.75, 1.35  # shares of the usual scatter beyond which it is worth a word
MOST_ROWS = 12


def practise(context: Context) -> None:
    """Open the next drawn clip: in this squad when it is one for practice, else in a folder.

    While no squad is open nothing is asked: it lies beside the settings, as the sample does.
    """
    context.saver.refuse_unsaved()
    squad = context.state.squad
    here = squad.folder if squad and _is_practice(squad) else None
    if squad is None:
        here = context.settings.path.parent / "practice"
    folder = here or context.ask.folder("Practise: choose a new or an empty folder")
    if folder is None:
        return
    forget_run(context)
    code, dated, name = new_runner(folder, today(context))
    use_squad(context, folder)
    open_run(context, code, dated, name)
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
    state = context.state
    if not state.squad or not state.visit or not state.run:
        return
    context.saver.refuse_unsaved()
    card = error_card(state.squad, state.visit.code, state.run)
    page = state.page if state.page in ("taps", "review") else "squad"
    propose(
        context, card_page(state.visit.code, card, context.state.session.criteria().words, page)
    )


def card_page(code: str, card: ErrorCard, words: Words, back: str) -> Proposal:
    """Return the error card as a page."""
    return Proposal(
        f"How close you were: {code}",
        tuple(sentences(card)),
        (("", 13), ("yours", 9), ("to compare", 9), ("in words", 12)),
        (
            *(_frame_line(event, off, words) for event, off in card.frames),
            *map(_kind_line, card.kinds),
            *(_row_line(each, words) for each in _telling(card.rows)),
        ),
        more=(("The next drawn runner", practise),),
        back=back,
    )


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
    outside = [each for each in card.rows if abs(each.difference) > each.plus_minus]
    if card.rows:
        n_in = len(card.rows) - len(outside)
        yield (
            f"{n_in} of {len(card.rows)} measures lie within what marking is allowed; about one in "
            "twenty falls out by chance."
        )


def _frames(off: int) -> str:
    return f"{several(abs(off), 'frame')} too {'late' if off > 0 else 'early'}"


def _shifted(shift: Shift) -> str:
    ways = [
        f"{abs(by):.1f} % of a leg too {word}"
        for by, half, words in (
            (shift.forward_pct_leg, shift.plus_minus, ("far forward", "far back")),
            (shift.up_pct_leg, shift.plus_minus, ("high", "low")),
        )
        for word in [words[0] if by > 0 else words[1]]
        if half and abs(by) > half[0 if words[0] == "far forward" else 1]
    ]
    return f"A habit: your {shift.kind} taps lie {' and '.join(ways)}."


def _frame_line(event: str, off: int, words: Words) -> Line:
    said = "the right frame" if not off else _frames(off)
    return Line(
        f"frame {event}", (words.event(event), f"{off:+d}" if off else "0", "0", said), "Key frames"
    )


def _kind_line(kind: KindError) -> Line:
    share = kind.sd / kind.usual
    said = "surer than usual" if share < SURE else "as usual" if share <= LOOSE else "look twice"
    cells = (
        f"{kind.kind}, {several(kind.n, 'tap')}",
        f"± {number(kind.sd, 1)} % of leg",
        f"usual ± {number(kind.usual, 1)}",
        said,
    )
    return Line(f"kind {kind.kind}", cells, "Taps (one standard deviation, each way)")


def _telling(rows: tuple[RowDifference, ...]) -> list[RowDifference]:
    """Return the rows that differ most for what marking is allowed."""
    return sorted(rows, key=lambda r: -abs(r.difference) / r.plus_minus)[:MOST_ROWS]


def _row_line(each: RowDifference, words: Words) -> Line:
    told = row(each.key)
    is_in = abs(each.difference) <= each.plus_minus
    foot = f", {each.leg}" if each.leg else ""
    cells = (
        words.row(each.key) + foot,
        f"{number(each.by_b, told.digits)}{told.shown_unit}",
        f"true {number(each.by_a, told.digits)}{told.shown_unit}",
        "within its ±" if is_in else "further off than marking should be",
    )
    return Line(f"row {each.key} {each.leg}", cells, "Measures that differ most")


def _is_practice(squad: Squad) -> bool:
    """Say whether a squad holds drawn runners only."""
    codes = squad.codes()
    return bool(codes) and all(is_drawn(squad, code) for code in codes)


def _needs_drawn(context: Context) -> str:
    state = context.state
    if not state.squad or not state.visit or not state.run_name:
        return "Open a drawn run first: Practise on a drawn runner, in the menu."
    is_known = is_drawn(state.squad, state.visit.code)
    return "" if is_known else f"{state.visit.code} is no drawn runner, so the truth is not known."


ACTIONS = (
    Action("open sample", "Open the drawn sample", open_sample, (), ("squad",), "Practice"),
    Action(
        "practise",
        "Practise on a drawn runner…",
        practise,
        (),
        ("squad", "review", "proposal"),
        "Practice",
    ),
    Action(
        "how close",
        "How close was I? (drawn runners)",
        how_close,
        ("F8",),
        ("frames", "taps", "review"),
        "Practice",
        _needs_drawn,
    ),
)

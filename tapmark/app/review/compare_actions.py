"""What can be done beside another run: choose it, how both are shown, the picture of both."""

from functools import partial

from tapmark.app.shell.comparing import (
    PAGE,
    choose_other,
    left_and_right,
    open_compare,
    others_of,
    places,
)
from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.why_disabled import needs_taps, unless
from tapmark.report.pages.pictures import png_bytes
from tapmark.report.pages.plots import compare_picture
from tapmark.services.pictures import compare_out


def choose_athlete_to_compare(context: Context, code: str) -> None:
    """List the runs of another athlete."""
    state = context.state
    state.compare.others = others_of(state.the_squad, code, state.where)
    if state.compare.others:
        choose_other(context, state.compare.others[0])
    else:
        state.status = f"{code} has no other run."


def picture_out(context: Context) -> None:
    """Write both runs as drawn figures in one picture, where both athletes agreed, and open it."""
    state, content = context.state, context.state.compare.content
    squad, where = state.squad, state.compare.where
    if not squad or not where or content is None:
        return
    today, mine = context.today(), state.where
    first, second = places(squad, left_and_right(state), mine, state.marking.i_step)
    folder = squad.athlete_folder(mine[0]) if content.is_same else squad.folder
    picture = png_bytes(compare_picture(content))
    path = compare_out(content, first, second, folder, picture, today)
    context.hand_out(path, f"Picture: {path}")


def by_phase(context: Context) -> None:
    """Let the other run follow key frame by key frame, or by true time again."""
    compared = context.state.compare
    compared.by_phase = not compared.by_phase
    by_frame = "Both stand at the same key frame; between two they go on by the same share."
    by_time = "Both go on from touchdown in true time."
    context.state.status = by_frame if compared.by_phase else by_time


def above(context: Context) -> None:
    """Put one run above the other, or beside it again."""
    context.state.compare.is_above = not context.state.compare.is_above


def lay_over(context: Context, what: str) -> None:
    """Draw something over the frames (one of OVER), or leave it out."""
    context.state.compare.over ^= {what}


_reviewed = partial(
    Action, pages=("review", "drawing", "sheet"), group="Review", why_disabled=needs_taps
)
_on_compare = partial(Action, pages=(PAGE,), group="Review")
_drawn = unless("Choose a run whose figures can be drawn first.", lambda c: c.state.compare.content)
_as_picture = "Open both runs as a picture of drawn figures"
ACTIONS = (
    _reviewed("compare", "Side by side with another run", open_compare, ("Mod+B",)),
    _on_compare("compare picture", _as_picture, picture_out, ("Mod+E",), why_disabled=_drawn),
    _on_compare("compare by phase", "By key frame, or by time", by_phase, ("P",)),
    _on_compare("compare above", "Above each other, or side by side", above, ("A",)),
)

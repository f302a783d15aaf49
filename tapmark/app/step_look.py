"""How the step line looks in the window: sizes in ems of its text, and the screen's colours."""

from tapmark.drawing import palette
from tapmark.drawing.step_line import StepLook

FIGURE_EM = 5.6  # height of a figure


def step_look(em: float, current: str = "") -> StepLook:
    """Return the look for an em of the window's text, in px.

    current: the key frame at hand, shown in accent; "" for none.
    """
    return StepLook(
        figure=FIGURE_EM * em,
        text=em,
        thin=1.0,
        heavy=0.25 * em,
        leader=1.2,
        ink=palette.INK,
        accent=palette.ACCENT,
        numerals=palette.MUTED,
        min_outline=1.3,
        says_phases=False,
        current=current,
    )

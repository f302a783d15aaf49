"""What the coach saw and no point can measure: answers by step, one for each question."""

from tapmark.app.desk import Desk
from tapmark.marks.edits import tick, untick

LEVELS = ("not answered", "no", "a little", "clearly")
ASKED = {
    "side": {
        "foot turns late": "The heel whips round at push-off",
        "form holds": "The shape holds to the end of the run",
    },
    "rear": {
        "hand crosses": "A hand crosses the middle of the body",
        "shoulder line tilts": "The line of the shoulders tilts",
        "shoulders turn": "The shoulders turn more than the hips",
        "foot path": "A foot swings in or out on its way",
    },
}
ASKED["front"] = ASKED["rear"]


def questions_of(view: str) -> dict[str, str]:
    """Return tick -> question for a view."""
    return ASKED.get(view, {})


def answer_of(desk: Desk, name: str) -> str:
    """Return what was answered for the step at hand."""
    given = dict(desk.state.step.ticks)
    return LEVELS[given[name] + 1] if name in given else LEVELS[0]


def see(desk: Desk, name: str, level: str) -> None:
    """Keep an answer, or take it back."""
    state = desk.state
    if not state.run:
        return
    if level == LEVELS[0]:
        state.record(f"no answer: {name}", untick(state.run, state.i_step, name))
    else:
        run = tick(state.run, state.i_step, name, LEVELS.index(level) - 1)
        state.record(f"{name}: {level}", run)

"""The athlete's last marked step as a small step line, for the panel beside the list."""

from dataclasses import dataclass

from tapmark.app.step_look import step_look
from tapmark.drawing.shapes import Shapes, moved
from tapmark.drawing.step_line import TextWidth, step_line
from tapmark.errors import StoreError
from tapmark.marks.run import Run
from tapmark.store.squad import Squad


@dataclass(frozen=True)
class LastStep:
    """A run with at least one key frame, and when it was filmed."""

    dated: str
    run: Run

    def shapes(self, width: int, em: float, text_width: TextWidth) -> tuple[Shapes, int]:
        """Return the step line in px, and how tall it stands. em: of the window's text, px."""
        line = step_line(self.run, 0, width, step_look(em), text_width)
        return moved(line.shapes, 0.0, line.above), round(line.above + line.below)


def last_step(squad: Squad, code: str) -> LastStep | None:
    """Return the newest run in side view with key frames, or None."""
    for dated in reversed(squad.visit_dates(code)):
        for name in reversed(squad.run_names(code, dated)):
            try:
                run = squad.load_run(code, dated, name)
            except StoreError:
                continue
            if run.view == "side" and run.steps[0].key_frames:
                return LastStep(dated, run)
    return None

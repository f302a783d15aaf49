"""A scripted coach: marks one athlete in the real window and counts what the hands did.

Times are those of the keystroke-level model of Card, Moran & Newell, The keystroke-level model
for user performance time with interactive systems, Communications of the ACM 23 (1980) 396–410:
pointing 1.10 s, a press of a button 0.20 s, a key 0.28 s (average non-secretary typist), moving the
hand to the other device 0.40 s, thinking before an action 1.35 s. One thought is counted before
each point, each key frame and each answer; none before a step of a scrub.
"""

from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tapmark.app.film.questions import answer_of, open_questions
from tests.app.driving import SAMPLES, Driver
from tests.drawn_runner.coach import tapping_error

# Card, Moran & Newell 1980, as above
POINT_S, BUTTON_S, KEY_S, HAND_S, THINK_S = 1.10, 0.20, 0.28, 0.40, 1.35
LEG_PX = 270.0 * 0.901  # of the sample athlete, from its truth file


@dataclass
class Tally:
    """What the hands did: actions that count, scrub presses and typed letters apart."""

    actions: Counter[str] = field(default_factory=Counter)
    scrubs: int = 0
    letters: int = 0

    @property
    def counted(self) -> int:
        """Actions without scrub presses and typed letters."""
        return sum(self.actions.values())

    @property
    def seconds(self) -> float:
        """What the model says all of it takes."""
        clicks = self.actions["tap"] + self.actions["click"]
        thoughts = self.actions["tap"] + self.actions["key frame"] + self.actions["answer"]
        return (
            clicks * (POINT_S + BUTTON_S)
            + self.actions["answer"] * (POINT_S + BUTTON_S)
            + (self.actions["key"] + self.actions["key frame"] + self.scrubs + self.letters) * KEY_S
            + thoughts * THINK_S
            + 10 * HAND_S  # between keyboard and pointer, twice on each of five pages
        )


class Coach:
    """Works one athlete from the clip to the written page, with an honest coach's errors."""

    def __init__(self, app: Driver, truth: dict[str, Any], seed: int) -> None:
        self.app, self.truth, self.tally = app, truth, Tally()
        points = {event: still["points"] for event, still in truth["stills"].items()}
        self.taps = tapping_error(points, seed, LEG_PX)

    def key(self, *keys: str, as_: str = "key") -> None:
        self.tally.actions[as_] += len(keys)
        self.app.press(*keys)

    def scrub(self, *keys: str) -> None:
        self.tally.scrubs += len(keys)
        self.app.press(*keys)

    def answer(self, field: str, value: str) -> None:
        if answer_of(self.app.state, field) != value:
            self.tally.actions["answer"] += 1
            self.app.answer(field, value)

    def click(self, widget: Any) -> None:
        self.tally.actions["click"] += 1
        self.app.click(widget)

    def tap(self, at: tuple[float, float], as_: str = "tap") -> None:
        self.tally.actions[as_] += 1
        self.app.tap(at)

    def work(self) -> Tally:
        """Do it all; the athlete is chosen already."""
        self.bring_in()
        self.answer_questions()
        self.choose_frames()
        self.tap_points()
        self.make_sheet()
        return self.tally

    def begin(self, folder: Path) -> None:
        """Make a squad in an empty folder and put the athlete into it, with consent."""
        app = self.app
        app.asked.ready.append(folder)
        app.keyboard_on(app.root)
        self.key("Control-Shift-Key-N")
        self.tally.actions["click"] += 1  # the folder in the system's own dialog
        self.key("Control-Shift-Key-A")
        form = app.view.form
        app.pump(lambda: app.root.focus_get() is form.fields["code"], "the form")
        self.write(form.fields["code"], "P02")
        self.write(form.fields["birth_year"], "1998")
        self.key("Return")
        for use in ("film", "keep stills"):
            self.click(form.fields[use])
        self.write(form.fields["by"], "KM")
        self.key("Return")

    def choose(self, code: str) -> None:
        """Press the line of an athlete who is in the list already."""
        self.app.go("squad")
        self.app.pick(code)
        self.tally.actions["click"] += 2  # the step Squad and the line

    def write(self, field: Any, text: str) -> None:
        if field.get() != text:
            self.tally.actions["key"] += 1  # Tab, or a click, to get there
            self.tally.letters += len(text)
            self.app.write(field, text)

    def bring_in(self) -> None:
        app = self.app
        self.key("Control-Key-n")
        app.pump(lambda: app.state.page == "film", "Film")
        app.asked.ready.append(SAMPLES / "P02" / "clip.mp4")
        self.key("Control-Key-o")
        self.tally.actions["click"] += 1  # the file in the system's own dialog
        app.wait_for_clip()

    def answer_questions(self) -> None:
        truth, state = self.truth, self.app.state
        self.open_at_first = {each.field for each in open_questions(state)}
        if not self.app.context.why_disabled("as last time"):
            self.key("t")  # the coach sees what it was with the last athlete, and takes it
        self.answer("direction", truth["runs"])
        self.answer("context", "sprint")
        self.answer("camera", "tripod, levelled")
        self.answer("pain", "no")
        self.key("e")
        questions, set_up = self.app.view.more, state.run.set_up
        if set_up.camera_distance_m != 12:
            self.write(questions.entries["camera_distance_m"], "12")
        for name, is_there, ends in (
            ("mark pole", set_up.upright_px, (truth["pole"]["foot"], truth["pole"]["top"])),
            ("mark scale", set_up.scale_px, truth["scale_marks"]["points"]),
        ):
            if is_there:
                continue
            self.click(self.app.button(name))
            for at in ends:
                self.tap(at, "click")

    def choose_frames(self) -> None:
        self.key("F4")
        self.app.keyboard_on(self.app.bench.pane.canvas)
        self.scrub("Home")
        at = 0
        for i, picture in enumerate(self.truth["clip"]["key_pictures"].values(), start=1):
            tens, ones = divmod(picture - at, 10)
            self.scrub(*["Shift-Key-Right"] * tens, *["Key-Right"] * ones)
            self.key(f"Key-{i}", as_="key frame")
            at = picture

    def tap_points(self) -> None:
        self.key("F5")
        state = self.app.state
        while state.marking.prompt:
            self.tap(self.taps[state.marking.prompt.event][state.marking.prompt.point])

    def make_sheet(self) -> None:
        app = self.app
        self.key("F6")
        app.pump(lambda: app.state.review.reading, "the reading")
        self.key("Control-Key-s")
        app.pump(lambda: app.state.sheet.written, "the sheet")

"""The step line: five figures of a step on one ground line, at their true spacing in time.

The ground is heavy while a foot is on it. It runs from touchdown to toe-off with one interval
added, because toe-off is the last picture that still touches. The step always fills the width,
so the length of a millisecond changes and the scale tells it.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import Final

from tapmark.drawing.figure import PARTS, FigureLook, extent, figure_shapes
from tapmark.drawing.flags import Flag, Name, hung
from tapmark.drawing.palette import BLACK, CONTROL_EDGE, WHITE, mixed
from tapmark.drawing.shapes import Label, Line, Shape, Shapes
from tapmark.drawing.step_times import Moment, Ruler
from tapmark.marks.points import (
    PEAK_KNEE_LIFT,
    SIDE_EVENTS,
    TOE_OFF,
    TOUCHDOWN,
)
from tapmark.marks.run import Run

TextWidth = Callable[[str, float, bool], float]  # text, em size, bold -> width, same unit

CLOSE: Final = 0.5  # body heights between two figures below which the later one is only a leg


@dataclass(frozen=True)
class StepWords:
    """Every word on a step line, so that another language can replace them."""

    names: Mapping[str, str] = field(default_factory=dict)
    on_the_ground: str = "on the ground"
    in_the_air: str = "in the air"
    ms: str = "ms"
    not_set: str = "not set"
    no_times: str = "times not known"

    def name(self, event: str) -> str:
        """Return what a key frame is called."""
        return self.names.get(event, event)


@dataclass(frozen=True)
class StepLook:
    """Sizes in the unit of the place, and colours.

    text:           em of names and numerals.
    thin, leader:   ground in the air and leaders; heavy is the ground under a foot.
    says_phases:    write "on the ground" and "in the air" over the line.
    current:        key frame shown in accent and bold ("" for paper).
    """

    figure: float
    text: float
    thin: float
    heavy: float
    leader: float
    ink: str = BLACK
    paper: str = WHITE
    accent: str = BLACK
    stand_in: str = CONTROL_EDGE
    numerals: str = BLACK
    min_outline: float = 0.0
    says_phases: bool = True
    current: str = ""


class StepLine:
    """A step line with the ground at y = 0 and the left end at x = 0, and the room it takes.

    above, below:  from the ground up to the highest head and down under the last row of names.
    figures:       key frame -> x of its hip, for those that stand on the line.
    """

    def __init__(self, pen: "_Pen", notes: Mapping[str, str]) -> None:
        look, moments = pen.look, pen.ruler.moments
        self._pen = pen
        self._names, n_rows = pen.names(notes)
        heads = [m.pose.hip_up + m.pose.build.trunk + 0.2 for m in moments]
        self.above = look.figure * max([1.0, *heads])
        self.below = pen.row_y(n_rows - 1) + 0.3 * look.text
        self.figures = {m.event: pen.ruler.x(m.at) for m in moments}

    @cached_property
    def shapes(self) -> Shapes:
        """Everything drawn; made when it is asked for, since pages try several sizes."""
        pen = self._pen
        phases = pen.phases() if pen.look.says_phases else ()
        return pen.figures() + pen.ground() + pen.scale() + phases + self._names


def step_line(
    run: Run,
    i_step: int,
    width: float,
    look: StepLook,
    text_width: TextWidth,
    words: StepWords | None = None,
    notes: Mapping[str, str] | None = None,
) -> StepLine:
    """Return the step line of a step, that wide.

    notes: key frame -> what is written behind its name, e.g. "3 of 6".
    A key frame that is set but not tapped shows a grey stand-in; one that is not set has no
    figure and its name waits at the right end.
    """
    ruler = Ruler.of(run, i_step, width, look.figure)
    return StepLine(_Pen(ruler, look, words or StepWords(), text_width), notes or {})


@dataclass(frozen=True)
class _Pen:
    ruler: Ruler
    look: StepLook
    words: StepWords
    text_width: TextWidth

    def figures(self) -> Shapes:
        """Full figures from half a body height apart; nearer, what was tapped stands on its own."""
        shapes: list[Shape] = []
        taken: list[float] = []
        for moment in sorted(self.ruler.moments, key=lambda m: m.event == PEAK_KNEE_LIFT):
            x = self.ruler.x(moment.at)
            gap = min((abs(x - other) for other in taken), default=self.look.figure)
            taken.append(x)
            if gap < 1e-6:
                continue  # the same picture: one figure with both names
            if moment.event != PEAK_KNEE_LIFT or gap >= CLOSE * self.look.figure:
                shapes += self._figure(moment, (x, 0.0), PARTS)
            else:  # trunk and arm behind the figure that pushes off, the lifted leg before it
                shapes[:0] = self._figure(moment, (x, 0.0), moment.parts)
                shapes += self._figure(moment, (x, 0.0), ("far leg",))
        return tuple(shapes)

    def _figure(self, moment: Moment, at: tuple[float, float], parts: tuple[str, ...]) -> Shapes:
        look, is_current = self.look, moment.event == self.look.current
        ink = look.accent if is_current else look.ink
        if moment.is_own:
            tint = mixed(ink, look.paper, 0.13)
            figure = FigureLook(ink, look.paper, tint, look.min_outline)
        else:
            ink = look.accent if is_current else look.stand_in
            figure = FigureLook(ink, look.paper, look.paper, look.min_outline, frozenset())
        return figure_shapes(moment.pose, look.figure, at, figure, parts=parts)

    def ground(self) -> Shapes:
        """The thin line all along, the heavy one while a foot is down; both from y = 0 down."""
        look, width = self.look, self.ruler.width
        thin, heavy = look.thin / 2, look.heavy / 2
        lines = [Line(((0.0, thin), (width, thin)), look.ink, look.thin)]
        for start, end in self.ruler.contacts():
            lines.append(Line(((start, heavy), (end, heavy)), look.ink, look.heavy))
        return tuple(lines)

    def scale(self) -> Shapes:
        """Ticks every 10 ms, numerals every 50, "ms" once, counted from touchdown."""
        start, look = self.ruler.moment(TOUCHDOWN), self.look
        if not (self.ruler.is_timed and start and len(self.ruler.moments) > 1):
            return ()
        end = int(self.ruler.moments[-1].at - start.at)
        shapes: list[Shape] = []
        for ms in range(0, end + 1, 10):
            x = self.ruler.x(start.at + ms)
            deep = look.heavy + look.text * (0.42 if ms % 50 == 0 else 0.22)
            shapes.append(Line(((x, 0.0), (x, deep)), look.ink, look.leader))
        return tuple(shapes) + self._numerals(start.at, end)

    def _numerals(self, start: float, end: int) -> Shapes:
        """Put numbers under their ticks; one that finds no room stays away, its tick remains.

        From the right end on, because the last one carries the unit.
        """
        placed: list[Label] = []
        y = self.look.heavy + 1.35 * self.look.text
        for ms in range(end // 50 * 50, -1, -50):
            unit = "" if placed else f" {self.words.ms}"
            left = self._free(self.ruler.x(start + ms), str(ms), unit, placed)
            if left is not None:
                text = f"{ms}{unit}"
                placed.append(Label((left, y), text, self._small, self.look.numerals))
        return tuple(placed[::-1])

    @property
    def _small(self) -> float:
        return 0.94 * self.look.text

    def _free(self, x: float, number: str, unit: str, placed: list[Label]) -> float | None:
        """Return where a number may begin: nearest to its tick, clear of leaders and numbers."""
        gap = 0.35 * self.look.text
        wide = self.text_width(number + unit, self._small, False)
        middle = x - self.text_width(number, self._small, False) / 2
        leaders = [self.ruler.x(moment.at) for moment in self.ruler.moments]
        beside = [each for leader in leaders for each in (leader - gap - wide, leader + gap)]
        taken = [(leader, leader) for leader in leaders]
        taken += [
            (p.point[0], p.point[0] + self.text_width(p.text, self._small, False)) for p in placed
        ]

        def is_clear(left: float) -> bool:
            free = all(right < left - gap / 2 or left + wide + gap / 2 < a for a, right in taken)
            return free and left >= 0.0 and left + wide <= self.ruler.width

        near = [left for left in (middle, *beside) if abs(left - middle) < wide + gap]
        return min(filter(is_clear, near), key=lambda left: abs(left - middle), default=None)

    def row_y(self, row: int) -> float:
        """Return the baseline of a row of names."""
        return self.look.heavy + (2.75 + 1.2 * row) * self.look.text

    def names(self, notes: Mapping[str, str]) -> tuple[Shapes, int]:
        """Return leaders and names, and how many rows they take."""
        texts = [
            (m.event, f"{self.words.name(m.event)}  {notes.get(m.event, '')}".strip(), m.at)
            for m in self.ruler.moments
        ]
        names = [self._name(key, text, self.ruler.x(at)) for key, text, at in texts]
        names += [self._name(key, text, None) for key, text in self._waiting()]
        flags = hung(names, self.ruler.width, 0.35 * self.look.text)
        shapes = tuple(shape for flag in flags for shape in self._flag(flag))
        return shapes, max((flag.row for flag in flags), default=0) + 1

    def _name(self, key: str, text: str, leader: float | None) -> Name:
        return Name(key, text, self.text_width(text, self.look.text, self._is_current(key)), leader)

    def _is_current(self, key: str) -> bool:
        return key == self.look.current

    def _waiting(self) -> list[tuple[str, str]]:
        """Return the names of key frames not set: the current one apart, the rest as one."""
        current = self.look.current
        unset = [event for event in SIDE_EVENTS if self.ruler.moment(event) is None]
        rest = ", ".join(self.words.name(event) for event in unset if event != current)
        waiting = [(current, self.words.name(current))] if current in unset else []
        waiting += [("rest", rest)] if rest else []
        return [(key, f"{text}: {self.words.not_set}") for key, text in waiting]

    def _flag(self, flag: Flag) -> Iterator[Shape]:
        is_current = self._is_current(flag.name.key)
        ink = self.look.accent if is_current else self.look.ink
        y, leader = self.row_y(flag.row), flag.name.leader
        if leader is not None:
            end = y + self.look.text * (0.1 if flag.passes else -0.95)
            yield Line(((leader, 0.0), (leader, end)), ink, self.look.leader)
        yield Label((flag.left, y), flag.name.text, self.look.text, ink, is_bold=is_current)

    def phases(self) -> Shapes:
        """Write what the foot does where the line has room between two figures."""
        spans = self.ruler.contacts()
        if not spans or self.ruler.moment(TOE_OFF) is None:
            return ()
        texts = [(self.words.on_the_ground, spans[0])]
        if len(spans) > 1:
            texts.append((self.words.in_the_air, (spans[0][1], spans[1][0])))
        return tuple(label for text, span in texts for label in self._phase(text, *span))

    def _phase(self, text: str, start: float, end: float) -> Iterator[Label]:
        size = self.look.text
        edges = sorted(self._reach(moment) for moment in self.ruler.moments)
        gaps = [(max(a[1], start), min(b[0], end)) for a, b in pairwise(edges)]
        left, right = max(gaps, key=lambda gap: gap[1] - gap[0], default=(0.0, 0.0))
        if right - left > self.text_width(text, size, False) + size:
            at = ((left + right) / 2, -0.55 * size)
            yield Label(at, text, size, self.look.ink, is_italic=True, anchor="c")

    def _reach(self, moment: Moment) -> tuple[float, float]:
        behind, ahead = extent(moment.pose)
        x, height = self.ruler.x(moment.at), self.look.figure
        return x - behind * height, x + ahead * height

"""The step line: five figures of a step on one ground line, at their true spacing in time."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import Final

from tapmark.marks.points import (
    MID_STANCE,
    OPPOSITE_TOUCHDOWN,
    PEAK_KNEE_LIFT,
    SIDE_EVENTS,
    TOE_OFF,
    TOUCHDOWN,
)
from tapmark.marks.run import KeyFrame, Run
from tapmark.report.drawing.body import STAND_IN, Pose
from tapmark.report.drawing.figure import PARTS, FigureLook, extent, figure_shapes
from tapmark.report.drawing.palette import BLACK, CONTROL_EDGE, WHITE, tint_of
from tapmark.report.drawing.pose import step_poses
from tapmark.report.drawing.shapes import Label, Line, Shape, Shapes, TextWidth

MOST_ROWS: Final = 6


@dataclass(frozen=True)
class Name:
    """A name to hang: leader is the x of its leader, or None for a name that waits."""

    key: str
    text: str
    width: float
    leader: float | None


@dataclass(frozen=True)
class Flag:
    """Where a name hangs.

    left, right:  ends of the text.
    row:          0 is the first row below the line.
    passes:       whether the leader runs down beside the name, not only to its top.
    """

    name: Name
    left: float
    right: float
    row: int
    passes: bool

    def cuts(self, text: "Flag", gap: float) -> bool:
        """Whether the leader of this flag would run through the name on another one."""
        x, pad = self.name.leader, 0.5 * gap
        is_passed = text.row < self.row + self.passes
        return x is not None and is_passed and text.left - pad < x < text.right + pad

    def clashes(self, other: "Flag", gap: float) -> bool:
        """Whether the two names touch, or the leader of one cuts the other."""
        touch = self.left < other.right + gap and other.left < self.right + gap
        is_crossed = self.cuts(other, gap) or other.cuts(self, gap)
        return (touch and self.row == other.row) or is_crossed


def hung(names: list[Name], width: float, gap: float) -> list[Flag]:
    """Return a flag for every name within 0…width, with the fewest rows.

    gap: room between a leader and its name, and between two names.
    """
    for n_rows in range(1, MOST_ROWS + 1):
        found = _search(names, [], n_rows, width, gap)
        if found is not None:
            return found
    return [_at_margin(name, i, width) for i, name in enumerate(names)]


def _search(
    names: list[Name], placed: list[Flag], n_rows: int, width: float, gap: float
) -> list[Flag] | None:
    if len(placed) == len(names):
        return placed
    for flag in _options(names[len(placed)], n_rows, width, gap):
        if not any(flag.clashes(other, gap) for other in placed):
            found = _search(names, [*placed, flag], n_rows, width, gap)
            if found is not None:
                return found
    return None


def _options(name: Name, n_rows: int, width: float, gap: float) -> Iterator[Flag]:
    """Yield where a name may hang: right of its leader or at the margin, then left of it."""
    for row in range(n_rows):
        if name.leader is None or name.leader + gap + name.width > width:
            yield _at_margin(name, row, width)
        else:
            left = name.leader + gap
            yield Flag(name, left, left + name.width, row, True)
        if name.leader is not None and name.leader - gap - name.width >= 0:
            yield Flag(name, name.leader - gap - name.width, name.leader - gap, row, True)


def _at_margin(name: Name, row: int, width: float) -> Flag:
    return Flag(name, width - name.width, width, row, False)


USUAL_MS: Final = {
    TOUCHDOWN: 0.0,
    MID_STANCE: 45.0,
    TOE_OFF: 108.0,
    PEAK_KNEE_LIFT: 145.0,
    OPPOSITE_TOUCHDOWN: 225.0,
}


@dataclass(frozen=True)
class Moment:
    """A figure on the line.

    at:      ms where known, else seconds of the file or frames.
    is_own:  the pose was tapped, and is no stand-in.
    parts:   what of the pose was tapped besides its legs: trunk, head and arms.
    """

    event: str
    at: float
    pose: Pose
    is_own: bool
    parts: tuple[str, ...] = ()


class Ruler:
    """Where the moments of a step stand: x = left + (at − first) · per.

    is_timed: they are in ms. interval: of one frame, likewise.
    """

    def __init__(self, run: Run, i_step: int, width: float, figure: float) -> None:
        self.width, self.left, self.per = width, 0.0, 1.0
        self.moments, self.is_timed, self.interval = _moments(run, i_step)
        if not self.moments:
            return
        first, last = self.moments[0], self.moments[-1]
        self.left, right = extent(first.pose)[0] * figure, extent(last.pose)[1] * figure
        usual = USUAL_MS[last.event] - USUAL_MS[first.event]
        span = (last.at - first.at) * (USUAL_MS[OPPOSITE_TOUCHDOWN] / usual if usual > 0 else 1.0)
        self.per = (width - self.left - right) / span if span > 0 else 0.0
        before = self.per * (last.at - first.at) / usual if usual > 0 else 0.0
        self.left += before * USUAL_MS[first.event]

    def x(self, at: float) -> float:
        return self.left + (at - self.moments[0].at) * self.per

    def moment(self, event: str) -> Moment | None:
        return next((m for m in self.moments if m.event == event), None)

    def contacts(self) -> list[tuple[float, float]]:
        """Return from where to where a foot is on the ground, as far as the key frames tell."""
        down, up = self.moment(TOUCHDOWN), self.moment(TOE_OFF)
        spans = []
        if down and up:
            spans.append((self.x(down.at), self.x(up.at + self.interval)))
        other = self.moment(OPPOSITE_TOUCHDOWN)
        if other:
            spans.append((self.x(other.at), self.width))
        return spans


def _moments(run: Run, i_step: int) -> tuple[tuple[Moment, ...], bool, float]:
    """Return the moments in order of time, whether they are in ms, and one interval likewise."""
    frames = [f for f in run.steps[i_step].key_frames if f.event in SIDE_EVENTS]
    own = step_poses(run, i_step)
    times = {f.event: run.true_time_s(f.time_s) for f in frames}
    is_timed = bool(times) and all(each is not None for each in times.values())
    if is_timed:
        gaps = [run.true_time_s(f.interval_s) or 0.0 for f in frames]
        at = {event: 1000.0 * (s or 0.0) for event, s in times.items()}
        interval = 1000.0 * max(gaps)
    else:
        at, interval = {f.event: float(f.picture) for f in frames}, 1.0
    parts = {f.event: tuple(_tapped_parts(f)) for f in frames}
    moments = [Moment(e, at[e], own.get(e, STAND_IN[e]), e in own, parts[e]) for e in at]
    return tuple(sorted(moments, key=lambda moment: moment.at)), is_timed, interval


def _tapped_parts(frame: KeyFrame) -> Iterator[str]:
    """Yield the parts of a figure above the legs that the taps of a key frame show."""
    tapped = {tap.point for tap in frame.taps if tap.at_px is not None}
    if "hip" in tapped and tapped & {"shoulder", "neck base"}:
        yield from ("trunk", "head")
    if {"shoulder", "elbow"} <= tapped:
        yield "near arm"


CLOSE: Final = 0.5  # body heights between two figures below which the later one is only a leg


@dataclass(frozen=True)
class StepWords:
    """Every word on a step line, so that another language can replace them."""

    names: Mapping[str, str] = field(default_factory=dict)
    on_the_ground: str = "on the ground"
    in_the_air: str = "in the air"
    ms: str = "ms"
    not_set: str = "not set"

    def name(self, event: str) -> str:
        """Return what a key frame is called."""
        return self.names.get(event, event)


@dataclass(frozen=True)
class StepLook:
    """Sizes in the unit of the place, and colours.

    text:           em of names and numerals.
    thin, leader:   ground in the air and leaders; heavy is the ground under a foot.
    says_phases:    write "on the ground" and "in the air" over the line.
    lists_unset:    name every key frame not set at the right end, not the current one alone.
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
    numerals: str = BLACK
    min_outline: float = 0.0
    says_phases: bool = True
    lists_unset: bool = True
    current: str = ""


class StepLine:
    """A step line with the ground at y = 0 and the left end at x = 0, and the room it takes.

    above:    room from the ground up to the highest head.
    figures:  key frame -> x of its hip, for those that stand on the line.
    """

    def __init__(
        self,
        ruler: Ruler,
        look: StepLook,
        words: StepWords,
        text_width: TextWidth,
        notes: Mapping[str, str],
    ) -> None:
        self.ruler, self.look, self.words = ruler, look, words
        self.text_width, self.notes = text_width, notes
        heads = [m.pose.hip_up + m.pose.build.trunk + 0.2 for m in ruler.moments]
        self.above = look.figure * max([1.0, *heads])
        self.figures = {m.event: ruler.x(m.at) for m in ruler.moments}

    @property
    def below(self) -> float:
        """Room from the ground down under the last row of names."""
        rows = max((flag.row for flag in self._flags), default=0)
        return self._row_y(rows) + 0.3 * self.look.text

    @cached_property
    def shapes(self) -> Shapes:
        """Everything drawn; made when it is asked for, since pages try several sizes."""
        phases = self._phases() if self.look.says_phases else ()
        return (*self.bare, *self._scale(), *phases, *self._names())

    @property
    def bare(self) -> Shapes:
        """The figures on their ground, without a word or a number.

        The ground is a thin line all along, a heavy one while a foot is down; both from y = 0 down.
        """
        look, thin, heavy = self.look, self.look.thin / 2, self.look.heavy / 2
        lines = [Line(((0.0, thin), (self.ruler.width, thin)), look.ink, look.thin)]
        for start, end in self.ruler.contacts():
            lines.append(Line(((start, heavy), (end, heavy)), look.ink, look.heavy))
        return (*self._standing(), *lines)

    def _standing(self) -> list[Shape]:
        """Full figures from half a body height apart; nearer, what was tapped stands on its own."""
        shapes: list[Shape] = []
        taken: list[float] = []
        for moment in sorted(self.ruler.moments, key=lambda m: m.event == PEAK_KNEE_LIFT):
            x = self.ruler.x(moment.at)
            gap = min((abs(x - other) for other in taken), default=self.look.figure)
            taken.append(x)
            if gap < 1e-6:
                continue  # the same frame: one figure with both names
            if moment.event != PEAK_KNEE_LIFT or gap >= CLOSE * self.look.figure:
                shapes += self._figure(moment, (x, 0.0), PARTS)
            else:  # trunk and arm behind the figure that pushes off, the lifted leg before it
                shapes[:0] = self._figure(moment, (x, 0.0), moment.parts)
                shapes += self._figure(moment, (x, 0.0), ("far leg",))
        return shapes

    def _figure(self, moment: Moment, at: tuple[float, float], parts: tuple[str, ...]) -> Shapes:
        look, is_current = self.look, moment.event == self.look.current
        ink = look.accent if is_current else look.ink if moment.is_own else CONTROL_EDGE
        if moment.is_own:
            tint = tint_of(ink, look.paper)
            figure = FigureLook(ink, look.paper, tint, look.min_outline)
        else:
            figure = FigureLook(ink, look.paper, look.paper, look.min_outline, frozenset())
        return figure_shapes(moment.pose, look.figure, at, figure, parts=parts)

    def _scale(self) -> list[Shape]:
        """Ticks every 10 ms, numerals every 50, "ms" once, counted from touchdown."""
        start, look = self.ruler.moment(TOUCHDOWN), self.look
        if not (self.ruler.is_timed and start and len(self.ruler.moments) > 1):
            return []
        end = int(self.ruler.moments[-1].at - start.at)
        shapes: list[Shape] = []
        for ms in range(0, end + 1, 10):
            x = self.ruler.x(start.at + ms)
            deep = look.heavy + look.text * (0.42 if ms % 50 == 0 else 0.22)
            shapes.append(Line(((x, 0.0), (x, deep)), look.ink, look.leader))
        return [*shapes, *self._numerals(start.at, end)]

    def _numerals(self, start: float, end: int) -> list[Label]:
        """Put numbers under their ticks; one that finds no room stays away, its tick remains.

        From the right end on, because the last one carries the unit. A number stands as near to its
        tick as it is clear of leaders and numbers.
        """
        em, gap = 0.94 * self.look.text, 0.35 * self.look.text
        y = self.look.heavy + 1.35 * self.look.text
        leaders = [self.ruler.x(moment.at) for moment in self.ruler.moments]
        taken = [(leader, leader) for leader in leaders]
        placed: list[Label] = []
        for ms in range(end // 50 * 50, -1, -50):
            text = str(ms) if placed else f"{ms} {self.words.ms}"
            wide = self.text_width(text, em, False)
            middle = self.ruler.x(start + ms) - self.text_width(str(ms), em, False) / 2
            beside = [each for at in leaders for each in (at - gap - wide, at + gap)]
            free = [
                left
                for left in (middle, *beside)
                if abs(left - middle) < wide + gap
                and left >= 0.0
                and left + wide <= self.ruler.width
                and all(b < left - gap / 2 or left + wide + gap / 2 < a for a, b in taken)
            ]
            if free:
                left = min(free, key=lambda left: abs(left - middle))
                placed.append(Label((left, y), text, em, self.look.numerals))
                taken.append((left, left + wide))
        return placed[::-1]

    def _row_y(self, row: int) -> float:
        """Return the baseline of a row of names."""
        return self.look.heavy + (2.75 + 1.2 * row) * self.look.text

    @cached_property
    def _flags(self) -> list[Flag]:
        """The names and where they hang; of key frames not set the current one apart."""
        words, current = self.words, self.look.current
        texts: list[tuple[str, str, float | None]] = [
            (m.event, f"{words.name(m.event)}  {self.notes.get(m.event, '')}".strip(), x)
            for m, x in zip(self.ruler.moments, self.figures.values(), strict=True)
        ]
        unset = [event for event in SIDE_EVENTS if self.ruler.moment(event) is None]
        if current in unset:
            texts.append((current, f"{words.name(current)}: {words.not_set}", None))
        rest = ", ".join(words.name(event) for event in unset if event != current)
        if rest and self.look.lists_unset:
            texts.append(("rest", f"{rest}: {words.not_set}", None))
        names = [
            Name(key, text, self.text_width(text, self.look.text, key == current), x)
            for key, text, x in texts
        ]
        return hung(names, self.ruler.width, 0.35 * self.look.text)

    def _names(self) -> Iterator[Shape]:
        """Yield each name with its leader."""
        look = self.look
        for flag in self._flags:
            is_current = flag.name.key == look.current
            ink = look.accent if is_current else look.ink
            y, leader = self._row_y(flag.row), flag.name.leader
            if leader is not None:
                end = y + look.text * (0.1 if flag.passes else -0.95)
                yield Line(((leader, 0.0), (leader, end)), ink, look.leader)
            yield Label((flag.left, y), flag.name.text, look.text, ink, is_bold=is_current)

    def _phases(self) -> Iterator[Label]:
        """Write what the foot does where the line has most room between two figures."""
        spans = self.ruler.contacts()
        if not spans or self.ruler.moment(TOE_OFF) is None:
            return
        texts = [(self.words.on_the_ground, *spans[0])]
        if len(spans) > 1:
            texts.append((self.words.in_the_air, spans[0][1], spans[1][0]))
        size, height = self.look.text, self.look.figure
        reaches = ((self.ruler.x(m.at), *extent(m.pose)) for m in self.ruler.moments)
        edges = sorted((x - back * height, x + ahead * height) for x, back, ahead in reaches)
        for text, start, end in texts:
            gaps = [(max(a[1], start), min(b[0], end)) for a, b in pairwise(edges)]
            left, right = max(gaps, key=lambda gap: gap[1] - gap[0], default=(0.0, 0.0))
            if right - left > self.text_width(text, size, False) + size:
                at = ((left + right) / 2, -0.55 * size)
                yield Label(at, text, size, self.look.ink, is_italic=True, anchor="c")


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
    ruler = Ruler(run, i_step, width, look.figure)
    return StepLine(ruler, look, words or StepWords(), text_width, notes or {})

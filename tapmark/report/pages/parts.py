"""What a page is made of: headings, paragraphs, tables, figures.

Every page is described once, as values in reading order: an athlete's and the coach's in sections,
the others beside how they are set. Paper (athlete_page, coach_page, group_page, cards) and HTML
walk the same values: what is said and when is decided in the description, where it stands and how
large by who sets it.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final, TypeVar

from tapmark.checklist.verdict import Band, Drill
from tapmark.report.drawing.bands import Dot
from tapmark.report.drawing.shapes import Drawing, TextWidth
from tapmark.report.pages.content import GroupLine
from tapmark.report.pages.photo import Photo

N_TICK_ROWS: Final = 6
P = TypeVar("P")


@dataclass(frozen=True)
class Paragraph:
    """A text; style is "", "bold" or "title"."""

    text: str
    style: str = ""


@dataclass(frozen=True)
class Entry:
    """A name with a sign: a strength, what became of a priority, an item of the list.

    sign:       the verdict or change that is drawn; said is its printed word.
    is_result:  follows from other items and has no sign.
    draw:       of a strength: the athlete's own figure within a width and height.
    """

    name: str
    sign: str = ""
    said: str = ""
    note: str = ""
    is_result: bool = False
    draw: Callable[[float, float], Drawing] | None = None


@dataclass(frozen=True)
class Entries:
    """A list; kind is "strengths", "changes", "items" or "lines"; doubt is a sentence above it.

    is_large: strengths with their figures, where there is no task.
    """

    kind: str
    entries: tuple[Entry, ...]
    doubt: str = ""
    is_large: bool = False


@dataclass(frozen=True)
class Figure:
    """Drawn within a width and height with the letters.

    kind:  "pair", "step", "chain" or "plan".

    photo: stands in the place of the first figure of a pair.
    """

    kind: str
    draw: Callable[[float, float, TextWidth], Drawing]
    photo: Photo | None = None


@dataclass(frozen=True)
class Priority:
    """One thing to work on; aside says which foot and moment, and how sure the film is."""

    name: str
    aside: str
    says: str
    cue: str
    pair: Figure | None


@dataclass(frozen=True)
class Drills:
    """Drills under the question about pain, the coach's boxes and the athlete's tick table.

    care:  cautions of the things themselves that no drill repeats.
    heads: of the tick table: the date's, then one for each column of boxes.
    """

    pain: str
    care: str
    drills: tuple[Drill, ...]
    boxes_title: str
    boxes: tuple[str, ...]
    ticks_title: str
    heads: tuple[str, ...]


@dataclass(frozen=True)
class OwnWord:
    """The athlete's own word for the task, under the cue; "" leaves a line."""

    label: str
    text: str


@dataclass(frozen=True)
class Notes:
    """What the coach typed and the re-test week; "" leaves a line."""

    typed: str
    week_label: str
    week: str


@dataclass(frozen=True)
class NumberRow:
    """A measure in numbers.

    name, short: its full name, and the one that stands where room is scarce.
    side:        "right" or "left", "" where no foot is meant.
    value:       "–" where there is none; number is value ± doubt with its unit.
    mostly:      what most of the doubt comes from, "" where the row is not graded.
    reason:      why there is no number or no verdict, "" where there are both.
    """

    key: str
    name: str
    short: str
    side: str
    value: str
    doubt: str
    unit: str
    number: str
    sign: str
    verdict: str
    mostly: str
    reason: str
    band: Band | None
    dot: Dot | None


@dataclass(frozen=True)
class BandRow:
    """A band in use: the names of its measure, its edges, their unit and what they rest on."""

    name: str
    short: str
    edges: str
    unit: str
    basis: str


@dataclass(frozen=True)
class Numbers:
    """A table of numbers or of bands; heads are those of its columns."""

    heads: tuple[str, ...]
    rows: tuple[NumberRow, ...] = ()
    bands: tuple[BandRow, ...] = ()


@dataclass(frozen=True)
class Cell:
    """The verdict of one item of one athlete and its printed word; works: it is worked on now."""

    word: str
    said: str
    works: bool


@dataclass(frozen=True)
class MatrixRow:
    """An item: its name, a cell for each athlete, and how many of the whole squad show it."""

    name: str
    cells: tuple[Cell, ...]
    n_seen: int


@dataclass(frozen=True)
class Matrix:
    """Athletes beside one another, as many as a page holds; moment -> its rows."""

    athletes: tuple[GroupLine, ...]
    moments: tuple[tuple[str, tuple[MatrixRow, ...]], ...]


@dataclass(frozen=True)
class Log:
    """A table to fill in by pencil: runs in the order of filming, as many for each code.

    facts:  labels above it, each with a line to write on.
    yes:    the word beside the box in its column of boxes.
    """

    facts: tuple[str, ...]
    heads: tuple[str, ...]
    codes: tuple[str, ...]
    runs_each: int
    yes: str

    def rows(self, n: int) -> Iterator[tuple[str, int]]:
        """Yield whose run stands in each of n rows ("" for nobody's), and its number."""
        for i in range(n):
            i_code, i_run = divmod(i, self.runs_each)
            yield self.codes[i_code] if i_code < len(self.codes) else "", i_run + 1


Part = (
    Paragraph | Entries | Priority | OwnWord | Drills | Figure | Notes | Numbers
    | Matrix | Log
)  # fmt: skip


@dataclass(frozen=True)
class Section:
    """A heading ("" for none) and what stands under it.

    is_care: pain or treatment come before any praise.
    """

    heading: str
    parts: tuple[Part, ...]
    is_care: bool = False

    def only(self, kind: type[P]) -> P:
        """Return the one part of that kind."""
        (part,) = (part for part in self.parts if isinstance(part, kind))
        return part


Sections = dict[str, Section]


def with_something(sections: Mapping[str, Section]) -> Sections:
    """Return the sections that have something to say."""
    return {name: section for name, section in sections.items() if section.parts}


@dataclass(frozen=True)
class Page:
    """A page: its head, its sections in reading order, its foot.

    title:   whose page, or which one; day, number and facts stand beside it.
    dated:   the day as an ISO date, "" where a page is of no day.
    number:  which sheet of the season.
    behind:  what stands behind an athlete's page in the coach's copy.
    """

    title: str
    sections: Sections
    dated: str = ""
    day: str = ""
    number: str = ""
    facts: str = ""
    foot: tuple[Paragraph, ...] = ()
    behind: Sections = field(default_factory=dict)

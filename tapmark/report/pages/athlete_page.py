"""The athlete's page: one side of paper, in the order a runner reads it.

Strip, what you do well, your one thing, do this, ticks, since last time, checklist, step line,
notes, re-test week, foot. Where the text needs more room, the page gives up in a fixed order:
the pair, the figures, the gaps, the ruled lines, at last the long list. Text and boxes never
shrink.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from PIL import Image

from tapmark.errors import SheetTooFull
from tapmark.report.drawing.painter import Fonts, paint
from tapmark.report.drawing.shapes import Shapes
from tapmark.report.pages.athlete_blocks import (
    blocked,
    checklist,
    drills,
    foot,
    instead,
    notes,
    since,
    slot,
    step,
    strengths,
    strip,
)
from tapmark.report.pages.content import SheetContent
from tapmark.report.pages.layout import MARGIN, PAPERS, PX_PER_MM, Block, Setter, spread
from tapmark.report.pages.photo import paste
from tapmark.report.pages.space import PageSetup, Room, rooms
from tapmark.report.pages.words import page_words

WIDEST_GAP: Final = 9.0
MOST_NOTES: Final = 6
MOST_NOTES_QUIET: Final = 10  # where there is nothing to do


def athlete_page(content: SheetContent, fonts: Fonts | None = None) -> Image.Image:
    """Paint the athlete's page in grey at 300 dpi.

    Raises SheetTooFull where the words do not fit even when the page has given up all it can,
    TextHasNoGlyph for a letter that no form of the font can print.
    """
    fonts = fonts or Fonts(PX_PER_MM)
    shapes = athlete_shapes(content, fonts)
    page = painted(shapes, content.paper, fonts)
    if content.photo:
        paste(page, shapes, content.photo)
    return page


def painted(shapes: Shapes, paper: str, fonts: Fonts) -> Image.Image:
    """Paint shapes in mm onto a white sheet of paper."""
    sheet = PAPERS[paper]
    size = round(sheet.width * PX_PER_MM), round(sheet.height * PX_PER_MM)
    page = Image.new("L", size, 255)
    paint(page, shapes, fonts)
    return page


def athlete_shapes(content: SheetContent, fonts: Fonts) -> Shapes:
    """Return the whole page as shapes in mm, top left corner of the paper at (0, 0)."""
    plan = _plan(content, Setter(fonts))
    paper = PAPERS[content.paper]
    slack = paper.free - plan.height
    return spread(plan.blocks, plan.spread_gaps(slack), MARGIN)


@dataclass(frozen=True)
class _Plan:
    """Blocks from top to bottom; the last one, the foot, stands on the lower margin."""

    blocks: tuple[Block, ...]
    gaps: tuple[float, ...]

    @property
    def height(self) -> float:
        return sum(self.gaps) + sum(block.height for block in self.blocks)

    def spread_gaps(self, slack: float) -> tuple[float, ...]:
        """Widen the gaps between the groups, none beyond WIDEST_GAP; the rest is above the foot."""
        inner = [i for i in range(1, len(self.gaps))]
        share = min(slack / len(inner), max(0.0, WIDEST_GAP - max(self.gaps)))
        gaps = [gap + (share if i else 0.0) for i, gap in enumerate(self.gaps)]
        gaps[-1] += slack - share * len(inner)
        return tuple(gaps)


def _plan(content: SheetContent, setter: Setter) -> _Plan:
    words = page_words(content.words)
    free = PAPERS[content.paper].free
    assessment = content.assessment
    is_quiet = not assessment.slots
    setup = PageSetup(content, setter, words, Room())
    for room in rooms(assessment.shows_checklist, is_quiet):
        setup = replace(setup, room=room)
        plan = _planned(setup)
        if plan.height <= free:
            return _with_more_lines(setup, plan)
    raise SheetTooFull(
        f"The page of {content.athlete.code} does not hold its words: {plan.height - free:.0f} mm "
        "too many. Shorten the notes or the phrases, or leave the second slot empty."
    )


def _with_more_lines(setup: PageSetup, plan: _Plan) -> _Plan:
    """Use what is left for more lines to write on, after the gaps have had their share."""
    room, free = setup.room, setup.paper.free
    spare = free - plan.height - (WIDEST_GAP - room.gap) * (len(plan.gaps) - 1)
    most = MOST_NOTES if setup.content.assessment.slots else MOST_NOTES_QUIET
    more = min(most - room.n_notes, int(spare / room.ruled))
    if more <= 0:
        return plan
    return _planned(replace(setup, room=replace(room, n_notes=room.n_notes + more)))


def _planned(setup: PageSetup) -> _Plan:
    room = setup.room
    groups = [_kept(setup, strip), _kept(setup, strengths, room.n_strengths), *_tasks(setup)]
    groups.append(_kept(setup, since))
    groups += [_kept(setup, checklist)] if room.has_list else []
    groups += [_kept(setup, step, room.figure), notes(setup)]
    blocks = [block for block in groups if block.height]
    gaps = [0.0] + [room.gap] * (len(blocks) - 1)
    return _Plan((*blocks, _kept(setup, foot, room.has_list)), (*gaps, room.gap * 0.6))


def _kept(setup: PageSetup, group: Callable[[PageSetup], Block], *room: object) -> Block:
    """Set a group once for all layouts that give it the same room."""
    key = (group.__name__, setup.room.is_terse, *room)
    return setup.once(key, lambda: group(setup))


def _tasks(setup: PageSetup) -> Iterator[Block]:
    assessment = setup.content.assessment
    if assessment.blocked:
        yield blocked(setup)
    elif not assessment.slots:
        yield instead(setup)
    for i, chosen in enumerate(assessment.slots):
        yield slot(setup, chosen, i == 0)
    yield _kept(setup, drills, setup.room.n_drills)

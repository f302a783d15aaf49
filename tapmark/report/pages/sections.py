"""What a page is made of: headings, paragraphs, tables, figures; and what an athlete's page says.

Every page is described once, as values in reading order. Paper (athlete_page, coach_page,
group_page, cards) and HTML walk the same values: what is said and when is decided in the
description, where it stands and how large by who sets it.
"""

import math
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Final, TypeVar

from tapmark.checklist.verdict import CANT_TELL, SHOWN, Band, Chosen, Drill, RowVerdict
from tapmark.geometry.scale import LEG_PER_THIGH_AND_SHANK
from tapmark.measures.catalogue import row as row_named
from tapmark.measures.doubts import what_helps
from tapmark.measures.result import Z90, Measured, printed
from tapmark.measures.setting import setting_of
from tapmark.report.drawing import idea
from tapmark.report.drawing.bands import Dot
from tapmark.report.drawing.chain_map import MapLook, chain_map
from tapmark.report.drawing.pose import step_poses
from tapmark.report.drawing.shapes import Drawing, TextWidth
from tapmark.report.drawing.step_line import StepLook, step_line
from tapmark.report.pages.content import GroupLine, SheetContent
from tapmark.report.pages.layout import HEAVY, NAME, TEXT, THIN
from tapmark.report.pages.photo import Photo
from tapmark.report.pages.words import PageWords

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


def describe_athlete(content: SheetContent, words: PageWords) -> Page:
    """Return the athlete's page."""
    set_up, visit = content.run.set_up, content.visit
    effort = words.effort.format(n=set_up.effort) if set_up.effort is not None else ""
    typed = ", ".join(part for part in (set_up.zone, effort, set_up.shoes) if part)
    sides = {"right": words.filmed_right, "left": words.filmed_left, "both": words.filmed_both}
    quality = {"good": words.picture_good, "fair": words.picture_fair, "only": words.picture_only}
    run = f"{typed[:1].upper()}{typed[1:]}." if typed else ""
    facts = (run, sides[content.sides], quality[content.quality])
    sections = athlete_sections(content, words)
    return Page(
        title=content.athlete.code,
        sections=sections,
        dated=visit.dated,
        day=words.date(content.day),
        number=words.sheet_number.format(n=visit.sheet_number) if visit.sheet_number else "",
        facts=" ".join(part for part in facts if part),
        foot=foot(content, words, "items" in sections),
    )


def describe_coach(content: SheetContent, words: PageWords) -> Page:
    """Return the athlete's page with all numbers behind it."""
    return replace(describe_athlete(content, words), behind=coach_sections(content, words))


def athlete_sections(content: SheetContent, words: PageWords) -> Sections:
    """Return the sections of the athlete's page by name, those that have something to say."""
    assessment, visit = content.assessment, content.visit
    poses = step_poses(content.run, content.i_step)
    praise = Entries(
        "strengths",
        tuple(
            Entry(each.words, draw=_own_figure(each.key, poses))
            for each in assessment.strengths[:3]
        ),
        # large where there is no task, and no pain goes before them
        is_large=not assessment.slots and (not assessment.blocked or is_too_young(content)),
    )
    changes = tuple(
        Entry(line.name, line.word, words.change(line.word), line.note)
        for line in ([] if assessment.blocked else content.since[:3])
    )
    since: tuple[Part, ...] = (Entries("changes", changes),) if changes else ()
    if not changes and not assessment.blocked and assessment.is_first_sheet:
        since = (Paragraph(words.starting_point),)
    has_list = content.has_list and assessment.shows_checklist
    items = (_item_list(content, words.can_be_off),) if has_list else ()
    notes = Notes(visit.notes, words.retest, visit.retest_week)
    found = {
        "strengths": Section(words.do_well, (praise,) if praise.entries else ()),
        "task": _task(content, words),
        "drills": Section(words.do_this, _drills(content, words)),
        "since": Section(words.since, since),
        "items": Section(words.checklist, items),
        "step": Section(words.step_head, (_step(content, words),)),
        "notes": Section(words.notes, (notes,)),
    }
    return with_something(found)


def is_too_young(content: SheetContent) -> bool:
    """Return whether nothing but age keeps the athlete from a task."""
    return content.assessment.blocked == content.words.say("blocked.under_12")


def _own_figure(key: str, poses: idea.Poses) -> Callable[[float, float], Drawing] | None:
    shown, look = idea.strength_of(key, poses), _look(lambda *_: 0.0)
    if shown is None:
        return None
    return lambda width, height: idea.strength_drawing(shown, width, height, look)


def _look(text: TextWidth) -> idea.PairLook:
    return idea.PairLook(THIN, TEXT, NAME, text)


def _task(content: SheetContent, words: PageWords) -> Section:
    """Return the priorities, or what stands where there is none."""
    assessment, own = content.assessment, content.athlete.own_cue
    if is_too_young(content):  # the largest line praises, why there is no more stays small
        return Section(words.this_time, (Paragraph(assessment.blocked),))
    if assessment.blocked:
        told = (Paragraph(assessment.blocked, "title"),)
        return Section(words.first_things, told, is_care=True)
    if not assessment.slots:
        title, *says = assessment.instead
        return Section(words.this_time, (Paragraph(title, "title"), *map(Paragraph, says)))
    quoted = f"{words.open_quote}{own}{words.close_quote}" if own else ""
    priorities = (_priority(content, words, chosen) for chosen in assessment.slots)
    parts: tuple[Part, ...] = (*priorities, OwnWord(words.my_word, quoted))
    return Section(assessment.heading or words.one_thing, parts)


def _priority(content: SheetContent, words: PageWords, chosen: Chosen) -> Priority:
    """Return one thing with the athlete beside the idea."""
    item, phrase, run = chosen.item, chosen.phrase, content.run
    word = content.words.verdict(item.word)
    if item.is_sure:
        word = words.seen_once if item.once else ""
    pair = idea.pair_of(item.number, step_poses(run, content.i_step), item.feet == run.far_side)
    moment = words.at_moment.format(event=words.step.name(pair.event)) if pair else ""
    aside = ", ".join(part for part in (words.foot(item.feet), moment, word) if part)
    figure = None
    if pair:
        figure = _pair(content, words, chosen, pair)
    elif item.is_sure and item.number in idea.BACK_PAIRS:
        figure = _from_behind(words, chosen)
    return Priority(phrase.name, aside, phrase.says, phrase.cue, figure)


def _pair(content: SheetContent, words: PageWords, chosen: Chosen, pair: idea.Pair) -> Figure:
    photo = content.photo if content.photo and content.photo.event == pair.event else None
    says, idea_says = content.words.gap(chosen.item.number)
    size = gap_size(content, chosen, pair)
    caption = idea.Caption(words.you, words.idea, words.about, size, says, idea_says)
    alt = (words.photo_alt if photo else words.pair_alt).format(name=chosen.phrase.name)
    if size:
        alt += f" {words.about} {size} {says}."

    def draw(width: float, height: float, text: TextWidth) -> Drawing:
        drawn = idea.pair_drawing(pair, caption, width, height, _look(text), photo is None)
        return replace(drawn, alt=alt)

    return Figure("pair", draw, photo)


def _from_behind(words: PageWords, chosen: Chosen) -> Figure:
    """Return the pair of an item seen from behind."""
    alt = words.pair_alt.format(name=chosen.phrase.name)
    caption = idea.Caption(words.saw, words.idea)

    def draw(width: float, height: float, text: TextWidth) -> Drawing:
        drawn = idea.back_pair(chosen.item.number, caption, width, height, _look(text))
        return replace(drawn, alt=alt)

    return Figure("pair", draw)


def gap_size(content: SheetContent, chosen: Chosen, pair: idea.Pair) -> str:
    """Return how far you are from what is shown, in whole cm or degrees; "" where it is not sure.

    Taken from the drawn pair, as large as it is drawn. It is named only for what was seen, and
    only where the pair differs by more than 1.64 times the largest doubt that one step has in a row
    of the item: that is the one-sided 95 % point of a normal distribution.
    """
    measure = pair.measure
    if measure is None or not chosen.item.is_sure:
        return ""
    rows = (row.result for row in chosen.item.rows if row.result.key == measure.row)
    doubts = [
        each.u if each.n_steps == 1 else math.hypot(each.u_set_up, each.u_one_step)
        for each in rows
        if isinstance(each, Measured)
    ]
    if not doubts:
        return ""
    value, away, doubt = measure.value(pair.you), pair.away, max(doubts)
    if measure.kind in idea.ANGLES:
        shown, unit = value, "°"
    else:
        leg_h = LEG_PER_THIGH_AND_SHANK * (pair.you.build.thigh + pair.you.build.shank)
        doubt *= leg_h / 100 if measure.per_leg else math.radians(measure.length(pair.you))
        leg_cm, run = content.run.set_up.leg_cm, content.run
        if not leg_cm:  # not typed: by a scale in the frame
            setting = setting_of(run, run.steps[content.i_step])
            if not (setting.px_per_m and setting.leg_px):
                return ""
            leg_cm = 100 * setting.leg_m
        shown, unit = (away if measure.kind == idea.LEVEL else value) * leg_cm / leg_h, " cm"
    if away <= Z90 * doubt or measure.sign * value <= 0 or not round(abs(shown)):
        return ""
    return f"{abs(shown):.0f}{unit}"


def _drills(content: SheetContent, words: PageWords) -> tuple[Part, ...]:
    """Return at most two drills: two of one thing, or the first of each of two.

    Cautions of the things are told but for what the first drill says as well: a question and its
    answer are one, and a crowded page keeps no more than the first drill.
    """
    slots = content.assessment.slots
    most = 1 if len(slots) > 1 else 2
    drills = tuple(drill for each in slots for drill in each.phrase.drills[:most])
    if not drills:
        return ()
    told = drills[0].caution
    said = (each for slot in slots for each in re.split(r"(?<=[.!]) ", slot.phrase.caution))
    care = " ".join(each for each in dict.fromkeys(said) if each not in told)
    boxes = words.not_yet, words.sometimes, words.mostly
    felt = words.tick_easier, words.tick_same, words.tick_harder
    heads = words.tick_date, words.tick_did, *felt
    return (Drills(words.pain_today, care, drills, words.coach_saw, boxes, words.tick_next, heads),)


def _item_list(content: SheetContent, above: str) -> Entries:
    """Return the 18 items with their signs and words, under a sentence."""
    follows, verdict = content.words.say("verdicts.follows"), content.words.verdict
    entries = (
        Entry(item.name, said=follows, is_result=True)
        if item.is_result
        else Entry(item.name, item.word, verdict(item.word))
        for item in content.assessment.items
    )
    return Entries("items", tuple(entries), above)


def _step(content: SheetContent, words: PageWords) -> Figure:
    def draw(width: float, figure: float, text: TextWidth) -> Drawing:
        look = StepLook(figure, TEXT, THIN, HEAVY, THIN, min_outline=THIN)
        line = step_line(content.run, content.i_step, width, look, text, words.step)
        alt = words.step_alt.format(names=", ".join(map(words.step.name, line.figures)))
        return Drawing(lambda: line.shapes, line.above, line.below, alt)

    return Figure("step", draw)


def foot(content: SheetContent, words: PageWords, has_items: bool) -> tuple[Paragraph, Paragraph]:
    """Return when to stop, then other cautions and privacy; the doubt too without the list."""
    standing = {words.stop, words.pain_today}
    extra = [each for each in content.assessment.cautions if each not in standing]
    doubt = [] if has_items else [words.can_be_off]
    said = " ".join([*extra, *doubt, words.private])
    return Paragraph(words.stop, "bold"), Paragraph(said)


def coach_sections(content: SheetContent, words: PageWords) -> Sections:
    """Return the sections of the coach's copy by name, those that have something to say."""
    rows = [number_row(content, words, row) for row in content.assessment.rows]
    heads = (words.row_head, words.value, words.fine_band, words.verdict, words.mostly_head)
    graded = tuple(row for row in rows if row.sign != SHOWN and row.band)
    shown = tuple(row for row in rows if row.sign == SHOWN and row.dot)
    found: dict[str, tuple[str, Iterable[Part]]] = {
        "why": (words.why_this, map(Paragraph, _why(content, words))),
        "items": (words.checklist, (_item_list(content, words.legend),)),
        "chain": (words.chain_head, (_chain(content, words),)),
        "graded": (words.graded_head, (Numbers(heads, graded),) if graded else ()),
        "shown": (words.shown_head, (Numbers(heads[:2], shown),) if shown else ()),
        "drawn": (words.drawn_head, map(Paragraph, content.drawn)),
        "unsure": (words.unsure_head, map(Paragraph, _unsure(content, words))),
        "missing": (words.missing_head, map(Paragraph, _missing(rows))),
        "bands": (words.bands_head, _bands(rows, words)),
    }
    return with_something({name: Section(h, tuple(parts)) for name, (h, parts) in found.items()})


def number_row(content: SheetContent, words: PageWords, row: RowVerdict) -> NumberRow:
    """Return a row as it is printed."""
    result, name = row.result, content.words.row(row.result.key)
    value, doubt, unit, number, mostly, dot = "–", "", "", "–", "", None
    reason = "" if isinstance(result, Measured) else result.reason
    if isinstance(result, Measured):
        value, doubt = (printed(each, result.digits) for each in (result.value, result.plus_minus))
        value = f"{'≈ ' if result.is_about else ''}{value}"
        unit, reason = result.unit, result.not_graded
        number = f"{value} ± {doubt}{row_named(result.key).shown_unit}"
        mostly = "" if reason else result.mostly
        dot = Dot(result.value, result.plus_minus, result.is_about)
    return NumberRow(
        key=result.key,
        name=name,
        short=words.row(result.key) or name,
        side=words.side(row.foot),
        value=value,
        doubt=doubt,
        unit=unit,
        number=number,
        sign=row.word,
        verdict=content.words.verdict(row.word),
        mostly=mostly,
        reason=reason,
        band=row.band,
        dot=dot,
    )


def _chain(content: SheetContent, words: PageWords) -> Figure:
    def draw(width: float, height: float, text: TextWidth) -> Drawing:
        drawn = chain_map(content.assessment, width, MapLook(TEXT, 3.5, 9.5, 0.43, 0.9), text)
        alt = words.chain_alt.format(names=", ".join(map(content.words.item, drawn.items)))
        return Drawing(lambda: drawn.shapes, 0.0, drawn.height, alt)

    return Figure("chain", draw)


def _why(content: SheetContent, words: PageWords) -> Iterator[str]:
    """Yield why this was chosen, what to tell a family, guesses and checks, as sentences."""
    assessment = content.assessment
    yield from assessment.reasons
    rule_names = ", ".join(content.words.item(number) for number in assessment.by_rule)
    if any(slot.is_override for slot in assessment.slots):
        yield words.by_rule.format(names=rule_names or words.nothing)
    if assessment.is_youth:
        for slot in assessment.slots:
            yield words.family.format(says=slot.phrase.to_parent)
    if content.results.guesses:
        yield words.guesses.format(names=", ".join(content.results.guesses))
    if content.visit.notes:
        yield f"{words.notes}: {content.visit.notes}"
    yield from (check.words for check in content.results.checks)


def _unsure(content: SheetContent, words: PageWords) -> Iterator[str]:
    """Yield what can't be told and what would narrow its doubt most, each help once."""
    helps: dict[str, list[str]] = {}
    for row in content.assessment.rows:
        if row.word == CANT_TELL and isinstance(row.result, Measured):
            name = words.row(row.result.key) or content.words.row(row.result.key)
            side = f" ({words.side(row.foot)})" if row.foot else ""
            helps.setdefault(what_helps(row.result), []).append(f"{name}{side}")
    return (f"{', '.join(names)}: {help}." for help, names in helps.items() if help)


def _missing(rows: Iterable[NumberRow]) -> Iterator[str]:
    """Yield what has no number or no verdict and why, each reason once."""
    reasons: dict[str, list[str]] = {}
    for row in rows:
        if row.reason:
            side = f" ({row.side})" if row.side else ""
            reasons.setdefault(row.reason, []).append(f"{row.short}{side}")
    return (f"{', '.join(names)}: {why}" for why, names in reasons.items())


def _bands(rows: Iterable[NumberRow], words: PageWords) -> tuple[Part, ...]:
    bands: dict[str, BandRow] = {}
    for row in rows:
        if row.band and row.band.basis and row.key not in bands:
            # a basis is typed on a keyboard: true minus signs before its numbers
            basis = re.sub(r"(?<![\w])-(?=\d)", "−", row.band.basis)
            unit = row_named(row.key).shown_unit
            bands[row.key] = BandRow(row.name, row.short, edges(row.band), unit, basis)
    heads = words.row_head, words.fine_band, words.basis_head
    return (Numbers(heads, bands=tuple(bands.values())),) if bands else ()


def edges(band: Band) -> str:
    """Return a band in one line: fine edge or zone, arrow, limit or limits."""
    return f"{'…'.join(map(printed, band.fine))} → {' / '.join(map(printed, band.limits))}"

"""What an athlete's page and the coach's copy say, as the parts of a page."""

import math
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from tapmark.checklist.verdict import CANT_TELL, SHOWN, Band, Chosen, RowVerdict
from tapmark.geometry.scale import LEG_PER_THIGH_AND_SHANK
from tapmark.measures.catalogue import row as row_named
from tapmark.measures.doubts import what_helps
from tapmark.measures.result import Z90, Measured, printed
from tapmark.measures.setting import setting_of
from tapmark.report.drawing import idea
from tapmark.report.drawing.bands import Dot
from tapmark.report.drawing.chain_map import MapLook, chain_map
from tapmark.report.drawing.pair import (
    BACK_PAIRS,
    Caption,
    PairLook,
    back_pair,
    pair_drawing,
    strength_drawing,
)
from tapmark.report.drawing.pose import step_poses
from tapmark.report.drawing.shapes import Drawing, TextWidth
from tapmark.report.drawing.step_line import StepLook, step_line
from tapmark.report.pages.content import SheetContent
from tapmark.report.pages.layout import HEAVY, NAME, TEXT, THIN
from tapmark.report.pages.parts import (
    BandRow,
    Drills,
    Entries,
    Entry,
    Figure,
    Notes,
    NumberRow,
    Numbers,
    OwnWord,
    Page,
    Paragraph,
    Part,
    Priority,
    Section,
    Sections,
    with_something,
)
from tapmark.report.pages.words import PageWords


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
    return lambda width, height: strength_drawing(shown, width, height, look)


def _look(text: TextWidth) -> PairLook:
    return PairLook(THIN, TEXT, NAME, text)


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
    elif item.is_sure and item.number in BACK_PAIRS:
        figure = _from_behind(words, chosen)
    return Priority(phrase.name, aside, phrase.says, phrase.cue, figure)


def _pair(content: SheetContent, words: PageWords, chosen: Chosen, pair: idea.Pair) -> Figure:
    photo = content.photo if content.photo and content.photo.event == pair.event else None
    says, idea_says = content.words.gap(chosen.item.number)
    size = gap_size(content, chosen, pair)
    caption = Caption(words.you, words.idea, words.about, size, says, idea_says)
    alt = (words.photo_alt if photo else words.pair_alt).format(name=chosen.phrase.name)
    if size:
        alt += f" {words.about} {size} {says}."

    def draw(width: float, height: float, text: TextWidth) -> Drawing:
        drawn = pair_drawing(pair, caption, width, height, _look(text), photo is None)
        return replace(drawn, alt=alt)

    return Figure("pair", draw, photo)


def _from_behind(words: PageWords, chosen: Chosen) -> Figure:
    """Return the pair of an item seen from behind."""
    alt = words.pair_alt.format(name=chosen.phrase.name)
    caption = Caption(words.saw, words.idea)

    def draw(width: float, height: float, text: TextWidth) -> Drawing:
        drawn = back_pair(chosen.item.number, caption, width, height, _look(text))
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

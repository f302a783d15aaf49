"""The fixed words of the pages; a language file has them under [page], English in words/en.toml."""

from dataclasses import dataclass, fields
from datetime import date as Day

from tapmark.checklist.words import Words
from tapmark.marks.points import SIDE_EVENTS
from tapmark.report.drawing.signs import MOVED_FARTHER, MOVED_NEARER, SAME
from tapmark.report.drawing.step_line import StepWords


@dataclass(frozen=True)
class PageWords:
    """Headings, labels and standing sentences; texts in {} are filled in by the page."""

    months: str
    day: str
    sheet_number: str
    effort: str
    filmed_right: str
    filmed_left: str
    filmed_both: str
    picture_good: str
    picture_fair: str
    picture_only: str
    do_well: str
    one_thing: str
    first_things: str
    this_time: str
    foot_right: str
    foot_left: str
    foot_both: str
    seen_once: str
    open_quote: str
    close_quote: str
    you: str
    idea: str
    starts_with: str
    may_start_with: str
    my_word: str
    do_this: str
    pain_today: str
    tick_next: str
    tick_date: str
    tick_did: str
    tick_easier: str
    tick_same: str
    tick_harder: str
    coach_saw: str
    not_yet: str
    sometimes: str
    mostly: str
    since: str
    starting_point: str
    moved_nearer: str
    moved_farther: str
    same: str
    cant_tell: str
    checklist: str
    can_be_off: str
    notes: str
    retest: str
    stop: str
    private: str
    touchdown: str
    mid_stance: str
    toe_off: str
    peak_knee_lift: str
    opposite_touchdown: str
    on_the_ground: str
    in_the_air: str
    ms: str
    not_set: str
    right: str
    left: str
    both: str
    coach_copy: str
    rate: str
    no_rate: str
    leg_tape: str
    leg_height: str
    leg_picture: str
    sprint: str
    race_pace: str
    acceleration: str
    bend: str
    plus_minus_line: str
    behind_line: str
    value: str
    fine_band: str
    limit: str
    verdict: str
    mostly_head: str
    toe_off_on: str
    see_below: str
    chain_head: str
    why_this: str
    by_rule: str
    nothing: str
    guesses: str
    family: str
    shown_head: str
    missing_head: str
    bands_head: str
    row_reach: str
    row_knee_separation: str
    row_separation_behind: str
    row_separation_ahead: str
    row_swing_thigh: str
    row_trunk_lean: str
    row_leg_stack: str
    row_knee_bend: str
    row_hip_drop: str
    row_fold: str
    row_hip_share: str
    row_turn_delay: str
    lang: str
    step_head: str
    step_alt: str
    pair_alt: str
    photo_alt: str
    chain_alt: str
    item_head: str
    row_head: str
    basis_head: str
    coach_head: str
    graded_head: str
    saw: str
    coach_only: str
    code_head: str
    last_filmed: str
    never: str
    due: str
    works_on: str
    common_root: str
    share_root: str
    evening: str
    due_head: str
    film_again: str

    def date(self, day: Day) -> str:
        """Return a day in words."""
        month = self.months.split()[day.month - 1]
        return self.day.format(day=day.day, month=month, year=day.year)

    def iso_date(self, dated: str) -> str:
        """Return an ISO date in words; a text that is none stays as it is."""
        try:
            return self.date(Day.fromisoformat(dated))
        except ValueError:
            return dated

    def short_date(self, dated: str) -> str:
        """Return day and month of an ISO date."""
        try:
            day = Day.fromisoformat(dated)
        except ValueError:
            return dated
        return f"{day.day} {self.months.split()[day.month - 1][:3]}"

    def change(self, word: str) -> str:
        """Return the printed word of a change."""
        printed = {
            MOVED_NEARER: self.moved_nearer,
            MOVED_FARTHER: self.moved_farther,
            SAME: self.same,
        }
        return printed.get(word, self.cant_tell)

    def foot(self, feet: str) -> str:
        """Return "right foot" and the like, "" where no foot is meant."""
        return {"right": self.foot_right, "left": self.foot_left, "both": self.foot_both}.get(
            feet, ""
        )

    def side(self, foot: str) -> str:
        """Return "right" or "left" alone, "" where no foot is meant."""
        return {"right": self.right, "left": self.left, "both": self.both}.get(foot, "")

    def row(self, key: str) -> str:
        """Return the short name of a row under its key frame, "" where its full name is short."""
        return str(getattr(self, f"row_{key}", ""))

    def heading(self, name: str) -> str:
        """Return the name of a group with a capital letter."""
        text = str(getattr(self, name))
        return text[:1].upper() + text[1:]

    def context(self, name: str) -> str:
        """Return which bands are used."""
        return str(getattr(self, _attribute(name), name))

    def leg(self, source: str) -> str:
        """Return where the leg length comes from."""
        known = {"tape": self.leg_tape, "height": self.leg_height}
        return known.get(source, self.leg_picture)

    @property
    def step(self) -> StepWords:
        """The words of the step line."""
        names = {event: getattr(self, _attribute(event)) for event in SIDE_EVENTS}
        return StepWords(names, self.on_the_ground, self.in_the_air, self.ms, self.not_set)


def page_words(words: Words) -> PageWords:
    """Return the fixed words of a language."""
    return PageWords(**{each.name: words.leaves[f"page.{each.name}"] for each in fields(PageWords)})


def _attribute(event: str) -> str:
    return event.replace(" ", "_").replace("-", "_")

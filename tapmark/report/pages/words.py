"""The fixed words of the pages; a language file has them under [page], English in words/en.toml."""

from dataclasses import dataclass
from datetime import date as Day

from tapmark.checklist.words import Leaves, Words
from tapmark.marks.points import SIDE_EVENTS
from tapmark.report.drawing.signs import CLOSER, FURTHER, SAME
from tapmark.report.drawing.step_line import StepWords


@dataclass(frozen=True)
class PageWords:
    """Headings, labels and standing sentences; texts in {} are filled in by the page.

    Each key under [page] is an attribute.
    """

    leaves: Leaves

    def __getattr__(self, name: str) -> str:
        try:
            return self.leaves[f"page.{name}"]
        except KeyError:
            raise AttributeError(f"[page] of the language has no {name}") from None

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
        """Return day and month of an ISO date; a text that is none stays as it is."""
        try:
            day = Day.fromisoformat(dated)
        except ValueError:
            return dated
        return f"{day.day} {self.months.split()[day.month - 1][:3]}"

    def change(self, word: str) -> str:
        """Return the printed word of a change."""
        printed = {CLOSER: self.moved_nearer, FURTHER: self.moved_farther, SAME: self.same}
        return printed.get(word, self.cant_tell)

    def foot(self, feet: str) -> str:
        """Return "right foot" and the like, "" where no foot is meant."""
        printed = {"right": self.foot_right, "left": self.foot_left, "both": self.foot_both}
        return printed.get(feet, "")

    def side(self, foot: str) -> str:
        """Return "right" or "left" alone, "" where no foot is meant."""
        return {"right": self.right, "left": self.left, "both": self.both}.get(foot, "")

    def row(self, key: str) -> str:
        """Return the short name of a row under its key frame, "" where its full name is short."""
        return self.leaves.get(f"page.row_{key}", "")

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
    return PageWords(words.leaves)


def _attribute(event: str) -> str:
    return event.replace(" ", "_").replace("-", "_")

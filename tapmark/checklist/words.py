"""The words of one language: names, sentences for each reader, drills, reasons.

A language is one file words/xx.toml with the keys and {fields} of words/en.toml. A squad may
replace single phrases in its own checks.toml.
"""

import string
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from tapmark.checklist.reading import Table, read
from tapmark.checklist.verdict import (
    CANT_TELL,
    FINE,
    LIKELY,
    NEAR_THE_LINE,
    NOT_MEASURED,
    SEEN,
    SHOWN,
    Drill,
    Phrase,
)

FOLDER: Final = Path(__file__).parent / "words"
ENGLISH: Final = FOLDER / "en.toml"

Leaves = Mapping[str, str]  # dotted key -> text
_VERDICT_KEYS = {
    SEEN: "seen",
    LIKELY: "likely",
    NEAR_THE_LINE: "near_the_line",
    FINE: "fine",
    CANT_TELL: "cant_tell",
    NOT_MEASURED: "not_filmed",
    SHOWN: "shown",
}

_OF_OTHER_ROOMS = ("page.",)  # a language file may carry the page's own words; they go through


@dataclass(frozen=True)
class Words:
    """Every text of a language by its dotted key, e.g. "items.1.cue"."""

    language: str
    leaves: Leaves

    def say(self, key: str, **fields: object) -> str:
        """Return a text with its {fields} filled in."""
        return self.leaves[key].format(**fields)

    def verdict(self, word: str) -> str:
        """Return the printed word of a verdict."""
        return self.leaves[f"verdicts.{_VERDICT_KEYS[word]}"]

    def idea(self, word: str) -> str:
        """Return what this film says of a priority that it does not show, by its verdict."""
        return self.leaves[f"idea.{_VERDICT_KEYS[word]}"]

    def row(self, key: str) -> str:
        """Return the printed name of a row; a row without words is named by its key."""
        return self.leaves.get(f"rows.{key}.name", key.replace("_", " "))

    def short_row(self, key: str) -> str:
        """Return the short name of a row, its printed name where that is short."""
        return self.leaves.get(f"page.row_{key}") or self.row(key)

    def measured(self, key: str) -> str:
        """Return what was measured in other people, "" where nothing is known."""
        return self.leaves.get(f"rows.{key}.measured", "")

    def item(self, number: int) -> str:
        """Return the plain name of an item."""
        return self.leaves[f"items.{number}.name"]

    def gap(self, number: int) -> tuple[str, str]:
        """Return what stands behind the number of a drawn gap, and below the idea; or "", ""."""
        at = f"gaps.{number}"
        return self.leaves.get(f"{at}.you", ""), self.leaves.get(f"{at}.idea", "")

    def strength(self, key: str) -> str:
        """Return the words of a strength."""
        return self.leaves[f"strengths.{key}"]

    def foot(self, feet: str) -> str:
        """Return the printed word for "right", "left" or "both"; "" for ""."""
        return self.leaves[f"feet.{feet}"] if feet else ""

    def in_brackets(self, feet: str) -> str:
        """Return the foot to stand behind a name, e.g. " (right)"; "" where none is meant."""
        return f" ({self.foot(feet)})" if feet else ""

    def event(self, event: str) -> str:
        """Return the printed name of a key frame."""
        return self.leaves[f"events.{event.replace(' ', '_').replace('-', '_')}"]

    def drill(self, key: str, is_young: bool) -> Drill:
        """Return a drill with the dose for the reader's age."""
        reader = "young" if is_young else "adult"
        at = f"drills.{key}"
        return Drill(
            name=self.leaves[f"{at}.name"],
            dose=self.leaves[f"{at}.{reader}"],
            how=self.leaves[f"{at}.how"],
            stop=self.leaves[f"{at}.stop"],
            caution=self.leaves[f"{at}.caution"],
        )

    def phrase(
        self, number: int, drills: tuple[str, ...], is_young: bool, is_wider: bool = False
    ) -> Phrase:
        """Return the words of an item for a reader.

        is_wider: tell a second item along with this one (straight leg with foot ahead of knee).
        """
        at, prefix = f"items.{number}", "with_" if is_wider else ""
        reader = "young" if is_young else "adult"
        return Phrase(
            name=self.leaves[f"{at}.name"],
            cue=self.leaves[f"{at}.{prefix}cue"],
            says=self.leaves[f"{at}.{prefix}{reader}"],
            to_parent=self.leaves[f"{at}.{prefix}parent"],
            drills=tuple(self.drill(key, is_young) for key in drills),
            caution=self.leaves[f"{at}.caution"],
        )


def load_words(language: str | Path = "en") -> Words:
    """Return the words of a language: a code with a file in words/, or the path of such a file.

    Raises CriteriaUnreadable when the file is not there or differs from English in a key or in
    a {field}.
    """
    path = language if isinstance(language, Path) else FOLDER / f"{language}.toml"
    table = read(path, f"words/{path.name}" if path.parent == FOLDER else path.name)
    english = dict(leaves_of(read(ENGLISH)))
    own = dict(leaves_of(table))
    for key in english.keys() - own.keys():
        raise table.refuse(key, "is missing. Copy it from en.toml and translate it.")
    _refuse_strange(table, own, english)
    return Words(own.pop("language"), own)


def override_words(words: Words, squad: Table) -> Words:
    """Return the words with a squad's own phrases in place of those it names.

    Raises CriteriaUnreadable for a key nobody knows, a lost {field}, or phrases without a date
    and a reason.
    """
    own = squad.table("words")
    if not own.values:
        return words
    own.day("dated")
    own.text("reason")
    spoken = {name: value for name, value in own.values.items() if name not in ("dated", "reason")}
    table = Table(own.file, own.at, spoken)
    phrases = dict(leaves_of(table))
    _refuse_strange(table, phrases, words.leaves)
    return Words(words.language, {**words.leaves, **phrases})


def _refuse_strange(table: Table, own: Leaves, model: Leaves) -> None:
    for key, text in own.items():
        if key.startswith(_OF_OTHER_ROOMS):
            continue
        if key not in model:
            raise table.refuse(key, "is not known. See words/en.toml for the names.")
        if fields_of(text) != fields_of(model[key]):
            wanted = ", ".join(sorted(fields_of(model[key]))) or "no field"
            raise table.refuse(key, f"should hold {wanted} in curly brackets, as English does.")


def fields_of(text: str) -> frozenset[str]:
    """Return the names in curly brackets of a text; a lone bracket counts as a wrong field."""
    try:
        parsed = list(string.Formatter().parse(text))
    except ValueError:
        return frozenset({"{"})
    return frozenset(name for _, name, _, _ in parsed if name is not None)


def leaves_of(table: Table, prefix: str = "") -> Iterator[tuple[str, str]]:
    """Yield every text below a table with its dotted key."""
    for name, value in table.values.items():
        if isinstance(value, dict):
            yield from leaves_of(table.table(name), f"{prefix}{name}.")
        elif prefix or name != "format":
            yield f"{prefix}{name}", table.text(name)

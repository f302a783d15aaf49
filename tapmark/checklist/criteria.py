"""Everything that judgement goes by, read from plain data files: bands, items, chain, words.

checks.toml (bands), items.toml (18 items, chain, strengths) and words/en.toml lie beside this
module. A squad's checks.toml may replace single bands, phrases and the chain.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from tapmark import disk
from tapmark.checklist.bands import BandKey, Context, override, read_bands, read_contexts
from tapmark.checklist.chain import Edges, loop_in
from tapmark.checklist.reading import Table, read
from tapmark.checklist.verdict import Band
from tapmark.checklist.words import Words, load_words, override_words

HERE = Path(__file__).parent
N_ITEMS = 18
RULES = ("worst", "all", "helped", "ticks", "shown")
STRENGTH_RULES = ("fine", "both alike", "tick", "moved")
SIDES = ("low", "high", "any")
LEGS = ("own", "none")


@dataclass(frozen=True)
class Input:
    """One row that an item asks about.

    side:      "high", "low" or "any".
    is_swing:  the row is named by the landing of one foot and speaks of the other leg.
    """

    row: str
    side: str
    is_swing: bool


@dataclass(frozen=True)
class ItemRule:
    """How one item is read; see items.toml for the meaning of every entry."""

    number: int
    rule: str
    inputs: tuple[Input, ...]
    ticks: tuple[str, ...]
    supporting: tuple[str, ...]
    drills: tuple[str, ...]
    names_foot: bool
    is_result: bool
    wording_of: int | None
    larger_part: tuple[int, ...]
    told_by: tuple[int, ...]
    shares_with: tuple[int, ...]
    only_after: tuple[int, ...]
    adults_only: bool


@dataclass(frozen=True)
class StrengthRule:
    """How one strength is read; one of a group is printed at most."""

    key: str
    group: str
    rule: str
    rows: tuple[str, ...]
    ticks: tuple[str, ...]


@dataclass(frozen=True)
class Choice:
    """Numbers of the choice; "under n" holds while this year − birth year <= n."""

    slots: int
    keep_days: int
    quiet_days: int
    strengths: int
    under_12: int
    under_16: int
    under_18: int


@dataclass(frozen=True)
class Criteria:
    """What every row, item, strength and choice is judged by.

    squad_bands: (row, context) of bands that the squad's own file replaced.
    """

    bands: Mapping[BandKey, Band]
    contexts: Mapping[str, Context]
    items: tuple[ItemRule, ...]
    strengths: tuple[StrengthRule, ...]
    edges: Edges
    choice: Choice
    words: Words
    squad_bands: tuple[BandKey, ...] = ()

    def band(self, row: str, context: str) -> Band | None:
        """Return the band that a row is judged by in a context; None for rows only shown."""
        return self.bands.get((row, self.contexts[context].bands_of))

    def is_off(self, row: str, context: str) -> bool:
        """Return whether a context does not grade a row."""
        return row in self.contexts[context].off

    @property
    def graded(self) -> tuple[str, ...]:
        """Names of all rows that have a band, in the order of checks.toml."""
        return tuple(dict.fromkeys(row for row, _ in self.bands))

    @property
    def ticks(self) -> tuple[str, ...]:
        """Names of all ticks that an item or a strength asks for."""
        asked = [rule.ticks for rule in self.items] + [rule.ticks for rule in self.strengths]
        return tuple(dict.fromkeys(tick for ticks in asked for tick in ticks))


def load(
    squad_file: Path | None = None, language: str | Path = "en", on: date | None = None
) -> Criteria:
    """Return the criteria in force on a day (None = the newest).

    squad_file: a squad's checks.toml; nothing happens where there is none.
    language:   code of a file in words/, or the path of a file like it.

    Raises CriteriaUnreadable with file and key for anything that cannot be used.
    """
    base = _packaged(load_words(language), on)
    if squad_file is None or not disk.exists(squad_file):
        return base
    return _with_squad(base, read(squad_file), on)


def _packaged(words: Words, on: date | None) -> Criteria:
    checks, items = read(HERE / "checks.toml"), read(HERE / "items.toml")
    return Criteria(
        bands=read_bands(checks, on),
        contexts=read_contexts(checks),
        items=tuple(_item(table) for table in items.tables("items")),
        strengths=tuple(_strength(table) for table in items.tables("strengths")),
        edges=read_edges(items),
        choice=_choice(checks.table("choice")),
        words=words,
    )


def _with_squad(base: Criteria, squad: Table, on: date | None) -> Criteria:
    squad.refuse_others(("format", "rows", "words", "edges"))
    bands = override(base.bands, squad, on)
    return replace(
        base,
        bands=bands,
        words=override_words(base.words, squad),
        edges=read_edges(squad) if "edges" in squad else base.edges,
        squad_bands=tuple(key for key, band in bands.items() if band != base.bands[key]),
    )


def read_edges(table: Table) -> Edges:
    """Return the chain of a file; raises CriteriaUnreadable for strange numbers or a loop."""
    pairs = table.values.get("edges")
    numbers = range(1, N_ITEMS + 1)
    if not isinstance(pairs, list) or not all(
        isinstance(pair, list) and len(pair) == 2 and all(each in numbers for each in pair)
        for pair in pairs
    ):
        raise table.refuse("edges", "should be a list of pairs of item numbers, 1 to 18.")
    edges = tuple((up, down) for up, down in pairs)
    at = loop_in(edges)
    if at is not None:
        raise table.refuse("edges", f"leads from item {at} back to itself. Break the loop.")
    return edges


def _choice(table: Table) -> Choice:
    table.refuse_others(Choice.__dataclass_fields__)
    return Choice(**{name: table.whole(name) for name in Choice.__dataclass_fields__})


def _one_of(table: Table, name: str, allowed: tuple[str, ...], default: str) -> str:
    word = table.text(name) if name in table else default
    if word not in allowed:
        raise table.refuse(name, f"should be one of {', '.join(allowed)}, not “{word}”.")
    return word


def _input(table: Table, text: str) -> Input:
    row, side, *more = text.split()
    if side not in SIDES or more not in ([], ["swing"]):
        raise table.refuse("rows", f"holds “{text}”, which names no row and side.")
    return Input(row, side, bool(more))


def _item(table: Table) -> ItemRule:
    return ItemRule(
        number=table.whole("number"),
        rule=_one_of(table, "rule", RULES, ""),
        inputs=tuple(_input(table, text) for text in table.texts("rows")),
        ticks=table.texts("ticks"),
        supporting=table.texts("supporting"),
        drills=table.texts("drills"),
        names_foot=_one_of(table, "legs", LEGS, "own") == "own",
        is_result=table.truth("is_result"),
        wording_of=table.whole("wording_of") if "wording_of" in table else None,
        larger_part=table.wholes("larger_part"),
        told_by=table.wholes("told_by"),
        shares_with=table.wholes("shares_with"),
        only_after=table.wholes("only_after"),
        adults_only=table.truth("adults_only"),
    )


def _strength(table: Table) -> StrengthRule:
    return StrengthRule(
        key=table.text("key"),
        group=table.text("group"),
        rule=_one_of(table, "rule", STRENGTH_RULES, "fine"),
        rows=table.texts("rows"),
        ticks=table.texts("ticks"),
    )

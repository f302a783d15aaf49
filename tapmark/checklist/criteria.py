"""Everything that judgement goes by, read from plain data files: bands, items, chain, words.

checks.toml (bands), items.toml (18 items, chain, strengths) and words/en.toml lie beside this
module. A squad's checks.toml may replace single bands, phrases and the chain.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cache, lru_cache
from pathlib import Path

from tapmark import disk
from tapmark.checklist.chain import Edges, loop_in
from tapmark.checklist.reading import Table, read
from tapmark.checklist.verdict import Band
from tapmark.checklist.words import Words, load_words, override_words

CONTEXTS = ("sprint", "race pace")
LIMITS = ("limit_low", "fine_low", "fine_high", "limit_high")
FIELDS = (
    *LIMITS,
    "needs_speed",
    "trend_only",
    "only_if",
    "capped",
    "least_steps",
    "basis",
    "dated",
    "reason",
)

BandKey = tuple[str, str]  # row, context


@dataclass(frozen=True)
class Context:
    """A kind of running: whose bands it takes and which rows it does not grade."""

    name: str
    bands_of: str
    off: frozenset[str] = frozenset()


def read_bands(table: Table, on: date | None) -> dict[BandKey, Band]:
    """Return the bands in force on a day; the oldest version counts for days before it."""
    bands = {}
    for row, of_row in table.table("rows").inner():
        of_row.refuse_others(CONTEXTS)
        for context in of_row.values:
            versions = sorted(of_row.tables(context), key=lambda each: each.day("dated"))
            newest = in_force(versions, on) or versions[0]
            bands[row, context] = _changed(Band(key=row, context=context), newest)
    return bands


def override(bands: Mapping[BandKey, Band], squad: Table, on: date | None) -> dict[BandKey, Band]:
    """Return the bands with those of a squad's file in their place, as far as it names them.

    Raises CriteriaUnreadable for an unknown row, a change without date and reason, or a band
    whose limits lie in the wrong order.
    """
    changed = dict(bands)
    for row, of_row in squad.table("rows").inner():
        for context in of_row.values:
            if (row, context) not in bands:
                raise of_row.refuse(context, "is no band. See checks.toml of Tapmark for names.")
            for version in of_row.tables(context):
                version.text("reason")
                version.day("dated")
                _changed(bands[row, context], version)
            own = in_force(of_row.tables(context), on)
            if own:
                changed[row, context] = _changed(bands[row, context], own)
    return changed


def in_force(versions: tuple[Table, ...] | list[Table], on: date | None) -> Table | None:
    """Return the newest version that is not younger than the day; None when all are younger."""
    old_enough = [each for each in versions if on is None or each.day("dated") <= on]
    return max(old_enough, key=lambda each: each.day("dated"), default=None)


def read_contexts(table: Table) -> dict[str, Context]:
    """Return every context by name; those with bands of their own grade every row."""
    contexts = {name: Context(name, name) for name in CONTEXTS}
    for name, of_context in table.table("contexts").inner():
        of_context.refuse_others(("bands_of", "off"))
        contexts[name] = Context(
            name, of_context.text("bands_of"), frozenset(of_context.texts("off"))
        )
    return contexts


def _changed(band: Band, table: Table) -> Band:
    table.refuse_others(FIELDS)
    gate = table.table("only_if")
    gate.refuse_others(("row", "at_least"))
    sides = {side: table.number(side) for side in LIMITS if side in table}
    changed = replace(
        band,
        **sides,  # type: ignore[arg-type]
        needs_speed=table.truth("needs_speed") if "needs_speed" in table else band.needs_speed,
        is_trend_only=table.truth("trend_only") if "trend_only" in table else band.is_trend_only,
        only_if=(gate.text("row"), gate.number("at_least")) if "only_if" in table else band.only_if,
        is_capped=table.truth("capped") if "capped" in table else band.is_capped,
        least_steps=table.whole("least_steps") if "least_steps" in table else band.least_steps,
        basis=table.text("basis") if "basis" in table else band.basis,
        dated=table.day("dated").isoformat(),
        reason=table.text("reason"),
    )
    refuse_disorder(changed, table)
    return changed


def refuse_disorder(band: Band, table: Table) -> None:
    """Raise CriteriaUnreadable for half a side, no side at all or limits in the wrong order."""
    for fine, limit in (("fine_low", "limit_low"), ("fine_high", "limit_high")):
        if (getattr(band, fine) is None) != (getattr(band, limit) is None):
            raise table.refuse(fine, f"and “{limit}” belong together. Give both or none.")
    given = [getattr(band, side) for side in LIMITS if getattr(band, side) is not None]
    if not given and not band.is_trend_only:
        raise table.refuse("limit_high", "is missing, and so is every other limit. Add one.")
    if sorted(given) != given:
        raise table.refuse("limit_high", f"lies in the wrong order: {given} must rise.")
    if band.limit_low is not None and band.limit_low == band.fine_low:
        raise table.refuse("limit_low", "must lie below “fine_low”.")
    if band.limit_high is not None and band.limit_high == band.fine_high:
        raise table.refuse("limit_high", "must lie above “fine_high”.")


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
    """What every row, item, strength and choice is judged by."""

    bands: Mapping[BandKey, Band]
    contexts: Mapping[str, Context]
    items: tuple[ItemRule, ...]
    strengths: tuple[StrengthRule, ...]
    edges: Edges
    choice: Choice
    words: Words

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
    base = _shipped(language, on) if isinstance(language, str) else _read(language, on)
    if squad_file is None or not disk.exists(squad_file):
        return base
    return _with_squad(base, read(squad_file), on)


@lru_cache(maxsize=32)
def _shipped(language: str, on: date | None) -> Criteria:
    """Read Tapmark's own files once: a squad is opened again and again."""
    return _read(language, on)


def _read(language: str | Path, on: date | None) -> Criteria:
    checks, items = _own_table("checks.toml"), _own_table("items.toml")
    words = _own_words(language) if isinstance(language, str) else load_words(language)
    return Criteria(
        bands=read_bands(checks, on),
        contexts=read_contexts(checks),
        items=tuple(_item(table) for table in items.tables("items")),
        strengths=tuple(_strength(table) for table in items.tables("strengths")),
        edges=read_edges(items),
        choice=_choice(checks.table("choice")),
        words=words,
    )


@cache
def _own_table(name: str) -> Table:
    """Read a file of ours once: it holds the bands of every day that a season asks for."""
    return read(HERE / name)


_own_words = cache(load_words)


def _with_squad(base: Criteria, squad: Table, on: date | None) -> Criteria:
    squad.refuse_others(("format", "rows", "words", "edges"))
    return replace(
        base,
        bands=override(base.bands, squad, on),
        words=override_words(base.words, squad),
        edges=read_edges(squad) if "edges" in squad else base.edges,
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

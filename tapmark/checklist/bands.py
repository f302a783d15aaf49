"""Bands from checks.toml and a squad's own file: dated versions, partly replaced, checked."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from tapmark.checklist.reading import Table
from tapmark.checklist.verdict import Band

CONTEXTS = ("sprint", "race pace")
SIDES = ("limit_low", "fine_low", "fine_high", "limit_high")
FIELDS = (
    *SIDES,
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
            bands[row, context] = _changed(Band(row, context), newest)
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
    sides = {side: table.number(side) for side in SIDES if side in table}
    changed = replace(
        band,
        **sides,  # type: ignore[arg-type]
        needs_speed=table.truth("needs_speed") if "needs_speed" in table else band.needs_speed,
        is_trend_only=table.truth("trend_only") if "trend_only" in table else band.is_trend_only,
        only_if=_gate(table) if "only_if" in table else band.only_if,
        is_capped=table.truth("capped") if "capped" in table else band.is_capped,
        least_steps=table.whole("least_steps") if "least_steps" in table else band.least_steps,
        basis=table.text("basis") if "basis" in table else band.basis,
        dated=table.day("dated").isoformat(),
        reason=table.text("reason"),
    )
    refuse_disorder(changed, table)
    return changed


def _gate(table: Table) -> tuple[str, float]:
    gate = table.table("only_if")
    gate.refuse_others(("row", "at_least"))
    return gate.text("row"), gate.number("at_least")


def refuse_disorder(band: Band, table: Table) -> None:
    """Raise CriteriaUnreadable for half a side, no side at all or limits in the wrong order."""
    for fine, limit in (("fine_low", "limit_low"), ("fine_high", "limit_high")):
        if (getattr(band, fine) is None) != (getattr(band, limit) is None):
            raise table.refuse(fine, f"and “{limit}” belong together. Give both or none.")
    given = [getattr(band, side) for side in SIDES if getattr(band, side) is not None]
    if not given and not band.is_trend_only:
        raise table.refuse("limit_high", "is missing, and so is every other limit. Add one.")
    if sorted(given) != given:
        raise table.refuse("limit_high", f"lies in the wrong order: {given} must rise.")
    if band.limit_low is not None and band.limit_low == band.fine_low:
        raise table.refuse("limit_low", "must lie below “fine_low”.")
    if band.limit_high is not None and band.limit_high == band.fine_high:
        raise table.refuse("limit_high", "must lie above “fine_high”.")

"""Write tapmark/store/schemas anew from the tables: python -m tests.store.write_schemas"""

from pathlib import Path
from typing import Any

from tapmark.kinds import Day, Flag, Kind, Many, Maybe, Number, OneOf, Record, Text, Tuple, Whole
from tapmark.store import files, schema, tables

SCHEMAS = Path(schema.__file__).parent / "schemas"
DRAFT = "https://json-schema.org/draft/2020-12/schema"
A_DAY = "[0-9]{4}-[0-9]{2}-[0-9]{2}"


def json_schema(title: str, record: Record) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of one kind of file."""
    described = of_kind(record)
    properties = {"format": {"const": schema.FORMAT}, **described["properties"]}
    required = ["format", *record.needed]
    return {
        "$schema": DRAFT,
        "title": title,
        **described,
        "properties": properties,
        "required": required,
    }


def of_kind(kind: Kind) -> dict[str, Any]:
    """Return a kind of value as JSON Schema."""
    match kind:
        case Text():
            return {"type": "string", "maxLength": kind.longest}
        case OneOf():
            return {"enum": list(kind.words)}
        case Flag():
            return {"type": "boolean"}
        case Number():
            return {"type": "number", "minimum": kind.low, "maximum": kind.high, **_near(kind)}
        case Whole():
            return {"type": "integer", "minimum": kind.low, "maximum": kind.high}
        case Day():
            pattern = f"^({A_DAY})?$" if kind.may_be_empty else f"^{A_DAY}$"
            return {"type": "string", "pattern": pattern}
    return _of_several(kind)


def _of_several(kind: Kind) -> dict[str, Any]:
    match kind:
        case Maybe():
            return {"anyOf": [of_kind(kind.kind), {"type": "null"}]}
        case Tuple():
            n, items = len(kind.kinds), [of_kind(each) for each in kind.kinds]
            return {"type": "array", "prefixItems": items, "minItems": n, "maxItems": n}
        case Many():
            bounds = {"minItems": kind.fewest, "maxItems": kind.most}
            return {"type": "array", "items": of_kind(kind.kind), **bounds}
        case Record():
            properties = {key: of_kind(each) for key, each in kind.kinds.items()}
            return {"type": "object", "properties": properties, "required": list(kind.needed)}
    raise TypeError(f"no JSON Schema for {kind}")


def _near(kind: Number) -> dict[str, Any]:
    if not kind.nearest:
        return {}
    near = {"exclusiveMinimum": -kind.nearest, "exclusiveMaximum": kind.nearest}
    return {"anyOf": [{"const": 0}, {"not": near}]}


def main() -> None:
    for name, record in tables.FILES.items():
        files.write_json(SCHEMAS / f"{name}.json", json_schema(f"Tapmark {name}", record))


if __name__ == "__main__":
    main()

"""Write tapmark/store/schemas anew from the tables: python -m tests.store.write_schemas"""

from pathlib import Path

from tapmark.store import files, schema, tables

SCHEMAS = Path(schema.__file__).parent / "schemas"


def main() -> None:
    for name, record in tables.FILES.items():
        files.write_json(SCHEMAS / f"{name}.json", schema.json_schema(f"Tapmark {name}", record))


if __name__ == "__main__":
    main()

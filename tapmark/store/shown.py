"""Show a value from a file in a sentence: short, on one line, printable."""

import json

from tapmark.disk import printable


def shown_text(text: str, most: int = 60) -> str:
    """Return a text as it may stand in a sentence, cut to at most that many letters."""
    line = printable(text[:most])
    return line if len(text) <= most else line[: most - 1] + "…"


def shown(value: object) -> str:
    """Return a plain JSON value as it may stand in a sentence; text in quotes."""
    if isinstance(value, str):
        return f"“{shown_text(value)}”"
    if isinstance(value, dict | list):
        return "a list" if isinstance(value, list) else "an object"
    if isinstance(value, int) and abs(value) > 10**15:
        return "a very long number"
    return json.dumps(value)

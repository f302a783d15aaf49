"""What other rooms say in English, looked up in the words of a language.

Measures, marks and bands know no language: a reason is a sentence, a key frame is its name. Under
[told], [basis] and [events] en.toml has those very texts, with {fields} where numbers and names
stand. A text is found by its English and said in the language of the page; a text that nobody
knows (what a person typed) stays as it is.
"""

import re
import string
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Final

from tapmark.checklist.reading import read
from tapmark.checklist.word_files import ENGLISH, leaves_of

SECTIONS: Final = ("told.", "basis.", "events.")

Found = tuple[str, tuple[tuple[str, str], ...]]  # key in the words, what stands in its fields


def translated(text: str, leaves: Mapping[str, str]) -> str:
    """Return a text of another room in the words of a language."""
    found = _looked_up(text)
    if found is None:
        return text
    key, fields = found
    return leaves[key].format(**{name: translated(value, leaves) for name, value in fields})


@lru_cache(maxsize=4096)
def _looked_up(text: str) -> Found | None:
    key = _whole().get(text)
    if key is not None:
        return key, ()
    for key, pattern in _patterns():
        match = pattern.fullmatch(text)
        if match:
            return key, tuple(match.groupdict().items())
    return None


@lru_cache(maxsize=1)
def _whole() -> dict[str, str]:
    """Return text -> key of those without fields."""
    return {text: key for key, text in _spoken() if "{" not in text}


@lru_cache(maxsize=1)
def _patterns() -> tuple[tuple[str, re.Pattern[str]], ...]:
    """Return (key, pattern) of those with fields, in the order of the file."""
    return tuple((key, re.compile(_pattern(text))) for key, text in _spoken() if "{" in text)


def _spoken() -> Iterator[tuple[str, str]]:
    for key, text in leaves_of(read(ENGLISH)):
        if key.startswith(SECTIONS):
            yield key, text


def _pattern(text: str) -> str:
    pieces = string.Formatter().parse(text)
    return "".join(
        re.escape(plain) + (f"(?P<{name}>.+?)" if name else "") for plain, name, *_ in pieces
    )

"""The Flesch-Kincaid grade level of a text, by a typed list of syllables.

Kincaid, Fishburne, Rogers and Chissom 1975, Derivation of new readability formulas for Navy
enlisted personnel, Research Branch Report 8-75: 0.39 words per sentence + 11.8 syllables per word
− 15.59.
"""

import re

from tests.checklist.syllables import COUNTS


def sentences(text: str) -> list[str]:
    """Return the sentences of a text."""
    return [each for each in re.split(r"(?<=[.!?])\s+", text) if each]


def words_in(text: str) -> list[str]:
    """Return the words of a text, numbers too."""
    return re.findall(r"[^\W_]+(?:['’][^\W_]+)*", text)


def grades(text: str) -> tuple[float, float]:
    """Return the grade with the fewest and with the most syllables its words may have.

    Raises KeyError for a word that is not in the list of syllables: look it up and add it.
    """
    words = words_in(text)
    spoken = [word.lower().replace("’", "'") for word in words if not re.search(r"\d", word)]
    counted = [COUNTS[word] for word in spoken]
    per_sentence = len(words) / len(sentences(text))
    fewest, most = (sum(each) / len(counted) for each in zip(*counted, strict=True))
    base = 0.39 * per_sentence - 15.59
    return base + 11.8 * fewest, base + 11.8 * most

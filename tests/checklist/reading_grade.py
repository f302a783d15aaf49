"""The Flesch-Kincaid grade level of a text, by a typed list of syllables.

Kincaid, Fishburne, Rogers and Chissom 1975, Derivation of new readability formulas for Navy
enlisted personnel, Research Branch Report 8-75: 0.39 words per sentence + 11.8 syllables per word
− 15.59.

    python -m tests.checklist.reading_grade

prints the table of tests/long/figures.md: grades of what an athlete reads, by kind of text.
"""

import re
import sys
from collections.abc import Iterator
from statistics import median

from tapmark.checklist.words import load_words
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


KINDS = {
    "what was seen and why, under 18": r"items\.\d+\.(with_)?young",
    "what was seen and why, 18 and over": r"items\.\d+\.(with_)?adult",
    "cautions of an item": r"items\.\d+\.caution",
    "a drill: how": r"drills\..*\.how",
    "a drill: stop and caution": r"drills\..*\.(stop|caution)",
    "a task that the film does not show": r"idea\.",
    "a page without a task": r"no_task\.",
    "care: pain, treatment, age, cautions": r"(blocked|cautions)\.",
}


def table(leaves: dict[str, str]) -> Iterator[str]:
    """Yield the rows: how many texts, words in the longest sentence, lowest, middle, highest."""
    for kind, pattern in KINDS.items():
        texts = [re.sub(r"\{\w+\}", "", t) for k, t in leaves.items() if re.match(pattern, k)]
        texts = [text for text in texts if len(words_in(text)) > 2]
        highest = sorted(max(grades(text)) for text in texts)
        longest = max(len(words_in(each)) for text in texts for each in sentences(text))
        low, middle, high = highest[0], median(highest), highest[-1]
        yield f"| {kind} | {len(texts)} | {longest} | {low:.1f} | {middle:.1f} | {high:.1f} |"


def main() -> None:
    """Print the table of the English words."""
    heads = "| text | n | words in the longest sentence | lowest | middle | highest |"
    rows = table(dict(load_words().leaves))
    sys.stdout.write("\n".join([heads, "|---|---|---|---|---|---|", *rows, ""]))


if __name__ == "__main__":
    main()

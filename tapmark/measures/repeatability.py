"""Repeats."""

from tapmark.measures.card import DEFAULT_CARD, Card, OwnSd

__all__ = ["DEFAULT_CARD", "Card", "OwnSd"]

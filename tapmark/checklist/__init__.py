"""Bands, items and words as data; a verdict for each row and item, and at most two priorities."""

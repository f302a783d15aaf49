"""Widgets and drawings that several pages use, and how they look."""

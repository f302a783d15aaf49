"""Shapes as plain values, one palette, figures, signs, and the painters that draw them."""

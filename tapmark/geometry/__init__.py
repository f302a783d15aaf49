"""Plane geometry on arrays of points: angles, runner axes, scale, propagation of doubt."""

"""Figures: one step from readings, and the calculations a policy may name."""

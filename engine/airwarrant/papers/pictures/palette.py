"""The colours of the pictures. Each kind of mark also has its own shape, dash or hatch, so that a grey print loses nothing."""

from typing import Final

PAPER: Final = "#ffffff"
INK: Final = "#1a1a1a"
QUIET: Final = "#555555"
#: Axes, ticks and the outline of a duct.
RULE: Final = "#6b6b6b"
FOUND: Final = "#4a4a4a"
PREDICTED: Final = "#0b5394"
ALERT: Final = "#9c3400"

#: Helper lines and the inside of an outlined shape: nothing is lost where they cannot be seen.
GRID: Final = "#e2e2e2"
PREDICTED_TINT: Final = "#dbe8f5"
DUCT_TINT: Final = "#f2f2f2"

TEXTS: Final = (INK, QUIET, FOUND, PREDICTED, ALERT)
MARKS: Final = (INK, QUIET, RULE, FOUND, PREDICTED, ALERT)
DECORATION: Final = (GRID, PREDICTED_TINT, DUCT_TINT, PAPER)

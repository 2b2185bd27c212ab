"""The homeowner's proposal: what was told and measured, what it means, what is offered and what is not, in plain words."""

from airwarrant.papers.page import page
from airwarrant.papers.sheet import Sheet


def proposal(sheet: Sheet, size: str) -> str:
    """Return the proposal as HTML."""
    return page("proposal", sheet, size)

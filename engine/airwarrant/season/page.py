"""The owner's figures as one self-contained HTML page."""

from collections.abc import Sequence
from datetime import date
from importlib.resources import files

from jinja2 import Environment, FunctionLoader, StrictUndefined
from markupsafe import Markup

from airwarrant.counted import counted
from airwarrant.season import words
from airwarrant.season.company import NOT_TOLD, Figures
from airwarrant.season.plots import plots


def season_page(figures: Figures, overdue: Sequence[str], on: date) -> str:
    """Return the page.

    Parameters
    ----------
    figures : Figures
    overdue : sequence of str
        Values of the kept policies that are past review.
    on : date
        The day at which they are.
    """
    environment = Environment(
        loader=FunctionLoader(_source), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    # A plot is markup: its texts were escaped where it was drawn.
    return environment.get_template("season").render(
        figures=figures,
        overdue=overdue,
        on=on,
        words=words,
        not_told=NOT_TOLD,
        plots=plots(figures),
        svg=Markup,
        counted=counted,
    )


def _source(name: str) -> str:
    return (files("airwarrant.season") / f"{name}.html.j2").read_text(encoding="utf-8")

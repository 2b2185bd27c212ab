"""HTML of the papers: the project's own templates and nothing else, autoescape on, one self-contained file each."""

from collections.abc import Mapping
from importlib.resources import files
from typing import Any

from jinja2 import Environment, FunctionLoader, StrictUndefined
from markupsafe import Markup

from airwarrant.papers.numbers import amount, clock, money, plain, printed, span, typeset
from airwarrant.papers.safe_text import visible
from airwarrant.papers.sheet import Sheet
from airwarrant.result.serial import digest


def page(template: str, sheet: Sheet, size: str, **holds: Any) -> str:
    """Return the HTML of a template of this package.

    Parameters
    ----------
    template : str
        Its name without ``.html.j2``.
    size : {"letter", "A4"}
        Sheet of paper it is printed on.
    holds : mapping
        What the template shows besides the sheet; a picture comes as `picture` made it.
    """
    made = _environment(sheet).get_template(template)
    return made.render(
        sheet=sheet, result=sheet.result, w=sheet.words, size=size, digest=digest(dict(sheet.result)), **holds
    )


def picture(svg: str) -> Markup:
    """Mark a picture of `airwarrant.papers.pictures` as markup: its texts were escaped where it was drawn."""
    return Markup(svg)


def _environment(sheet: Sheet) -> Environment:
    environment = Environment(
        loader=FunctionLoader(_source),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
        finalize=_final,
    )
    filters: Mapping[str, Any] = {
        "say": sheet.say,
        "place": sheet.place,
        "money": money,
        "plain": plain,
        "clock": clock,
        "unit": printed,
    }
    environment.filters.update(filters)
    environment.globals.update(amount=amount, span=span, style=Markup(_source("paper.css")))
    return environment


def _source(name: str) -> str:
    file = name if name.endswith(".css") else f"{name}.html.j2"
    return (files("airwarrant.papers") / "templates" / file).read_text(encoding="utf-8")


def _final(value: Any) -> Any:
    """Text of a record may hold anything; what no page can show is replaced before it is escaped."""
    return typeset(visible(value)) if isinstance(value, str) and not isinstance(value, Markup) else value

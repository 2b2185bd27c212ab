"""A policy difference as one self-contained HTML page."""

from importlib.resources import files

from jinja2 import Environment, FunctionLoader, StrictUndefined

from airwarrant.desks.policy_diff import PolicyDiff
from airwarrant.desks.policy_diff_points import FOLDED
from airwarrant.desks.policy_diff_words import TITLES, read_by


def policy_diff_page(found: PolicyDiff) -> str:
    """Return the page: groups in their order, each block as sentences, both sides beside each other where asked for."""
    environment = Environment(
        loader=FunctionLoader(_source), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    template = environment.get_template("policy_diff")
    return template.render(found=found, titles=TITLES, folded=FOLDED, read_by=read_by)


def _source(name: str) -> str:
    return (files("airwarrant.desks") / "pages" / f"{name}.html.j2").read_text(encoding="utf-8")

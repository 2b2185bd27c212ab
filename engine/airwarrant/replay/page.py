"""A replay as one self-contained HTML page with its pictures and the reason trees side by side."""

from collections.abc import Mapping
from decimal import Decimal
from importlib.resources import files
from typing import Any

from jinja2 import Environment, FunctionLoader, StrictUndefined
from markupsafe import Markup

from airwarrant.counted import counted
from airwarrant.papers.audit_tree import branches
from airwarrant.papers.pictures.shown import Frame
from airwarrant.replay.pictures import bars, histogram, money, steps
from airwarrant.replay.replay import Told
from airwarrant.replay.told_json import data_of

#: Tasks drawn; the table below the picture has all.
_MOST_BARS = 16


def replay_page(told: Told) -> str:
    """Return the page."""
    environment = Environment(
        loader=FunctionLoader(_source), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    data = data_of(told)
    template = environment.get_template("replay")
    return template.render(
        told=data,
        trees={one.job: one for one in told.trees},
        branches=branches,
        counted=counted,
        pictures={name: Markup(svg) for name, svg in _pictures(told, data).items()},
        money=lambda text: money(Decimal(text)),
        whole=lambda text: f"{Decimal(text):,.0f}" if text else "none",
    )


def _pictures(told: Told, data: Mapping[str, Any]) -> dict[str, str]:
    """Pictures by name; each is also a table of the page."""
    made = {}
    for name, title in (("markets", "market"), ("tasks", "task")):
        rows = [(one, Decimal(sums["difference"])) for one, sums in data[name].items()]
        rows = sorted(((one, amount) for one, amount in rows if amount), key=lambda row: (-abs(row[1]), row[0]))
        if rows:
            said = "; ".join(f"{one} {money(amount)}" for one, amount in rows[:_MOST_BARS])
            frame = Frame(f"replay-{name}", f"Difference by {title}", f"What offers differ by, by {title}: {said}.")
            made[name] = bars(frame, rows[:_MOST_BARS])
    held = steps(told.summary.differences)
    if held:
        said = "; ".join(f"{count:,} from {money(low)} up to {money(high)}" for low, high, count in held if count)
        frame = Frame("replay-offers", "How many offers differ by how much", f"Offers by what they differ by: {said}.")
        made["offers"] = histogram(frame, held)
    return made


def _source(name: str) -> str:
    return (files("airwarrant.replay") / "pages" / f"{name}.html.j2").read_text(encoding="utf-8")

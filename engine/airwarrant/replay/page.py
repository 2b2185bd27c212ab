"""A replay as one self-contained HTML page with its pictures and the reason trees side by side."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from importlib.resources import files
from typing import Any

from jinja2 import Environment, FunctionLoader, StrictUndefined
from markupsafe import Markup

from airwarrant.counted import counted
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.papers.pictures.shown import Frame
from airwarrant.replay.answer import KINDS, as_read
from airwarrant.replay.pictures import bars, histogram, money, steps
from airwarrant.replay.replay import Told
from airwarrant.replay.side_by_side import beside
from airwarrant.replay.told_json import data_of

#: Tasks drawn; the table below the picture has all.
_MOST_BARS = 16
_OFFER = "the offer can go out"
#: Of a picture on paper or a desk, and on a phone, in CSS pixels.
_WIDE, _NARROW = 672.0, 340.0


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
        beside=beside,
        counted=counted,
        offer=_OFFER,
        offers=[{"name": _OFFER, **one} for one in data["offers"]],
        shown=[kind for kind in KINDS if any(kind in kinds for kinds in data["lines"].values())],
        titled=lambda what, name: _titled(told, what, name),
        pictures={name: [Markup(svg) for svg in both] for name, both in _pictures(told, data).items()},
        money=lambda text: money(Decimal(text)),
        as_read=as_read,
        whole=lambda text: f"{Decimal(text):,.0f}" if text else "none",
    )


def _titled(told: Told, what: str, name: str) -> str:
    """The title of a task or check, with the place it stands at; the name alone where no title is known."""
    bare, _, place = name.partition("@")
    title = told.titles.get((what, bare), bare)
    return f"{title}, {place}" if place not in ("", HOUSE_KEY) else title


def _pictures(told: Told, data: Mapping[str, Any]) -> dict[str, list[str]]:
    """Pictures by name, each for paper and for a phone; each is also a table of the page. One bar alone would say nothing."""
    made: dict[str, list[str]] = {}
    for name, title in (("markets", "market"), ("tasks", "task")):
        rows = [(_titled(told, title, one), Decimal(sums["difference"])) for one, sums in data[name].items()]
        rows = sorted(((one, amount) for one, amount in rows if amount), key=lambda row: (-abs(row[1]), row[0]))
        if len(rows) > 1:
            said = "; ".join(f"{one} {money(amount)}" for one, amount in rows[:_MOST_BARS])
            text = f"What offers differ by, by {title}: {said}."
            made[name] = [bars(one, rows[:_MOST_BARS]) for one in _frames(name, f"Difference by {title}", text)]
    held = steps(told.summary.differences)
    if held:
        said = "; ".join(f"{count:,} from {money(low)} up to {money(high)}" for low, high, count in held if count)
        text = f"Offers by what they differ by: {said}."
        made["offers"] = [histogram(one, held) for one in _frames("offers", "How many offers differ by how much", text)]
    return made


def _frames(name: str, title: str, description: str) -> Iterator[Frame]:
    for size, width in (("wide", _WIDE), ("narrow", _NARROW)):
        yield Frame(f"replay-{name}-{size}", title, description, width)


def _source(name: str) -> str:
    return (files("airwarrant.replay") / "pages" / f"{name}.html.j2").read_text(encoding="utf-8")

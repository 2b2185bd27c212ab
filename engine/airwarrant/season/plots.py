"""Plots of the owner's figures: inline SVG with its own title and description, once for paper and once for a phone."""

from collections.abc import Sequence
from dataclasses import dataclass

from airwarrant.counted import counted
from airwarrant.papers.pictures.shown import MISSING, Axis, Frame, Shown
from airwarrant.papers.pictures.side_by_side import Kind, side_by_side
from airwarrant.papers.pictures.signs import AS_FOUND, AS_PREDICTED, AS_WANTED, Sign
from airwarrant.season.company import Figures, MarketFigures
from airwarrant.season.counting import Share, Spread
from airwarrant.season.words import READINGS, middle, money, name_of, number, percent, within

#: Width a plot is laid out for, in CSS pixels: a page of paper, a phone.
PAPER, PHONE = 672.0, 330.0
_MOST_ROWS = 24
_MOST_TASKS = 16
_MISSING = "none"


@dataclass(frozen=True, slots=True)
class Plot:
    """One plot under its heading, for both widths; a long one has several parts. `name` is what the page calls it."""

    name: str
    heading: str
    says: str
    paper: tuple[str, ...]
    phone: tuple[str, ...]


def plots(figures: Figures) -> tuple[Plot, ...]:
    """Return the plots that there are numbers for."""
    made = [
        _rates(figures),
        *(_change(figures, name) for name in READINGS),
        _within(figures),
        _tasks(figures),
    ]
    return tuple(one for one in made if one.paper)


def _rates(figures: Figures) -> Plot:
    kinds = [
        ("Measured first", AS_FOUND, "measured_first"),
        ("No work needed", AS_WANTED, "no_work"),
        ("Passed first time", AS_PREDICTED, "passed_first"),
    ]
    rows = [name_of(one) for one in figures.markets]
    series = [(head, sign, [_share(getattr(one, field)) for one in figures.markets]) for head, sign, field in kinds]
    whole = figures.markets[0]
    said = ", ".join(f"{within(head)} {percent(getattr(whole, field))}" for head, _, field in kinds)
    return _plot(
        "rates",
        "How often: measured first, no work needed, passed at the first test-out",
        f"Percent by market. Over all markets: {said}.",
        rows,
        series,
        Axis("percent", lambda value, decimals: number(value, decimals)),
        "market",
    )


def _share(share: Share) -> Shown:
    value = share.percent
    return MISSING if value is None else Shown(value, percent(share))


def _change(figures: Figures, name: str) -> Plot:
    """Median before and after the work with the quartiles around it, by market."""
    title, unit, decimals = READINGS[name]
    markets = [one for one in figures.markets if name in one.changes]
    before, after = ([_spread(one.changes[name][at], decimals) for one in markets] for at in (0, 1))
    said = _said(markets[0], name, decimals) if markets else ""
    return _plot(
        name,
        f"{title} before and after",
        f"Median and quartiles in {unit} of jobs with both readings, by market. Over all markets: {said}.",
        [name_of(one) for one in markets],
        [("before", AS_FOUND, before), ("after", AS_PREDICTED, after)],
        Axis(f"{within(title)}, {unit}", lambda value, places: number(value, places)),
        "market",
    )


def _said(whole: MarketFigures, name: str, decimals: int) -> str:
    before, after = whole.changes[name]
    return f"{middle(before, decimals)} before, {middle(after, decimals)} after, {counted(before.count, 'job')}"


def _spread(one: Spread, decimals: int) -> Shown:
    return Shown(one.median, number(one.median, decimals), one.low, one.high)


def _within(figures: Figures) -> Plot:
    said = ", ".join(f"{within(one.title)} {percent(one.within)}" for one in figures.errors)
    return _plot(
        "within",
        "Predictions that came true within their plus or minus",
        f"Percent of the readings after the work: {said}.",
        [one.title for one in figures.errors],
        [("within", AS_PREDICTED, [_share(one.within) for one in figures.errors])],
        Axis("percent", lambda value, decimals: number(value, decimals)),
        "reading",
    )


def _tasks(figures: Figures) -> Plot:
    tasks = [(one.title, one.amount) for one in figures.tasks if one.amount][:_MOST_TASKS]
    currency = figures.markets[0].currency
    said = ", ".join(f"{title} {money(amount, currency)}" for title, amount in tasks[:3])
    return _plot(
        "tasks",
        "Money by task",
        f"Price of lines to be done, the {len(tasks)} tasks with the most. First of all: {said}.",
        [title for title, _ in tasks],
        [("money", AS_FOUND, [Shown(float(amount), money(amount, "")) for _, amount in tasks])],
        Axis(f"money, {currency}" if currency else "money", lambda value, decimals: number(value, decimals)),
        "task",
    )


def _plot(
    name: str,
    heading: str,
    says: str,
    rows: Sequence[str],
    series: Sequence[tuple[str, Sign, Sequence[Shown]]],
    axis: Axis,
    column: str,
) -> Plot:
    kinds = [Kind(head, sign, shown) for head, sign, shown in series]
    paper, phone = (
        side_by_side(
            Frame(f"{name.replace('_', '-')}-{of}", heading, says, width),
            rows,
            kinds,
            axis,
            column,
            _MISSING,
            lambda page, pages: f"({page} of {pages})",
            _MOST_ROWS,
        )
        for of, width in (("paper", PAPER), ("phone", PHONE))
    )
    return Plot(name, heading, says, paper, phone)

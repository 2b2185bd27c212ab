"""The owner's figures as tables on a terminal."""

from collections.abc import Sequence
from datetime import date

from rich.console import Console
from rich.table import Table
from rich.text import Text

from airwarrant.cli.figures import table_of
from airwarrant.counted import counted
from airwarrant.season.company import NOT_TOLD, Figures, RuleFigures
from airwarrant.season.words import (
    RATES,
    READINGS,
    error_decimals,
    hours,
    middle,
    money,
    name_of,
    number,
    percent,
    share,
)

#: Rules shown of those that came nearest; `--json` and the page have all.
_MOST = 12
#: All markets together are one, and so is the only one.
_ONE_MARKET = 2


def print_figures(console: Console, figures: Figures, overdue: Sequence[str], on: date) -> None:
    """Print everything that was counted, what matters most for an owner first."""
    whole = figures.markets[0]
    console.print(Text(f"{counted(figures.jobs, 'job')} surveyed from {figures.first} to {figures.last}", style="bold"))
    for field, (title, _, of) in RATES.items():
        console.print(Text(f"  {title}: {share(getattr(whole, field))} \N{EM DASH} {of}"))
    console.print(Text(f"  Days from survey to test-out: {middle(whole.days, 0) or 'no jobs to count'}"))
    _markets(console, figures)
    _changes(console, figures)
    _errors(console, figures)
    _money(console, figures)
    _rules(console, figures)
    _people(console, figures)
    if overdue:
        console.print(Text(f"Past review on {on}", style="bold"))
        for one in overdue:
            console.print(Text(f"  {one}"))
    else:
        console.print(Text(f"No value, check or rule of the kept policies is past its review on {on}."))
    console.print(Text("Not told, because the records do not hold it", style="bold"))
    for what, why in NOT_TOLD:
        console.print(Text(f"  {what}: {why}"))
    if not whole.tested_out.some:
        console.print(Text("No job was tested out: nothing can be said of results.", style="yellow"))


def _print_filled(console: Console, table: Table) -> None:
    """A table that has a row; a head over nothing says nothing."""
    if table.row_count:
        console.print(table)


def _markets(console: Console, figures: Figures) -> None:
    if len(figures.markets) <= _ONE_MARKET:
        return
    table = table_of("The same by market")
    table.add_column("market", no_wrap=True)
    for title in ("jobs", *(head for _, head, _ in RATES.values())):
        table.add_column(title, overflow="fold")
    for one in figures.markets[1:]:
        table.add_row(one.market, f"{one.jobs:,}", *(percent(getattr(one, field)) for field in RATES))
    console.print(table)
    medians = table_of("Medians before and after by market, jobs with both")
    for title in ("market", *(f"{title}, {unit}" for title, unit, _ in READINGS.values())):
        medians.add_column(title, overflow="fold")
    for one in figures.markets[1:]:
        if not one.changes:
            continue
        cells = []
        for name, (_, _, decimals) in READINGS.items():
            pair = one.changes.get(name)
            cells.append(" to ".join(number(half.median, decimals) for half in pair) if pair else "")
        medians.add_row(one.market, *cells)
    _print_filled(console, medians)


def _changes(console: Console, figures: Figures) -> None:
    table = table_of("Before and after, jobs with both; median with quartiles")
    for title in ("reading", "before", "after", "jobs"):
        table.add_column(title, overflow="fold")
    for one in figures.markets[:1]:
        for name, (title, unit, decimals) in READINGS.items():
            if name in one.changes:
                before, after = one.changes[name]
                row = (middle(before, decimals), middle(after, decimals))
                table.add_row(f"{title}, {unit}", *row, f"{before.count:,}")
        if one.gain is not None:
            table.add_row("Gain at the registers, cfm", "", middle(one.gain, 0, sign=True), f"{one.gain.count:,}")
    _print_filled(console, table)


def _errors(console: Console, figures: Figures) -> None:
    table = table_of("Predictions: reading after the work less prediction")
    for title in ("reading", "bias", "spread", "within their ±", "readings"):
        table.add_column(title, overflow="fold")
    for one in figures.errors:
        decimals = error_decimals(one.unit)
        table.add_row(
            f"{one.title}, {one.unit}",
            number(one.off.mean, decimals, sign=True),
            number(one.off.deviation, decimals),
            share(one.within),
            f"{one.off.count:,}",
        )
    _print_filled(console, table)
    targets = table_of("Targets met at the last test-out, of those read")
    for title in ("target", "met"):
        targets.add_column(title, overflow="fold")
    for title, met in figures.targets.items():
        targets.add_row(title, share(met))
    _print_filled(console, targets)


def _money(console: Console, figures: Figures) -> None:
    currency = figures.markets[0].currency
    table = table_of("Lines to be done, by task; hours are those of the price book")
    for title in ("task", "of all jobs", "lines", "hours", "money", "margin"):
        table.add_column(title, overflow="fold")
    for one in figures.tasks:
        margin = "" if one.margin is None else f"{one.margin:.0f} %"
        table.add_row(
            one.title, share(one.jobs), f"{one.lines:,}", hours(one.hours), money(one.amount, currency), margin
        )
    console.print(table)
    markets = table_of("Money and hours by market")
    for title in ("market", "money", "hours"):
        markets.add_column(title, overflow="fold")
    for market in figures.markets:
        markets.add_row(name_of(market), money(market.money, market.currency), hours(market.hours))
    console.print(markets)


def _rules(console: Console, figures: Figures) -> None:
    console.print(
        Text(
            f"{counted(len(figures.rules), 'rule')}: {len(figures.never)} fired in no job, "
            f"{len(figures.always)} in every job that knows them",
            style="bold",
        )
    )
    _rule_table(console, "Fired most, short of always", list(figures.sometimes), "hits")
    _rule_table(
        console,
        "Near misses: one verdict too close to call kept the rule off",
        [one for one in figures.rules if one.near.some],
        "near",
    )
    table = table_of("Too close to call, most often")
    for head in ("check", "says", "of the jobs it was judged in"):
        table.add_column(head, overflow="fold")
    for check in figures.closest[:_MOST]:
        table.add_row(check.check, check.title, share(check.close))
    console.print(table)


def _rule_table(console: Console, title: str, rules: list[RuleFigures], by: str) -> None:
    table = table_of(title)
    for head in ("rule", "says", "fired", "one close call short"):
        table.add_column(head, overflow="fold")
    for one in sorted(rules, key=lambda one: (-(getattr(one, by).percent or 0.0), one.rule))[:_MOST]:
        table.add_row(one.rule, one.title, share(one.hits), share(one.near))
    console.print(table)


def _people(console: Console, figures: Figures) -> None:
    console.print(Text(f"Jobs with a line left out against the rules: {share(figures.overridden)}", style="bold"))
    for one in figures.rules:
        if one.overridden.some:
            console.print(Text(f"  {one.rule}: {share(one.overridden)}"))
    for person, count in figures.people.items():
        console.print(Text(f"  left out by {person}: {counted(count, 'line')}"))
    for task, count in figures.declined.items():
        console.print(Text(f"  declined by homeowners: {task}, {count:,}"))

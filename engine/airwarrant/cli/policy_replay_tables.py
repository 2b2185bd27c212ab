"""A replay on a terminal and in a pipe."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from airwarrant.cli.console import out
from airwarrant.cli.why import leads_of
from airwarrant.counted import counted
from airwarrant.result.why_prices import money_shown

if TYPE_CHECKING:
    from airwarrant.replay.replay import Told
    from airwarrant.result.why_rows import Row

_KINDS = ("added", "dropped", "resized", "repriced", "tier", "state")


def print_replay(told: "Told") -> None:
    """Print what came of the jobs: safety first, then money, lines, stops and holds, the proof, and the jobs that moved most."""
    from airwarrant.replay.told_json import data_of

    console, data = out(), data_of(told)
    became = data["became"]
    console.print(Text(f"{counted(data['jobs'], 'job')}, {told.b} against {told.a}", style="bold"))
    parts = [
        counted(became["moved"], "comes out otherwise", "come out otherwise"),
        counted(became["same"], "comes out the same", "come out the same"),
    ]
    proved = counted(became["apart"], "is proved to come out the same", "are proved to come out the same")
    parts += [proved] if became["apart"] else []
    parts += [f"{became['failed']:,} could not be evaluated"] if became["failed"] else []
    console.print(Text(", ".join(parts)), soft_wrap=True)
    _safety(console, data)
    print_not_evaluated(console, data["not_evaluated"])
    _sums(console, told, "market", data["markets"])
    if data["without_amount"]:
        without = counted(data["without_amount"], "job has no amount", "jobs have no amount")
        console.print(Text(f"{without} and no place in a sum."))
    _sums(console, told, "task", {n: one for n, one in data["tasks"].items() if float(one["difference"])})
    _lines(console, data["lines"], data["line_jobs"])
    _changed(console, told, "Offers", [{"name": "the offer can go out", **one} for one in data["offers"]])
    for title, name in (("Stops", "stops"), ("Holds", "holds"), ("Test-out", "acceptance")):
        _changed(console, told, title, data[name])
    _reach(console, data["reach"])
    _most(console, told, data)


def print_not_evaluated(console: Console, several: Sequence[Mapping[str, Any]]) -> None:
    """Print each reason once, with how many jobs it keeps out; a policy that does not compose in red, with all its faults."""
    for one in several:
        jobs = one["who"]
        if one["sides"]:
            head = f"POLICY REFUSED  {' and '.join(one['sides'])}, {jobs}:"
            console.print(Text("\n  ".join((head, *one["faults"])), style="bold red"), soft_wrap=True)
            continue
        said = one["why"] if one["jobs"] == 1 and one["why"].startswith(jobs) else f"{jobs}: {one['why']}"
        console.print(Text(f"not evaluated  {said}", style="yellow"), soft_wrap=True)


def _safety(console: Console, data: Mapping[str, Any]) -> None:
    for said in data["loosened"]:
        console.print(Text(f"SAFETY LOOSENED  {said}", style="bold red"), soft_wrap=True)
    for one in data["safety_lost"]:
        console.print(Text(f"SAFETY LOOSENED  {one['job']} loses the {one['what']}", style="bold red"), soft_wrap=True)
    for said in data["unclear"]:
        console.print(Text(f"ALSO CHANGED  {said}", style="yellow"), soft_wrap=True)


def _table(title: str, *columns: str, numbers: int = 0) -> Table:
    table = Table(title=title, title_justify="left", title_style="bold", box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for at, column in enumerate(columns):
        table.add_column(column, overflow="fold", justify="right" if at >= len(columns) - numbers else "left")
    return table


def _sums(console: Console, told: "Told", what: str, sums: Mapping[str, Any]) -> None:
    if not sums:
        return
    table = _table(f"\nMoney by {what}", what, "jobs", told.a, told.b, "difference", numbers=4)
    for name, one in sums.items():
        amounts = [money_shown(one[key]) for key in ("before", "after", "difference")]
        table.add_row(name, f"{one['jobs']:,}", *amounts)
    console.print(table)


def _lines(console: Console, lines: Mapping[str, Mapping[str, int]], jobs: Mapping[str, Sequence[str]]) -> None:
    if not lines:
        return
    table = _table("\nJobs in which a line moved", "task", *_KINDS, numbers=len(_KINDS))
    table.add_column("such as", overflow="fold")
    for task, kinds in lines.items():
        table.add_row(task, *(f"{kinds[kind]:,}" if kind in kinds else "" for kind in _KINDS), ", ".join(jobs[task]))
    console.print(table)


def _changed(console: Console, told: "Told", title: str, several: Sequence[Mapping[str, Any]]) -> None:
    if not several:
        return
    table = _table(f"\n{title}", "what", told.a, told.b, "jobs", numbers=1)
    if any(one.get("named") for one in several):
        table.add_column("such as", overflow="fold")
    for one in several:
        row = [one["name"], one["before"] or "not there", one["after"] or "not there", f"{one['jobs']:,}"]
        table.add_row(*row, *([", ".join(one["named"])] if "named" in one else []))
    console.print(table)


def _reach(console: Console, reach: Sequence[Mapping[str, Any]]) -> None:
    if reach:
        console.print(Text("\nWhat each change can reach", style="bold"))
    for one in reach:
        console.print(Text(one["says"][:1].upper() + one["says"][1:]), soft_wrap=True)


def _most(console: Console, told: "Told", data: Mapping[str, Any]) -> None:
    from airwarrant.replay.answer import as_read

    if data["most"]:
        console.print(Text("\nThe jobs that moved most", style="bold"))
    trees = {one.job: one for one in told.trees}
    for one in data["most"]:
        amounts = [money_shown(one[key]) if one.get(key) else "none" for key in ("before", "after")]
        console.print(Text(f"{one['job']}: {' → '.join(amounts)}", style="bold"), soft_wrap=True)
        for line in one.get("lines", ()):
            before, after = (as_read(line, side) or "not there" for side in ("before", "after"))
            console.print(Text(f"  {line['kind']:<8} {line['line']}: {before} → {after}"), soft_wrap=True)
        for what, several in (("stop", "stops"), ("hold", "holds"), ("test-out", "targets")):
            for name, before, after in one.get(several, ()):
                said = f"  {what:<8} {name}: {before or 'not there'} → {after or 'not there'}"
                console.print(Text(said), soft_wrap=True)
        tree = trees.get(one["job"])
        if tree is not None and tree.why:
            console.print(Text(f"  without its reasons: {tree.why}", style="yellow"), soft_wrap=True)
        for pair in tree.pairs if tree is not None else ():
            table = Table(title=f"why {pair.line}", title_justify="left", title_style="cyan", expand=True)
            table.add_column(told.a, overflow="fold", ratio=1)
            table.add_column(told.b, overflow="fold", ratio=1)
            table.add_row(_tree(pair.before), _tree(pair.after))
            console.print(table)
        if tree is not None and tree.rest:
            console.print(Text(f"  moved too, without their reasons: {', '.join(tree.rest)}"), soft_wrap=True)


def _tree(rows: "Sequence[Row]") -> Text:
    if not rows:
        return Text("This result does not speak of it.", style="dim")
    text = Text()
    for row, lead in zip(rows, leads_of([row.depth for row in rows]), strict=True):
        text.append(lead, style="dim").append(row.text)
        if row.place:
            text.append(f"  {row.place}", style="dim")
        text.append("\n")
    text.rstrip()
    return text

"""A policy difference on a terminal and in a pipe."""

from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table
from rich.text import Text

from airwarrant.cli.console import out

if TYPE_CHECKING:
    from airwarrant.desks.policy_diff import PolicyDiff
    from airwarrant.desks.policy_diff_points import Difference, Point


def print_diff(found: "PolicyDiff", show_all: bool) -> None:
    """Print what differs, group by group; a folded group is counted, its blocks only told with `show_all`.

    A terminal gets a table a group; a pipe one line a point, its place first.
    """
    from airwarrant.desks.policy_diff_points import FOLDED
    from airwarrant.desks.policy_diff_words import TITLES

    console = out()
    console.print(Text(f"{found.b.name} against {found.a.name}", style="bold"))
    if found.days:
        console.print(Text(found.days, style="dim"), soft_wrap=True)
    if not found.groups:
        console.print(Text("Nothing differs.", style="green"))
    for group in found.groups:
        blocks = found.group(group)
        folded = group in FOLDED and not show_all
        console.print()
        told = f"{TITLES[group]}: {len(blocks)}" + (", shown with --all" if folded else "")
        console.print(Text(told, style="bold cyan"), soft_wrap=True)
        if folded:
            continue
        if console.is_terminal:
            console.print(_table(found, blocks, show_all))
        else:
            for one in blocks:
                _lines(console, one, show_all)


def _table(found: "PolicyDiff", blocks: "tuple[Difference, ...]", show_all: bool) -> Table:
    from airwarrant.desks.policy_diff_words import read_by

    table = Table(box=None, pad_edge=False, padding=(0, 2, 1, 0), show_header=False)
    table.add_column("says", overflow="fold", ratio=1)
    table.add_column("where", overflow="fold", style="dim", max_width=48)
    for one in blocks:
        says, where = Text(), Text()
        for point in _shown(one, show_all):
            says.append(point.says + "\n")
            for side, source in ((found.b, point.b_from), (found.a, point.a_from)):
                if source and f"{source.place}" not in where.plain:
                    where.append(f"{side.name}\n{source.place}\n")
        says.append(f"{one.section} {one.name}", style="cyan")
        if readers := read_by(one):
            says.append(f", read by {readers}", style="dim")
        where.rstrip()
        table.add_row(says, where)
    return table


def _lines(console: Console, one: "Difference", show_all: bool) -> None:
    for point in _shown(one, show_all):
        source = point.b_from or point.a_from
        place = f"{source.place}  " if source else ""
        console.print(Text(f"{place}{one.section} {one.name}  {point.says}"), soft_wrap=True)


def _shown(one: "Difference", show_all: bool) -> "tuple[Point, ...]":
    return (*one.points, *one.about) if show_all else one.points or one.about

"""What `policy set` changes on the jobs of an archive."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.text import Text

from airwarrant.cli.console import err, out
from airwarrant.cli.keep import archive_path
from airwarrant.counted import counted
from airwarrant.result.why_prices import money_shown

if TYPE_CHECKING:
    from airwarrant.replay.replay import Told

#: The newest jobs of the market are looked at; `policy replay` looks at all.
_MOST = 200
_MOST_NAMED = 5


def on_kept_jobs(
    archive: Path | None, before: Sequence[Path], after: Sequence[Path], market: str, on: date
) -> "Told | None":
    """Compare the newest kept jobs of a market without and with a change, as if of its first day.

    Without `archive` the one in the current folder is taken; None where there is none, or it holds no job of the market.
    """
    path = archive_path(archive)
    if archive is None and not path.exists():
        return None
    from rich.progress import Progress

    from airwarrant.records.archive import Archive
    from airwarrant.replay.compare_jobs import Asked
    from airwarrant.replay.pool import Here
    from airwarrant.replay.replay import replay
    from airwarrant.replay.sides import side
    from airwarrant.replay.stored import Newest

    day = f"{market}@{on.isoformat()}"
    asked = Asked(side(before, day, "as it is"), side(after, day, "with the change"))
    console = err()
    with Archive.open(path) as opened:
        jobs = Newest(opened, market, _MOST)
        if not len(jobs):
            return None
        with Progress(console=console, transient=True, disable=not console.is_terminal) as progress:
            bar = progress.add_task("kept jobs", total=len(jobs))
            done = lambda count: progress.update(bar, completed=count)  # noqa: E731
            return replay(jobs, asked, Here(asked), progress=done, trees=False)


def show_kept(told: "Told") -> None:
    """Print what a change comes to on kept jobs, in a few lines."""
    console, data = out(), kept_data(told)
    console.print(Text(f"What changes on the {counted(data['jobs'], 'newest kept job')} of the market", style="bold"))
    became = data["became"]
    moved = counted(became["moved"], "comes out otherwise", "come out otherwise")
    console.print(Text(f"{moved}, {became['same'] + became['apart']:,} the same"))
    for one in data["loosened"]:
        console.print(Text(f"SAFETY LOOSENED  {one}", style="bold red"), soft_wrap=True)
    for one in data["safety_lost"]:
        console.print(Text(f"SAFETY LOOSENED  {one['job']} loses the {one['what']}", style="bold red"), soft_wrap=True)
    for one in data["unclear"]:
        console.print(Text(f"ALSO CHANGED  {one}", style="yellow"), soft_wrap=True)
    for one in data["markets"].values():
        amounts = " → ".join(money_shown(one[key]) for key in ("before", "after"))
        console.print(Text(f"offers {amounts}, {money_shown(one['difference'])}"))
    for task, kinds in data["lines"].items():
        said = ", ".join(f"{kind} in {count:,}" for kind, count in kinds.items())
        console.print(Text(f"  {task}: {said}"), soft_wrap=True)
    named = ", ".join(one["job"] for one in data["most"][:_MOST_NAMED])
    if named:
        console.print(Text(f"most of all: {named}"), soft_wrap=True)
    if became["failed"]:
        console.print(Text(f"{became['failed']:,} could not be evaluated", style="yellow"))


def kept_data(told: "Told") -> dict[str, Any]:
    """The same for other programs."""
    from airwarrant.replay.told_json import data_of

    return data_of(told)

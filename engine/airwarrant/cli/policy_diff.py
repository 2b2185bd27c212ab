"""`airwarrant policy diff`: two markets, or one market at two dates, compared in sentences."""

import json
from pathlib import Path
from typing import Annotated

import typer
from rich.text import Text

from airwarrant.cli.console import err, put
from airwarrant.cli.policy_diff_tables import print_diff
from airwarrant.shipped import policies_folder, roots
from airwarrant.whole_file import write_file

SIDE = "A market, or a market and a day: copper-basin@2027-01-01."


def diff(
    a: Annotated[str, typer.Argument(metavar="A", help=f"What is compared with. {SIDE}")],
    b: Annotated[
        str, typer.Argument(metavar="B", help="What is told: another market, or the same one at another day.")
    ],
    policies: Annotated[Path | None, typer.Option(help="Policy folder; else ./policies, else the shipped one.")] = None,
    show_all: Annotated[
        bool, typer.Option("--all", help="Also sources, notes, rights and wording, which change nothing on a job.")
    ] = False,
    html: Annotated[Path | None, typer.Option("--html", help="Also write one page of HTML to this file.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Say in sentences how two policies differ, what matters most for a job first.

    Example: airwarrant policy diff copper-basin fog-harbor
    """
    # Imported here: no other command needs it, and every start would pay for it.
    from airwarrant.desks.policy_diff import compose_sides, policy_diff, read_side
    from airwarrant.desks.policy_diff_words import data_of

    first, second = compose_sides(roots(policies_folder(policies)), read_side(a), read_side(b))
    found = policy_diff(first, second)
    if html is not None:
        from airwarrant.desks.policy_diff_page import policy_diff_page

        write_file(html, policy_diff_page(found).encode("utf-8"))
        err().print(Text(f"written {html}"))
    if as_json:
        put(json.dumps(data_of(found), ensure_ascii=False, indent=1))
    else:
        print_diff(found, show_all)

"""An option that takes a day."""

from typing import Any

import typer


def day_option(name: str, says: str) -> Any:
    """The option of a `datetime` that is typed as a day."""
    return typer.Option(name, formats=["%Y-%m-%d"], metavar="YYYY-MM-DD", help=says)

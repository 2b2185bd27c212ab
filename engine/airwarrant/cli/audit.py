"""`airwarrant audit`: the archive of kept jobs listed, shown, checked, proved, copied, and personal data erased from it."""

import typer

from airwarrant.cli.lazy import Command, lazy_group

_COMMANDS = {
    "list": Command("airwarrant.cli.audit_show:list_entries"),
    "show": Command("airwarrant.cli.audit_show:show"),
    "verify": Command("airwarrant.cli.audit_verify:verify"),
    "prove": Command("airwarrant.cli.audit_prove:prove"),
    "erase": Command("airwarrant.cli.audit_erase:erase"),
    "export": Command("airwarrant.cli.audit_copy:export"),
    "import": Command("airwarrant.cli.audit_copy:import_"),
}
audit = typer.Typer(
    cls=lazy_group(_COMMANDS),
    help="Kept jobs: list, show, check, prove, copy them, and erase personal data.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)


@audit.callback()
def _whole() -> None:
    """Kept jobs: list, show, check, prove, copy them, and erase personal data."""

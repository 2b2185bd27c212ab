"""Where the installed command begins: a process that answers once and ends."""

import gc


def main() -> None:
    """Run the command line without the cyclic collector: it costs a tenth of a cold start and frees nothing that matters."""
    gc.disable()
    from airwarrant.cli.main import main as run

    run()

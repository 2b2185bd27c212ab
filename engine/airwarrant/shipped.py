"""Where the shipped policies, schemas and scenarios are: inside the wheel, or beside the package in a checkout."""

from importlib.resources import files
from pathlib import Path

from airwarrant.errors import CallError, Fault


def shipped(name: str) -> Path:
    """Return the shipped folder `name`: ``policies``, ``schemas`` or ``scenarios``.

    Raises
    ------
    CallError
        If this installation carries no such folder.
    """
    package = Path(str(files("airwarrant")))
    for folder in (package / "data" / name, package.parent.parent / name):
        if folder.is_dir():
            return folder
    raise CallError(
        [Fault("not-shipped", f"this installation has no `{name}` folder", advice="Install airwarrant again.")]
    )


def policies_folder(given: Path | None) -> Path:
    """Return the policy folder to use: the given one, else ``policies`` in the current folder, else the shipped one."""
    if given is not None:
        if not given.is_dir():
            raise CallError(
                [
                    Fault(
                        "no-folder",
                        f"`{given}` is not a folder",
                        "a folder with markets/, trade/, regions/ or companies/",
                    )
                ]
            )
        return given
    here = Path("policies")
    return here if (here / "markets").is_dir() else shipped("policies")


def own_folder(given: Path | None) -> Path:
    """Return the policy folder that may be written: the given one, else ``policies`` in the current folder, made when needed.

    Raises
    ------
    CallError
        If it is no folder, or that of the installed program.
    """
    folder = Path("policies") if given is None else policies_folder(given)
    if folder.resolve().is_relative_to(Path(str(files("airwarrant"))).resolve()):
        found = f"`{folder}` belongs to the installed program"
        raise CallError([Fault("shipped-folder", found, "a folder of your own", advice="Give it with --policies.")])
    return folder


def roots(folder: Path) -> tuple[Path, ...]:
    """Folders to take markets and layers from: the one in use first, then the shipped one, whose layers it may name."""
    own = shipped("policies")
    return (folder,) if folder.resolve() == own.resolve() else (folder, own)

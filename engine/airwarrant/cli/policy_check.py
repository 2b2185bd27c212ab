"""What `airwarrant policy check` looks at: files, rules together, cases beside them, and what is not verified."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from airwarrant.cli.console import err
from airwarrant.counted import counted
from airwarrant.desks.analysis.whole import Analysis
from airwarrant.desks.cases import CasesChecked, check_cases
from airwarrant.desks.unverified import Unverified, unverified
from airwarrant.errors import PolicyError
from airwarrant.policy.cases import FOLDER, parse_cases
from airwarrant.policy.compose import compose
from airwarrant.policy.files import market_names, read_sources
from airwarrant.policy.model import Policy
from airwarrant.policy.steering import check_steering
from airwarrant.policy.whole import Checked, check_folder, file_faults, markets_naming
from airwarrant.rules.expand import expand
from airwarrant.rules.strata import strata
from airwarrant.shipped import policies_folder, roots


def rules_can_run(composed: Policy) -> None:
    """Refuse rules in a circle, one that reads too much or has an error of the analysis, and a policy that lacks what is read."""
    _rules_can_run(composed)
    Analysis().market(composed)


def check_whole(folder: Path, on: date | None) -> Checked:
    """Check a whole policy folder: files, markets, and what the rules of each come to."""
    return _analysed(roots(folder), on, lambda market, layer: True)


def check_file(path: Path, policies: Path | None, on: date | None = None) -> Checked:
    """Check one file alone, and, if it stands in a policy folder, in every market that takes it."""
    folder = folder_of(path, policies)
    if folder is None:
        faults = file_faults(path.read_bytes(), path.name)
        return Checked((), (path.name,), PolicyError(faults).faults, ())
    parts = path.resolve().relative_to(folder.resolve()).parts
    if parts[0] == FOLDER:
        try:
            parse_cases(path.read_bytes(), "/".join(parts))
        except PolicyError as error:
            return Checked((), ("/".join(parts),), error.faults, ())
        return Checked((), ("/".join(parts),), (), ())
    if parts[0] == "markets":
        return _analysed(roots(folder), on, lambda market, layer: market == path.stem)
    own = parts[0] if parts[0] == "trade" else "/".join(parts[:2])
    naming = markets_naming(roots(folder), own)
    return _analysed(roots(folder), on, lambda market, layer: layer == own or market in naming)


def folder_of(path: Path | None, policies: Path | None) -> Path | None:
    """The policies folder that a file stands in; without a file the one in use; None for a file outside of any."""
    if path is None or path.is_dir():
        return policies_folder(path or policies)
    folder = policies_folder(policies) if policies else _around(path)
    return folder if folder is not None and path.resolve().is_relative_to(folder.resolve()) else None


def run_cases(folder: Path, markets: Sequence[str], file: Path | None) -> CasesChecked:
    """Run the cases of a folder: all, those of some markets, or those of one file; a bar on stderr shows how far."""
    from rich.progress import Progress  # only here: it would slow every start

    name = file.resolve().relative_to(folder.resolve()).as_posix() if file is not None else ""
    console = err()
    with Progress(console=console, transient=True, disable=not console.is_terminal) as progress:
        bar = progress.add_task("cases", total=None)
        checked = check_cases(
            roots(folder),
            only=lambda case: name in ("", case.document.file),
            markets=markets,
            done=lambda at, of: progress.update(bar, completed=at, total=of),
        )
    console.print(f"{counted(checked.count, 'case')} run")
    return checked


def not_verified(folder: Path, markets: Sequence[str]) -> tuple[Unverified, ...]:
    """What the markets of a folder say without verification, each place once."""
    found = {
        one: None
        for market in market_names(folder)
        if not markets or market in markets
        for one in unverified(compose(roots(folder), market, {}))
    }
    return tuple(sorted(found, key=lambda one: (one.place, one.section, one.name)))


def _analysed(folders: Sequence[Path], on: date | None, only: Callable[[str, str], bool]) -> Checked:
    """Check markets and files, then look for what a wrong limit or rule would do before a job meets it."""
    analysis = Analysis(folders, on)
    found = check_folder(folders, _rules_can_run, only=only, on=on, analyse=analysis.market, read=analysis.read)
    # Of a broken market nothing can be said that holds of all.
    more = [] if found.faults else [*analysis.together()]
    if on is not None and not found.faults:
        more += [one for name in found.markets for one in analysis.layers(read_sources(folders, name, {}))]
    return replace(found, warnings=PolicyError({*found.warnings, *more}).faults)


def _rules_can_run(composed: Policy) -> None:
    strata(composed.rules)
    for name, rule in composed.rules.items():
        expand(name, rule)
    check_steering(composed)


def _around(path: Path) -> Path | None:
    """The nearest folder above a file that holds `markets` or `trade`; the markets of cases are not one."""
    found = (up for up in path.resolve().parents if (up / "markets").is_dir() or (up / "trade").is_dir())
    return next((up for up in found if up.name != FOLDER), None)

"""Checking a whole policies folder: every market at every date something changes, and every file of no market."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from airwarrant.errors import Fault, PolicyError
from airwarrant.policy.compose import compose_sources, overdue
from airwarrant.policy.files import (
    SourceFile,
    Sources,
    layer_files,
    layer_names,
    market_names,
    read_market,
    read_sources,
    validated,
)
from airwarrant.policy.model import Policy
from airwarrant.policy.shape import PolicyFile
from airwarrant.policy.unfilled import unfilled
from airwarrant.source.document import Document, read_toml


@dataclass(frozen=True, slots=True)
class Checked:
    """What a check of a folder found; `warnings` make nothing wrong."""

    markets: tuple[str, ...]
    files: tuple[str, ...]
    faults: tuple[Fault, ...]
    warnings: tuple[Fault, ...]


def check_folder(
    roots: Sequence[Path],
    also: Callable[[Policy], object],
    *,
    only: Callable[[str, str], bool] = lambda market, layer: True,
    on: date | None = None,
    analyse: Callable[[Policy, Sources], Iterable[Fault]] = lambda policy, sources: (),
    read: dict[SourceFile, Document] | None = None,
) -> Checked:
    """Check every market and every policy file of a folder.

    Parameters
    ----------
    roots : sequence of Path
        The folder that is checked, then those whose layers its markets may name.
    also : callable
        A further check of a composed policy; may raise `PolicyError`.
    only : callable of (market, layer)
        Whether to check a market (``layer`` is empty) or a layer (``market`` is empty).
    on : date, optional
        Day at which overdue reviews are warned of; without it none are.
    analyse : callable
        Called after `also` with a composed policy and the files it was made from: returns warnings, or raises `PolicyError`.
    read : dict, optional
        Files that were read already, as for `read_layers`; those read here are added.
    """
    read = {} if read is None else read
    faults: set[Fault] = set()
    warnings: set[Fault] = set()
    if not market_names(roots[0]) and not layer_names(roots[:1]):
        where = f"`{roots[0].name}` holds no market and no layer"
        faults.add(Fault("no-policies", where, "a folder with markets/, trade/, regions/ or companies/"))
    markets = tuple(name for name in market_names(roots[0]) if only(name, ""))
    for name in markets:
        try:
            wrong, doubtful = _market(roots, name, also, analyse, read)
            faults |= wrong
            warnings |= doubtful
            if on is not None:
                warnings |= set(overdue(read_sources(roots, name, {}), on, read))
        except PolicyError as error:
            faults |= set(error.faults)
    files: list[str] = [f"markets/{name}.toml" for name in markets]
    for layer in layer_names(roots[:1]):
        if only("", layer):
            try:
                for file in layer_files(roots[0], layer):
                    files.append(file.file)
                    if file not in read:
                        faults |= file_faults(file.text, file.file)
            except PolicyError as error:
                faults |= set(error.faults)
    return Checked(markets, tuple(files), PolicyError(faults).faults, PolicyError(warnings).faults)


def file_faults(text: bytes, file: str) -> set[Fault]:
    """Return the faults of one policy file that show without any other."""
    try:
        validated(PolicyFile, read_toml(text, file, error=PolicyError))
    except PolicyError as error:
        return set(error.faults)
    return set()


def markets_naming(roots: Sequence[Path], layer: str) -> tuple[str, ...]:
    """Return the markets whose files name a layer; a market whose file is broken is among them."""
    return tuple(name for name in market_names(roots[0]) if layer in _layers(roots, name, layer))


def _layers(roots: Sequence[Path], name: str, layer: str) -> Iterable[str]:
    try:
        return read_market(roots, name)[0].layers
    except PolicyError:
        return (layer,)


def _market(
    roots: Sequence[Path],
    name: str,
    also: Callable[[Policy], object],
    analyse: Callable[[Policy, Sources], Iterable[Fault]],
    read: dict[SourceFile, Document],
) -> tuple[set[Fault], set[Fault]]:
    """Compose a market as it stands when its last layer begins, and again at each later date something changes.

    Returns its faults and its warnings.
    """
    everything = read_sources(roots, name, {})
    firsts: dict[str, str] = {}
    for file in everything.files:
        firsts.setdefault(file.layer, file.effective)
    begin = max(firsts.values())
    faults: set[Fault] = set()
    warnings: set[Fault] = set()
    for effective in sorted({begin, *(file.effective for file in everything.files if file.effective > begin)}):
        try:
            sources = read_sources(roots, name, {"survey": date.fromisoformat(effective)})
            composed = compose_sources(sources, read, digest=False)
            warnings |= set(unfilled(composed))
            also(composed)
            warnings |= set(analyse(composed, sources))
        except PolicyError as error:
            faults |= set(error.faults)
    return faults, warnings

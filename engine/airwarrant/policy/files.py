"""The files of a market: which layers, which dated folders are in force, and their bytes."""

import hashlib
import re
import stat
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from airwarrant.errors import Fault, PolicyError, nearest, unread
from airwarrant.policy.faults import Faults, shape_faults
from airwarrant.policy.model import Market
from airwarrant.policy.shape import DatesShape, MarketFile
from airwarrant.source.document import Document, read_toml
from airwarrant.source.place import Place

MARKETS = "markets"
Model = TypeVar("Model", bound=BaseModel)
_PLAIN = re.compile(r"[a-z0-9][a-z0-9-]{0,59}")
_DATED = re.compile(r"\d{4}-\d{2}-\d{2}")
#: One more than the reader takes, so that it is the reader that says a file is too large.
_INSIDE = "a file of its own in the folder"
_MOST_BYTES = 1_000_001


@dataclass(frozen=True, slots=True)
class SourceFile:
    """One file of a dated folder of a layer; `file` is its name below the policies folder."""

    layer: str
    effective: str
    file: str
    text: bytes


@dataclass(frozen=True, slots=True)
class Sources:
    """A market with the bytes of every file that takes part, in the order in which they apply."""

    market: Market
    files: tuple[SourceFile, ...]
    digest: str


def market_names(*roots: Path) -> tuple[str, ...]:
    """Return the names of the markets in the policy folders."""
    found = {path.stem for root in roots for path in (root / MARKETS).glob("*.toml")}
    return tuple(sorted(name for name in found if _PLAIN.fullmatch(name)))


def read_sources(roots: Sequence[Path], name: str, dates: Mapping[str, date | None]) -> Sources:
    """Read a market's file and find the files of its layers that are in force.

    Parameters
    ----------
    roots : sequence of Path
        Policy folders; a market or layer is taken from the first that holds it.
    name : str
        The market.
    dates : mapping
        ``survey``, ``proposal`` and ``permit`` dates of the job; a missing one falls back to ``survey``; with no
        date at all every folder applies.

    Raises
    ------
    PolicyError
        With every fault of the market file, or of layers that are unknown or not in force.
    """
    market, document = read_market(roots, name)

    def files_of(layer: str, faults: Faults) -> list[SourceFile] | None:
        root = _layer_root(roots, layer)
        return None if root is None else list(_dated_files(root, root / layer, layer, faults))

    return _in_force(market, document, dates, files_of, lambda: layer_names(roots))


def sources_of_texts(texts: Mapping[str, str], name: str, dates: Mapping[str, date | None]) -> Sources:
    """Find a market's files in force among the texts of policy files, by name as in a policies folder; otherwise as `read_sources`.

    A byte that is no UTF-8 stands in a text as Python's ``surrogateescape`` writes it.
    """
    layers: dict[str, list[SourceFile]] = {}
    for file in sorted(texts):
        layer, _, rest = file.rpartition("/")[0].rpartition("/")
        if layer:
            layers.setdefault(layer, []).append(
                SourceFile(layer, rest, file, texts[file].encode(errors="surrogateescape"))
            )
    known = tuple(
        sorted(
            file.removeprefix(f"{MARKETS}/").removesuffix(".toml") for file in texts if file.startswith(f"{MARKETS}/")
        )
    )
    _known_market(name, known)
    file = f"{MARKETS}/{name}.toml"
    market, document = _market(texts[file].encode(errors="surrogateescape"), file, name)
    return _in_force(market, document, dates, lambda layer, faults: layers.get(layer), lambda: tuple(sorted(layers)))


def _in_force(
    market: Market,
    document: Document,
    dates: Mapping[str, date | None],
    files_of: Callable[[str, Faults], list[SourceFile] | None],
    layers: Callable[[], tuple[str, ...]],
) -> Sources:
    faults = Faults()
    files: list[SourceFile] = []
    for index, layer in enumerate(market.layers):
        place = document.place(("market", "layers", index))
        if layer in market.layers[:index]:
            faults.note("duplicate-layer", f"the layer `{layer}` is named twice", "each layer once", place=place)
            continue
        before = len(faults)
        held = files_of(layer, faults)
        if held is None:
            known = layers()
            faults.note(
                "unknown-layer",
                f"there is no layer `{layer}`",
                ", ".join(known),
                place=place,
                advice=nearest(layer, known),
            )
            continue
        on = governing_date(market, layer, dates)
        found = [file for file in held if on is None or file.effective <= on.isoformat()]
        if not found and len(faults) == before:
            first = f"its first folder is {held[0].effective}" if held else "a folder named by a date with a .toml file"
            faults.note(
                "not-in-force", f"the layer `{layer}` holds nothing in force on {on or 'any day'}", first, place=place
            )
        files += found
    if faults:
        raise PolicyError(faults)
    digest = hashlib.sha256(repr((market, [(f.layer, f.file, f.text) for f in files])).encode()).hexdigest()
    return Sources(market, tuple(files), digest)


def policy_texts(roots: Sequence[Path], name: str, dates: Mapping[str, date | None]) -> dict[str, str]:
    """Return the text of the market's file and of every policy file that takes part, by name: what composes it again."""
    sources = read_sources(roots, name, dates)
    file = sources.market.place.file
    root = next(root for root in roots if (root / file).is_file())
    return {file: read_bytes(root, root / file).decode(), **{one.file: one.text.decode() for one in sources.files}}


def read_market(roots: Sequence[Path], name: str) -> tuple[Market, Document]:
    """Read the file of one market."""
    _known_market(name, market_names(*roots))
    root = next(root for root in roots if (root / MARKETS / f"{name}.toml").exists())
    file = f"{MARKETS}/{name}.toml"
    return _market(read_bytes(root, root / file), file, name)


def _known_market(name: str, known: Sequence[str]) -> None:
    if name not in known:
        advice = nearest(name, known)
        raise PolicyError([Fault("unknown-market", f"there is no market `{name}`", ", ".join(known), advice=advice)])


def _market(text: bytes, file: str, name: str) -> tuple[Market, Document]:
    document = read_toml(text, file, error=PolicyError)
    shape = validated(MarketFile, document).market
    by_layer = {layer: str(getattr(shape.dates_by_layer, layer)) for layer in sorted(DatesShape.model_fields)}
    market = Market(
        name=name,
        title=shape.title,
        layers=tuple(shape.layers),
        jurisdiction=shape.jurisdiction,
        editions=tuple(shape.editions),
        currency=shape.currency,
        dates_by_layer=by_layer,
        place=document.place(("market",)),
        keys={key: document.place(("market", key)) for key in sorted(document.data["market"])},
    )
    return market, document


def governing_date(market: Market, layer: str, dates: Mapping[str, date | None]) -> date | None:
    """Return the date of the job that governs a layer."""
    return dates.get(market.dates_by_layer[layer.split("/")[0]]) or dates.get("survey")


def validated(model: type[Model], document: Document) -> Model:
    """Check a document against a shape; raise `PolicyError` with every fault."""
    try:
        return model.model_validate(document.data)
    except ValidationError as error:
        raise PolicyError(fault for _, fault in shape_faults(error, document, model)) from None


def layer_names(roots: Sequence[Path]) -> tuple[str, ...]:
    """Return the names of the layers in the policy folders."""
    names = set()
    for root in roots:
        if (root / "trade").is_dir():
            names.add("trade")
        for kind in ("codes", "regions", "companies"):
            names |= {f"{kind}/{path.name}" for path in (root / kind).glob("*") if path.is_dir()}
    return tuple(sorted(name for name in names if _PLAIN.fullmatch(name.split("/")[-1])))


def layer_files(root: Path, layer: str) -> tuple[SourceFile, ...]:
    """Read every file of a layer, whatever its date; raise `PolicyError` with every fault."""
    faults = Faults()
    files = tuple(_dated_files(root, root / layer, layer, faults))
    if faults:
        raise PolicyError(faults)
    return files


def read_bytes(root: Path, path: Path) -> bytes:
    """Read a file below `root`, never through a link that leads out, never more than the reader takes.

    Raises
    ------
    PolicyError
        If the file lies outside, is no regular file or cannot be read.
    """
    name = path.relative_to(root).as_posix()
    at = Place(name, 1, 1)
    try:
        real = path.resolve(strict=True)
        if not real.is_relative_to(root.resolve()):
            raise PolicyError(
                [Fault("outside-policies", f"`{name}` leads out of the policies folder", _INSIDE, place=at)]
            )
        if not stat.S_ISREG(real.stat().st_mode):
            raise PolicyError([Fault("unreadable", f"`{name}` is not a file", _INSIDE, place=at)])
        with real.open("rb") as file:
            return file.read(_MOST_BYTES)
    except (OSError, RuntimeError) as error:  # RuntimeError: a link that leads to itself, before Python 3.13
        reason = unread(error) if isinstance(error, OSError) else "it is a link that leads to itself"
        raise PolicyError([Fault("unreadable", f"`{name}` cannot be read: {reason}", _INSIDE, place=at)]) from None


def _layer_root(roots: Sequence[Path], layer: str) -> Path | None:
    return next((root for root in roots if layer in layer_names((root,))), None)


def _dated_files(root: Path, folder: Path, layer: str, faults: Faults) -> Iterator[SourceFile]:
    for dated in sorted(path for path in folder.iterdir() if path.is_dir()):
        if not _is_date(dated.name):
            name = dated.relative_to(root).as_posix()
            faults.note(
                "folder-name",
                f"the folder `{name}` is not named by a day",
                "a name such as 2026-01-31",
                place=Place(name, 1, 1),
            )
            continue
        for path in sorted(dated.glob("*.toml")):
            try:
                yield SourceFile(layer, dated.name, path.relative_to(root).as_posix(), read_bytes(root, path))
            except PolicyError as error:
                faults += error.faults


def _is_date(text: str) -> bool:
    try:
        return bool(_DATED.fullmatch(text)) and date.fromisoformat(text) is not None
    except ValueError:
        return False

"""Texts of policy files: read from the folder that has them, and laid out in another."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from airwarrant.policy.files import read_bytes, read_sources


def text_of(roots: Sequence[Path], file: str) -> str:
    """Return the text of a policy file from the first folder that has it."""
    root = next(root for root in roots if (root / file).is_file())
    return read_bytes(root, root / file).decode("utf-8")


def first_day(roots: Sequence[Path], market: str) -> str:
    """Return the first day on which every layer of a market holds something."""
    firsts: dict[str, str] = {}
    for file in read_sources(roots, market, {}).files:
        firsts.setdefault(file.layer, file.effective)
    return max(firsts.values())


def lay_out(folder: Path, files: Mapping[str, str]) -> None:
    """Write files, by name below a folder, for the time that they are composed from there."""
    for name, text in files.items():
        target = folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text, encoding="utf-8", newline="")

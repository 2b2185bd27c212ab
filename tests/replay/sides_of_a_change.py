"""Two policies that differ in one value, and jobs to compare under them."""

import shutil
from pathlib import Path

from airwarrant.made_jobs.made import made
from airwarrant.replay.compare_jobs import Asked
from airwarrant.replay.sides import side
from airwarrant.replay.stored import Held, Job
from airwarrant.shipped import shipped

POLICIES = shipped("policies")
MARKET = "copper-basin"
_LAYER = "regions/hot-dry/2026-01-01"


def changed_folder(folder: Path, block: str) -> Path:
    """The shipped policies with one more block in the last folder of the hot-dry layer, in place of the block of that name."""
    shutil.copytree(POLICIES, folder)
    target = folder / _LAYER / "limits.toml"
    head, _, rest = block.partition("\n")
    parts = target.read_text().split("\n[")
    kept = [part for part in parts if not part.startswith(head.lstrip("["))]
    target.write_text("\n[".join(kept) + f"\n\n{head}\n{rest}\n")
    return folder


#: A door is called pressurised at 9 Pa instead of 15.
STRICTER_DOORS = '[table.door_pressure_limit]\nrows = [[0, 9]]\nbasis = { kind = "demo" }'


def asked(folder: Path, *, everything: bool = False, gather: bool = False) -> Asked:
    """Both sides of a changed folder."""
    return Asked(side((POLICIES,), MARKET), side((folder,), MARKET), everything, gather)


def made_jobs(count: int, seed: int = 21) -> Held:
    """Made jobs of the market."""
    several = (made(seed, k, MARKET) for k in range(1, count + 1))
    return Held([Job(one.file, one.file, one.text.encode()) for one in several])

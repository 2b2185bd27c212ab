"""Files of ``tests/cli/broken``: for each fault code a call that makes the program say it, and the files it is given.

The head of a file, each line after ``# ``:

- ``call: WORDS`` what is typed after ``airwarrant``; ``{package}`` is the folder of the installed program;
- ``first: WORDS > FILE`` a call before it, its output kept; these and what follows happen in the order in which they stand;
- ``in: NAME`` where it happens: ``small`` (a small policies folder), ``book`` (the same with prices), ``steered`` (the same, but it can
  be evaluated), ``record`` (``job.toml``), ``result`` (a result with its inputs, its record, a test-out), ``without-inputs``, ``own``
  (an empty policies folder of one's own);
- ``change FILE: 'old' => 'new'``, ``made FILE: EXPRESSION``, ``folder: NAME``, ``link: NAME -> TARGET``, ``without: FILE``;
- ``file: NAME`` and its text up to the next ``file:``.

``»`` marks the place that the fault must name.
"""

import re
import shlex
import shutil
import sys
from ast import literal_eval
from dataclasses import dataclass
from pathlib import Path

import airwarrant
from jobs import SCENARIOS
from program import Called, call

TESTS = Path(__file__).parents[1]
sys.path += [str(TESTS / "policy"), str(TESTS / "job")]
from small_book import BOOK  # noqa: E402
from small_folder import TRADE, marked, write  # noqa: E402
from whole_record import WHOLE  # noqa: E402

MARK = "»"
_OWN = "policies/companies/demo/2026-01-01/own.toml"
#: The values that every evaluation reads.
_STEERING = "".join(
    f'[parameter.{name}]\nvalue = {value}\nunit = "{unit}"\ntitle = "{name}"\nedit = "company"\nbasis = {{ kind = "demo" }}\n'
    for name, value, unit in (
        ("band_factor", 1, "1"),
        ("rounds_most", 3, "1"),
        ("gain_floor", 1, "%"),
        ("doubt_when", '"before-sale"', "word"),
    )
)


@dataclass(frozen=True)
class Broken:
    """One file of ``tests/cli/broken``."""

    code: str
    heads: tuple[tuple[str, str], ...]
    files: tuple[tuple[str, str], ...]

    def head(self, name: str) -> list[str]:
        return [held for key, held in self.heads if key == name]

    @property
    def at(self) -> str:
        """``FILE:LINE:COLUMN`` of the mark; nothing without one."""
        for name, text in self.files:
            if MARK in text:
                line, column = marked(text) or (0, 0)
                return f"{name.removeprefix('policies/')}:{line}:{column}"
        return ""


def read_broken(path: Path) -> Broken:
    """Read a file of this folder."""
    heads: list[tuple[str, str]] = []
    files: list[tuple[str, str]] = []
    for line in path.read_text("utf-8").splitlines():
        key, colon, held = line.removeprefix("# ").partition(": ")
        if line.startswith("# file: "):
            files.append((held, ""))
        elif files:
            files[-1] = (files[-1][0], files[-1][1] + line + "\n")
        elif line.startswith("# ") and colon:
            heads.append((key, held))
    return Broken(path.stem, tuple(heads), tuple(files))


def read_analysed(path: Path) -> Broken:
    """Read a file of ``tests/desks/broken``: its head lays it over a small folder in its own way."""
    text = path.read_text("utf-8")
    heads = dict(re.findall(r"^# (on|folder): (.+)$", text, re.MULTILINE))
    name, files = f"companies/demo/{heads.get('folder', '2026-01-01')}/own.toml", {}
    for line in text.splitlines():
        if line.startswith("# file: "):
            name = line.removeprefix("# file: ")
        else:
            files[name] = files.get(name, "") + line + "\n"
    call_ = "policy check policies" + (f" --on {heads['on']}" if "on" in heads else "")
    laid = [("call", call_), ("in", "steered"), *([("without", _OWN)] if "folder" in heads else [])]
    return Broken(path.stem, tuple(laid), tuple((f"policies/{one}", held) for one, held in files.items()))


def said_by(broken: Broken, folder: Path, results: Path) -> Called:
    """Lay the files out in an empty folder and make the call; `results` holds a result of the main job."""
    _lay_out(broken, folder, results)
    (words,) = broken.head("call")
    return call(shlex.split(words.format(package=Path(airwarrant.__file__).parent)), folder)


def _lay_out(broken: Broken, folder: Path, results: Path) -> None:
    for base in broken.head("in"):
        _base(base, folder, results)
    for name, text in broken.files:
        _write(folder / name, text.replace(MARK, ""))
    for key, held in broken.heads:
        if key == "first":
            _before(held, folder)
        elif key == "without":
            (folder / held).unlink()
        elif key == "folder":
            (folder / held).mkdir(parents=True, exist_ok=True)
        elif key == "link":
            name, _, target = held.partition(" -> ")
            (folder / name).symlink_to(folder / target)
        elif key.startswith("made "):
            _write(folder / key.removeprefix("made "), _made(held, folder))
        elif key.startswith("change "):
            path = folder / key.removeprefix("change ")
            old, _, new = held.partition(" => ")
            text, before = path.read_text("utf-8"), literal_eval(old)
            assert before in text, before
            path.write_text(text.replace(before, literal_eval(new).replace(MARK, ""), 1), encoding="utf-8")


def _before(words: str, folder: Path) -> None:
    command, _, target = words.partition(" > ")
    came = call(shlex.split(command), folder)
    assert came.status in (0, 1), came.err
    if target:
        (folder / target).write_text(came.out, encoding="utf-8")


def _made(expression: str, folder: Path) -> str | bytes:
    names = {
        "re": re,
        "data": lambda name: (folder / name).read_bytes(),
        "read": lambda name: (folder / name).read_text("utf-8"),
        "scenario": lambda name: (SCENARIOS / name).read_text("utf-8"),
    }
    held = eval(expression, names)
    assert isinstance(held, str | bytes)
    return held


def _write(path: Path, text: str | bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))


def _base(name: str, folder: Path, results: Path) -> None:
    more = {"small": "", "book": BOOK, "steered": _STEERING}
    if name in more:
        write(folder / "policies", {"trade/2026-01-01/all.toml": TRADE + more[name]})
    elif name == "record":
        (folder / "job.toml").write_text(WHOLE, encoding="utf-8")
    elif name == "own":
        (folder / "policies" / "markets").mkdir(parents=True)
    else:
        assert name in ("result", "without-inputs"), name
        shutil.copytree(results / name, folder, dirs_exist_ok=True)

"""Change every value of the shipped policy layers by itself and see whether a check, a case or a test notices.

`python tests/bench/value_mutations.py [--of-each N] [--only TEXT] [--part K/N] [--out FILE]` prints, by layer and by kind,
the share noticed and every mutant that went unnoticed. Numbers go a tenth up and a tenth down, counts one up and one down, words and
flags to another that is allowed there. A full run takes hours on one core; `--part 1/2` and `--part 2/2` share it.
"""

import argparse
import hashlib
import json
import sys
import tempfile
import time
import tomllib
from collections import Counter
from collections.abc import Sequence
from math import sqrt
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent)]

from mutants import Mutant, all_mutants, sources  # noqa: E402
from noticing import TESTS, Noticing  # noqa: E402

from airwarrant.shipped import shipped  # noqa: E402


def main(argv: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sample", type=int, default=0, help="how many, chosen by seed; 0: all")
    parser.add_argument(
        "--of-each", type=int, default=0, help="at most so many of each kind; the share of all is then weighed"
    )
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="only mutants whose name holds this")
    parser.add_argument("--skip", default="", help="no mutant whose name holds one of these, parted by commas")
    parser.add_argument(
        "--policies", type=Path, default=shipped("policies"), help="another policies folder, without tests"
    )
    parser.add_argument("--again", type=Path, help="only the mutants that a run before wrote as unnoticed")
    parser.add_argument("--part", default="1/1")
    parser.add_argument("--cases", type=int, default=20, help="cases tried for one mutant")
    parser.add_argument("--seconds", type=float, default=20.0, help="seconds of tests tried for one mutant")
    parser.add_argument("--out", type=Path, help="write what noticed each, as JSON lines")
    parser.add_argument(
        "--quick", action="store_true", help="find cases by what they expect, without running them all once"
    )
    parser.add_argument("--listed", type=Path, default=HERE.parent / "policies/unnoticed.toml")
    parser.add_argument("--no-tests", action="store_true")
    given = parser.parse_args(argv)
    loop = _Loop(given)
    files = sorted({HERE.parent / name for names in TESTS.values() for name in names if (HERE.parent / name).exists()})
    asked = [] if given.no_tests else [str(file) for file in files]
    where = [] if asked else ["--collect-only"]
    pytest.main(["-o", "addopts=", "-p", "no:cacheprovider", "-p", "no:terminal", "--rootdir", str(HERE.parents[1]),
                 "-c", str(HERE.parents[1] / "pyproject.toml"), *where, *(asked or [str(HERE.parent / "test_units.py")])],
                plugins=[loop])  # fmt: skip
    return loop.printed()


class _Loop:
    """Takes the place of running the collected tests."""

    def __init__(self, given: argparse.Namespace) -> None:
        self._given = given
        self.noticed: list[tuple[Mutant, str]] = []
        #: how many mutants of each kind there are, run or not
        self.every: Counter[str] = Counter()

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        given, root = self._given, self._given.policies
        files = sources(root)
        noticing = Noticing(root, files, [] if given.no_tests else session.items, given.cases, given.seconds)
        if given.quick:
            noticing.build_by_names()
        elif given.cases:
            _indexed(noticing, root)
        every = all_mutants(files)
        self.every = Counter(mutant.kind for mutant in every)
        chosen = _chosen(every, given)
        out = given.out.open("w") if given.out else None
        began = time.monotonic()
        for number, mutant in enumerate(chosen, 1):
            by = noticing.noticed_by(mutant)
            self.noticed.append((mutant, by))
            if out:
                out.write(json.dumps({"id": mutant.id, "by": by, "kind": mutant.kind, "at": str(mutant)}) + "\n")
                out.flush()
            kept = sum(bool(by) for _, by in self.noticed)
            _note(
                f"{number}/{len(chosen)}, {kept} noticed, {time.monotonic() - began:.0f} s", last=number == len(chosen)
            )
        return True

    def printed(self) -> int:
        for title, of in (("layer", lambda m: m.layer), ("kind", lambda m: m.kind)):
            whole, kept = Counter(of(m) for m, _ in self.noticed), Counter(of(m) for m, by in self.noticed if by)
            print(f"\n{'by ' + title:34s}   all  noticed  share")
            for name in sorted(whole):
                print(f"{name:34s} {whole[name]:5d}  {kept[name]:7d}  {kept[name] / whole[name]:5.0%}")
        kept_all = sum(bool(by) for _, by in self.noticed)
        print(f"\n{kept_all} of {len(self.noticed)} noticed, {kept_all / max(1, len(self.noticed)):.1%}")
        print(_weighed(self.noticed, self.every))
        values = {m.value for m, _ in self.noticed}
        half = {m.value for m, by in self.noticed if not by}
        print(f"{len(values - half)} of {len(values)} values noticed whichever way they were changed")
        reasons = _reasons(self._given.listed)
        unlisted = 0
        for mutant, by in self.noticed:
            if not by:
                reason = next((why for name, why in reasons.items() if mutant.value.startswith(name)), "")
                unlisted += not reason
                print("unnoticed", mutant, f"({reason})" if reason else "")
        return 1 if unlisted or not self.noticed else 0


def _weighed(noticed: Sequence[tuple[Mutant, str]], every: Counter[str]) -> str:
    """The share of all mutants of the kinds that were run, each kind weighed by how many there are, with its 95 % interval.

    A stratified sample without replacement: W. G. Cochran, Sampling Techniques, 3rd edition, 1977, chapter 5, from memory. A kind of
    which all were noticed or none counts as if one half more were not, so that its interval is not nothing.
    """
    run, kept = Counter(m.kind for m, _ in noticed), Counter(m.kind for m, by in noticed if by)
    whole = sum(every[kind] for kind in run)
    share = variance = 0.0
    for kind, n in run.items():
        weight, p = every[kind] / max(whole, 1), kept[kind] / n
        share += weight * p
        spread = min(max(p, 0.5 / n), 1 - 0.5 / n)
        variance += weight**2 * (1 - n / every[kind]) * spread * (1 - spread) / max(n - 1, 1)
    return f"weighed by kind: {share:.1%} of {whole}, ± {1.96 * sqrt(variance):.1%}"


def _reasons(path: Path) -> dict[str, str]:
    """Values that may go unnoticed, by the beginning of their name, and why."""
    listed = tomllib.loads(path.read_text()) if path.exists() else {"unnoticed": []}
    return {name: one["why"] for one in listed["unnoticed"] for name in one["values"]}


def _chosen(mutants: tuple[Mutant, ...], given: argparse.Namespace) -> list[Mutant]:
    skipped = [word for word in given.skip.split(",") if word]
    named = [(m, f"{m.id} {m.file} {m.kind}") for m in mutants]
    chosen = [m for m, name in named if given.only in name and not any(word in name for word in skipped)]
    if given.again:
        rows = [json.loads(row) for row in given.again.read_text().splitlines()]
        left = {row["id"] for row in rows if not row["by"]}
        chosen = [m for m in chosen if m.id in left]
    if given.sample or given.of_each:
        # By name, so that a value that is added elsewhere leaves the rest of the sample as it was.
        chosen.sort(key=lambda m: hashlib.sha256(f"{given.seed} {m.id}".encode()).hexdigest())
    if given.of_each:
        of_kind: dict[str, list[Mutant]] = {}
        for mutant in chosen:
            of_kind.setdefault(mutant.kind, []).append(mutant)
        chosen = [mutant for held in of_kind.values() for mutant in held[: given.of_each]]
    chosen = chosen[: given.sample or None]
    part, of = map(int, given.part.split("/"))
    return chosen[part - 1 :: of]


def _indexed(noticing: Noticing, root: Path) -> None:
    """The index of a run before, where nothing has changed since."""
    digest = hashlib.sha256()
    for path in sorted(root.rglob("*.toml")):
        digest.update(path.read_bytes())
    kept = Path(tempfile.gettempdir()) / f"value-mutations-{digest.hexdigest()[:16]}.pickle"
    if kept.exists():
        noticing.read(kept)
    else:
        noticing.build(lambda what, done, of: _note(f"nothing changed: {what} {done}/{of}", last=done == of))
        noticing.write(kept)


_SAID = [0.0]


def _note(text: str, *, last: bool) -> None:
    """Progress, every few seconds."""
    if last or time.monotonic() > _SAID[0] + 5:
        _SAID[0] = time.monotonic()
        print(text, file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main())

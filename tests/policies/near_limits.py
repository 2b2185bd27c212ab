"""Numbers just within and just beyond the limits of the checks, and what these say of them.

`python tests/policies/near_limits.py` writes ``near_limits.toml`` again: after a change of a limit that is meant, read its ``git
diff`` line by line, as an owner who says that these readings shall now pass and those shall not.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from types import MappingProxyType
from typing import Any

from airwarrant.desks.usual import usual_ranges
from airwarrant.job.dictionary import KINDS
from airwarrant.job.fields import EXPECTED
from airwarrant.job.readings import Reading
from airwarrant.job.subject import Subject
from airwarrant.policy.compose import compose
from airwarrant.policy.model import Check, Policy
from airwarrant.rules.judge import Judge, Verdict
from airwarrant.rules.prepared import Prepared
from airwarrant.shipped import shipped

FILE = Path(__file__).with_suffix(".toml")
DATES = dict.fromkeys(("survey", "proposal", "permit"), date(2026, 7, 1))
#: The regions' own markets first, then those that adopted a code.
MARKETS = (
    "clay-hollow", "copper-basin", "mosswater-bend", "larchmere-notch", "fog-harbor", "juniper-sill", "quillback-cove", "slatewater-gap",
)  # fmt: skip
#: Houses in which a gap closes, or one of two is the larger: from there the limit can be walked to.
CLOSED: Mapping[str, Mapping[str, float]] = {
    "static-adds-up": {"house.external_static": 0.6, "house.return_static": -0.3, "house.supply_static": 0.3},
    "return-gain": {"house.unit_temp": 78, "house.grille_temp": 78},
    "elbow-leg": {"elbow.return_leg": 0.02, "elbow.supply_leg": 0.05},
    "duct-surface": {"house.duct_surface_temp": 65, "house.space_dew_point": 60},
    "load-shares": {"room.load_share": 100},
    "rooms-load": {"room.load": 10000, "house.sensible_load": 10000},
    "house-pulled": {"house.house_pressure": -0.2},
    "house-pushed": {"house.house_pressure": 0.2},
    "lead-paint-area": {"house.paint_cut_area": 5},
    "co-look": {"house.ambient_co": 5},
}


@dataclass(frozen=True)
class Row:
    """Numbers of a house and its things, by ``kind.field``; `off` is the ± of `of`, a share; the others are exact."""

    market: str
    check: str
    numbers: Mapping[str, float]
    of: str
    off: float
    state: str
    word: str


@dataclass
class House:
    """One thing of each kind, with numbers that are made up as they are asked for unless they were given."""

    policy: Policy
    numbers: dict[str, float] = field(default_factory=dict)
    of: str = ""
    off: float = 0.0
    state: str = "measured"
    asked: list[str] = field(default_factory=list)

    def source(self, key: str, name: str, _: str) -> Reading:
        known = f"{key}.{name}"
        self.asked.append(known)
        value = self.numbers.setdefault(known, _usual(self.policy, name))
        off = abs(value) * self.off if known == self.of else 0.0
        of = KINDS[key].fields[name]
        state = self.state if of.form == "reading" else "stated"
        return Reading(value, of.unit, state, off, "", None, None, "", MappingProxyType({}))

    def judge(self, check: str) -> Verdict:
        """What a check says of its own kind's thing."""
        words = {table.by: str(table.rows[0][0]) for table in self.policy.tables.values() if not table.by_unit}
        kinds = {name: (Subject(name, name, MappingProxyType(words)),) for name in KINDS}
        judge = Judge(Prepared(self.policy), kinds, self.source)
        one = self.policy.checks[check]
        return judge.judge(one, kinds[one.each][0], "found")


def said(policy: Policy, row: Row) -> str:
    """What a check says of the numbers of a row."""
    return House(policy, dict(row.numbers), row.of, row.off, row.state).judge(row.check).word


def policy_of(market: str) -> Policy:
    return compose(shipped("policies"), market, DATES)


def _usual(policy: Policy, name: str) -> float:
    # What is expected of a reading is as large as the reading itself.
    known = usual_ranges(policy).get(name.removeprefix(EXPECTED))
    return float(f"{(known.low + known.high) / 2 or known.high:.2g}") if known else 10.0


def rows() -> Iterator[Row]:
    """Rows of every check, in each market whose limit is one of its own."""
    seen: set[tuple[object, ...]] = set()
    for market in MARKETS:
        policy = policy_of(market)
        for check in policy.checks.values():
            plain = House(policy)
            verdict = plain.judge(check.name)
            limits = tuple(sorted(round(one.value, 9) for one in verdict.considered))
            if (check.name, limits, check.must_be, check.doubt) in seen:
                continue
            seen.add((check.name, limits, check.must_be, check.doubt))
            for numbers in _houses(policy, check, plain.numbers):
                yield from _around(market, policy, check, numbers)


def _houses(policy: Policy, check: Check, numbers: Mapping[str, float]) -> Iterator[dict[str, float]]:
    """The plain house; where a check has several limits, also one in which each other number makes another of them govern."""
    yield dict(numbers)
    if check.name in CLOSED:
        yield {**numbers, **CLOSED[check.name]}
    if len(check.limits) > 1:
        for name in numbers:
            for times in (0.6, 1.6):
                yield {**numbers, name: float(f"{numbers[name] * times:.3g}")}


def _around(market: str, policy: Policy, check: Check, numbers: dict[str, float]) -> Iterator[Row]:
    def verdict(name: str, value: float) -> Verdict:
        return House(policy, {**numbers, name: value}).judge(check.name)

    found = next((name for name in numbers if _crossing(lambda v, n=name: verdict(n, v), numbers[name])), None)
    if found is None:
        return
    cross = _crossing(lambda v: verdict(found, v), numbers[found])
    assert cross is not None
    for side in (1, -1):
        # The limit may move with the number: the number goes until it is 4 % of the limit away.
        value = _at(lambda v: verdict(found, v), cross, side * 0.04)
        if value is not None:
            yield _row(market, policy, check, {**numbers, found: value}, found)
    value = _at(lambda v: verdict(found, v), cross, 0.01)
    if value is not None:
        yield _row(market, policy, check, {**numbers, found: value}, found, off=0.1)
    if check.needs:
        within = _at(lambda v: verdict(found, v), cross, 0.04) or cross
        for state in ("measured", "table", "stated", "assumed"):
            yield _row(
                market,
                policy,
                check,
                {**numbers, found: within},
                found,
                state=state,
            )


def _row(
    market: str,
    policy: Policy,
    check: Check,
    numbers: Mapping[str, float],
    of: str,
    *,
    off: float = 0.0,
    state: str = "measured",
) -> Row:
    row = Row(market, check.name, dict(sorted(numbers.items())), of, off, state, "")
    return replace(row, word=said(policy, row))


def _share(verdict: Verdict) -> float | None:
    """How far a reading is within its limit, as a share of the limit."""
    if verdict.limit is None or verdict.margin is None:
        return None
    return verdict.margin / max(abs(verdict.limit.value), 1e-6)


def _crossing(ask: Callable[[float], Verdict], start: float) -> float | None:
    """The number at which the limit is just met, by halving between two steps of a walk up and down."""
    last: tuple[float, float] | None = None
    walk = [start * 1.25**step for step in range(-24, 25)]
    for value in sorted([*walk, *(-one for one in walk)]):
        share = _share(ask(value))
        if share is None:
            last = None
            continue
        if last is not None and (last[1] > 0) != (share > 0) and abs(share - last[1]) < 1e3:
            low, high = last[0], value
            for _ in range(50):
                middle = (low + high) / 2
                at = _share(ask(middle))
                low, high = (middle, high) if at is not None and (at > 0) == (last[1] > 0) else (low, middle)
            return (low + high) / 2
        last = (value, share)
    return None


def _at(ask: Callable[[float], Verdict], cross: float, share: float) -> float | None:
    """The number near the crossing where the limit is missed or kept by a share, at three digits."""
    for step in range(1, 400):
        for sign in (1, -1):
            value = cross + sign * step * max(abs(cross), 1e-3) * 0.002
            found = _share(ask(value))
            if found is not None and found * share > 0 and abs(found) >= abs(share):
                near = float(f"{value:.3g}")
                again = _share(ask(near))
                kept = again is not None and again * share > 0 and 0.3 < abs(again / share) < 2
                return near if kept else float(f"{value:.4g}")
    return None


def write() -> None:
    """Write the file again."""
    lines = [
        "# Numbers just within and just beyond the limits of the checks, and what these say of them: a record of what the shipped policies",
        "# came to when it was written, no source of what is right. Where no one number reaches a limit: test_checks_by_hand.py.",
        "# Written by `python tests/policies/near_limits.py`; read its difference line by line after a change of a limit.",
    ]
    for row in dict.fromkeys(map(_text, rows())):
        lines.append(row)
    FILE.write_text("\n".join(lines) + "\n")


def _text(row: Row) -> str:
    numbers = ", ".join(f'"{name}" = {value:g}' for name, value in row.numbers.items())
    more = f', of = "{row.of}", off = {row.off:g}' if row.off else ""
    more += f', state = "{row.state}"' if row.state != "measured" else ""
    return (
        f'[[row]]\nmarket = "{row.market}"\ncheck = "{row.check}"\nnumbers = {{ {numbers} }}\nword = "{row.word}"'
        + ("\n" + more.removeprefix(", ").replace(", ", "\n") if more else "")
    )


def read(data: Mapping[str, Any]) -> Iterator[Row]:
    """Rows of the file's data."""
    for one in data["row"]:
        of, off, state = one.get("of", ""), one.get("off", 0.0), one.get("state", "measured")
        yield Row(one["market"], one["check"], one["numbers"], of, off, state, one["word"])


if __name__ == "__main__":
    write()

"""Dampers on one plenum, against a case worked by hand, against the procedure a technician follows, and against its own promises.

The proportional method is the trade's (read the run shortest of its design, leave it open, bring the others to its ratio); the text
of a standard for it was not seen. Everything here follows from ``dp = K q^2`` alone, so hand arithmetic is the outside check.
"""

from collections.abc import Mapping

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from airwarrant.air.balancing import balance
from airwarrant.air.network import Link, Network, solve
from airwarrant.air.trimming import trimmed

INCHES, CFM = 249.08891, 0.3048**3 / 60.0
SI = INCHES / CFM**2  # from in. w.c. per cfm squared


def one(**k: float) -> dict[str, np.ndarray]:
    """Resistances of one set."""
    return {name: np.array([value]) for name, value in k.items()}


def flows(k: Mapping[str, float], trunk: float, pressure: float) -> dict[str, float]:
    """Flows of branches behind a trunk, by one equation in the header's pressure."""

    def unbalanced(header: float) -> float:
        whole = sum((header / one) ** 0.5 for one in k.values())
        return pressure - header - trunk * whole**2

    header = brentq(unbalanced, 1e-12, pressure, xtol=1e-14)
    return {name: (header / value) ** 0.5 for name, value in k.items()}


def test_three_branches_worked_by_hand() -> None:
    """Trunk 2e-8, branches 1e-6, 2e-6, 4e-6 in. w.c./cfm2, designs 300, 300, 200 cfm, 0.3 in. w.c.

    By hand: K d^2 is 0.09, 0.18, 0.16, so the second is the key. To give the others 0.18 the first needs 2e-6 and the third 4.5e-6.
    The three then carry 1 : 1 : 2/3 of sqrt(h / 2e-6); with 0.3 = h + 2e-8 (8/3)^2 h / 2e-6 that is 374.22, 374.22 and 249.48 cfm,
    each 124.74 % of design. As found they carried 522.84, 369.71 and 261.42 cfm.
    """
    k, design = {"a": 1e-6, "b": 2e-6, "c": 4e-6}, {"a": 300.0, "b": 300.0, "c": 200.0}
    found = flows(k, 2e-8, 0.3)
    assert [found[n] for n in "abc"] == pytest.approx([522.84, 369.71, 261.42], abs=0.01)
    # In SI, to see that units play no part.
    changed = trimmed(one(**{n: v * SI for n, v in k.items()}), design, "abc")
    assert set(changed) == {"a", "c"}
    assert float(changed["a"][0]) / SI == pytest.approx(2e-6, rel=1e-12)
    assert float(changed["c"][0]) / SI == pytest.approx(4.5e-6, rel=1e-12)
    after = flows({**k, **{n: float(v[0]) / SI for n, v in changed.items()}}, 2e-8, 0.3)
    assert [after[n] for n in "abc"] == pytest.approx([374.22, 374.22, 249.48], abs=0.01)
    assert [100.0 * after[n] / design[n] for n in "abc"] == pytest.approx([124.74] * 3, abs=0.005)


def test_the_same_case_on_the_house_network_and_by_the_other_closed_form() -> None:
    """`balance` of the catalogue of calculations starts from measured flows; the network solves with the new resistances."""
    k, design = {"a": 1e-6 * SI, "b": 2e-6 * SI, "c": 4e-6 * SI}, {"a": 300.0, "b": 300.0, "c": 200.0}
    changed = trimmed(one(**k), design, "abc")
    new = {**k, **{n: float(v[0]) for n, v in changed.items()}}
    links = (Link("trunk", "unit", "plenum", 2e-8 * SI), *(Link(n, "plenum", "room", v) for n, v in new.items()))
    solved = solve(Network({"unit": 0.3 * INCHES, "room": 0.0}, links))
    found = flows({n: v / SI for n, v in k.items()}, 2e-8, 0.3)
    header = k["b"] / SI * found["b"] ** 2
    key, told = balance(
        [found[n] * CFM for n in "abc"], [design[n] * CFM for n in "abc"], header * INCHES, 0.3 * INCHES
    )
    assert key == 1
    for name, branch in zip("abc", told, strict=True):
        assert solved.flows[name] == pytest.approx(branch.flow, rel=1e-9)


@st.composite
def plenums(draw: st.DrawFn) -> tuple[dict[str, float], dict[str, float], list[str]]:
    """Branches of one plenum, the design of each, and which have a damper."""
    names = [f"r{i}" for i in range(draw(st.integers(2, 9)))]
    number = st.floats(0.05, 20.0)
    k = {name: draw(number) for name in names}
    target = {name: draw(number) for name in names}
    return k, target, [name for name in names if draw(st.booleans())]


@given(plenums())
def test_full_balance_brings_all_to_one_ratio(case: tuple[dict[str, float], dict[str, float], list[str]]) -> None:
    k, target, _ = case
    changed = trimmed(one(**k), target, list(k))
    new = {**k, **{n: float(v[0]) for n, v in changed.items()}}
    ratios = [new[n] ** -0.5 / target[n] for n in k]
    assert ratios == pytest.approx([min(k[n] ** -0.5 / target[n] for n in k)] * len(k), rel=1e-9)


@given(plenums())
def test_what_it_promises(case: tuple[dict[str, float], dict[str, float], list[str]]) -> None:
    """It never opens, leaves the key run and runs without a damper alone, and what it closes stands with the open ones together."""
    k, target, dampers = case
    changed = trimmed(one(**k), target, dampers)
    key = max(k, key=lambda n: (k[n] * target[n] ** 2, n))
    assert key not in changed
    assert set(changed) <= set(dampers)
    assert all(float(v[0]) >= k[n] for n, v in changed.items())
    still = [n for n in k if n not in changed]
    together = sum(k[n] ** -0.5 for n in still) / sum(target[n] for n in still)
    for name, v in changed.items():
        assert float(v[0]) ** -0.5 / target[name] == pytest.approx(together, rel=1e-9)
    # A run with a damper that was left alone gets no more of its design than those that stay open do together.
    for name in set(dampers) - set(changed):
        assert k[name] ** -0.5 / target[name] <= together * (1.0 + 1e-9)


@given(plenums())
def test_it_ends_where_a_technician_ends(case: tuple[dict[str, float], dict[str, float], list[str]]) -> None:
    """Reading and closing by turns: each run above the others' ratio is closed to it, until nothing moves."""
    k, target, dampers = case
    key = max(k, key=lambda n: (k[n] * target[n] ** 2, n))
    by_hand = dict(k)
    for _ in range(2000):
        moved = 0.0
        for name in sorted(set(dampers) - {key}):
            others = [n for n in k if n != name]
            ratio = sum(by_hand[n] ** -0.5 for n in others) / sum(target[n] for n in others)
            closed = max((ratio * target[name]) ** -2, k[name])
            moved = max(moved, abs(closed / by_hand[name] - 1.0))
            by_hand[name] = closed
        if moved < 1e-13:
            break
    changed = trimmed(one(**k), target, dampers)
    new = {**k, **{n: float(v[0]) for n, v in changed.items()}}
    for name in k:
        assert new[name] == pytest.approx(by_hand[name], rel=1e-6), name


def test_a_run_left_open_raises_the_level_for_the_next() -> None:
    """Key 20, runs with dampers 10 and 5, an open run 1, all in K t^2; targets 4, 4, 1, 1.

    Open ones alone: (5 / (4/sqrt 20 + 1))^2 = 6.97, under 10: that run stays. With it (9 / (4/sqrt 20 + 1 + 4/sqrt 10))^2 = 8.14: the
    one at 5 is closed to it, though a single glance at 6.97 would do for it too.
    """
    target = {"key": 4.0, "ten": 4.0, "five": 1.0, "open": 1.0}
    level = {"key": 20.0, "ten": 10.0, "five": 5.0, "open": 1.0}
    changed = trimmed(one(**{n: level[n] / target[n] ** 2 for n in level}), target, ("ten", "five"))
    assert set(changed) == {"five"}
    expected = (9.0 / (4.0 / 20.0**0.5 + 1.0 + 4.0 / 10.0**0.5)) ** 2
    assert float(changed["five"][0]) == pytest.approx(expected, rel=1e-12)


def test_a_run_between_two_levels_is_closed_too() -> None:
    """The run at 7.5 lies above the first level, 6.97, and under the one after the run at 10 was left open, 8.14: it is closed."""
    target = {"key": 4.0, "ten": 4.0, "between": 0.01, "open": 1.0}
    level = {"key": 20.0, "ten": 10.0, "between": 7.5, "open": 1.0}
    changed = trimmed(one(**{n: level[n] / target[n] ** 2 for n in level}), target, ("ten", "between"))
    assert set(changed) == {"between"}


def test_branches_without_a_design_are_left_out() -> None:
    assert trimmed(one(a=1.0, b=2.0), {}, ("a", "b")) == {}
    changed = trimmed(one(a=1.0, b=2.0, hall=0.1), {"a": 1.0, "b": 1.0}, ("a", "b", "hall"))
    assert set(changed) == {"a"}
    assert float(changed["a"][0]) == pytest.approx(2.0)


def test_every_set_is_trimmed_to_its_own_level() -> None:
    changed = trimmed({"a": np.array([1.0, 1.0]), "b": np.array([2.0, 3.0])}, {"a": 1.0, "b": 1.0}, ("a",))
    assert changed["a"].tolist() == pytest.approx([2.0, 3.0])

"""Calculations that weigh numbers: the verdict on a reading, the balance of branches."""

from collections.abc import Mapping
from math import isfinite
from typing import Any, cast

from airwarrant.air.balancing import balance
from airwarrant.calculations.calculation import (
    Answer,
    Calculation,
    Impossible,
    Key,
    not_negative,
    number,
    positive,
    word,
)
from airwarrant.calculations.inputs import as_number
from airwarrant.calculations.measures import MEASURES, System
from airwarrant.calculations.verdict import Sense, compare, probability
from airwarrant.units import UNITS

_Branch = tuple[str, float, float]  # id, measured, design


def _verdict(value: float, plus_minus: float, limit: float, must_be: str, doubt: str, band: float, unit: str) -> Answer:
    """Word for a reading against a limit, its margin, and the probability that the true value meets the limit.

    Nearer to the limit than ``band × plus_minus`` is close. Numbers are compared at the decimals of `unit`, as everywhere in the
    program; all are in that unit. Probability: normal, standard deviation ``plus_minus / 2``. Valid for any number. JCGM 106:2012.
    """
    sense = cast(Sense, must_be.replace("-", " "))
    margin = limit - value if sense in ("at most", "below") else value - limit
    said = compare(value, limit, sense, band * plus_minus, unit, doubt)
    return Answer({"verdict": said, "margin": margin, "probability": probability(margin, plus_minus)})


def _balance(branches: tuple[_Branch, ...], node: float, available: float | None = None) -> Answer:
    """Losses that bring every branch of one header to one ratio of design flow.

    Each branch loses ``K Q^2`` from the header's pressure as found. The branch with the lowest ratio is the key and stays open; every
    other gets ``K' d^2 = K_key d_key^2``. With the pressure available before the way to the header, that way's loss falls with the
    flow. Valid where branches lose as the square of flow. Proportional balancing, in closed form.
    """
    if available is not None and available < node:
        raise Impossible("available", "less than the header's own pressure", "at least node_pressure")
    key, balanced = balance([b[1] for b in branches], [b[2] for b in branches], node, available)
    return Answer(
        {
            "key_branch": branches[key][0],
            "branches": tuple((b[0], *_parts(one)) for b, one in zip(branches, balanced, strict=True)),
        }
    )


def _parts(one: Any) -> tuple[float, float, float]:
    return one.added_loss, one.flow, one.ratio


def _read_branches(raw: object, system: System) -> tuple[_Branch, ...]:
    flow = MEASURES["flow"].of(system)
    keys = ("id", f"measured_{flow.suffix}", f"design_{flow.suffix}")
    if not isinstance(raw, list) or not raw:
        raise Impossible("branches", "no [[branch]] in the file", f"[[branch]] with {', '.join(keys)}")
    branches: list[_Branch] = []
    for at, table in enumerate(raw):
        if not isinstance(table, Mapping) or set(table) != set(keys):
            found = ", ".join(map(str, table)) if isinstance(table, Mapping) else repr(table)
            raise Impossible("branches", f"[[branch]] number {at + 1} has {found}", ", ".join(keys))
        name = str(table["id"])
        if any(name == other for other, _, _ in branches):
            raise Impossible("branches", f"id `{name}` stands twice", "each id once")
        pair = [as_number(table[key]) for key in keys[1:]]
        for key, one in zip(keys[1:], pair, strict=True):
            if one is None or not isfinite(one) or one <= 0.0:
                raise Impossible("branches", f"{key} of `{name}` is {table[key]}", "a number above 0")
        measured, design = (flow.to_si(one) for one in pair if one is not None)
        branches.append((name, measured, design))
    return tuple(branches)


def _write_branches(branches: tuple[_Branch, ...], system: System) -> list[dict[str, Any]]:
    flow = MEASURES["flow"].of(system)
    return [
        {"id": i, f"measured_{flow.suffix}": flow.written(m), f"design_{flow.suffix}": flow.written(d)}
        for i, m, d in branches
    ]


def _write_balanced(branches: tuple[tuple[str, float, float, float], ...], system: System) -> list[dict[str, Any]]:
    flow, pressure = MEASURES["flow"].of(system), MEASURES["pressure"].of(system)
    return [
        {
            "id": i,
            f"added_loss_{pressure.suffix}": pressure.written(loss),
            f"flow_{flow.suffix}": flow.written(q),
            "ratio": MEASURES["number"].ip.written(ratio),
        }
        for i, loss, q, ratio in branches
    ]


CALCULATIONS = (
    Calculation(
        "balance",
        (
            Key("branches", "branch", form="structure", read=_read_branches, write=_write_branches),
            positive("node", "pressure", stem="node_pressure"),
            Key("available", "available_pressure", "pressure", bound="positive", optional=True),
        ),
        (
            Key("key_branch", "key_branch", form="word"),
            Key("branches", "branches", form="structure", write=_write_balanced),
        ),
        _balance,
        "proportional balancing in closed form, branches as K Q²",
        10.0,
    ),
    Calculation(
        "verdict",
        (
            number("value"),
            not_negative("plus_minus"),
            number("limit"),
            word("must_be", "at-most", "at-least", "below", "above"),
            word("doubt", "retest", "against", "ignore", default="retest"),
            not_negative("band", default=1.0),
            word("unit", *(name for name in UNITS if name != "word"), default="1"),
        ),
        (Key("verdict", "verdict", form="word"), number("margin"), number("probability")),
        _verdict,
        "JCGM 106:2012",
    ),
)

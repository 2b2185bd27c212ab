"""Records with readings gone, wrong by a factor, at the ends of what a record may hold: each is predicted, refused with reasons, or
has nothing to predict from; never a traceback, never a number that is none, and as found it returns what it was made from."""

from collections.abc import Callable
from math import isfinite
from random import Random
from typing import Any

import pytest
from house_of import INCHES, JOBS, data, network_or_none

from airwarrant.errors import AirwarrantError
from airwarrant.house.changes import CHANGES
from airwarrant.house.predict import Network
from airwarrant.house.work import Work
from airwarrant.job.dictionary import KINDS

ITEMS = ("elbow", "leak", "room", "plenum", "zone")
FORMS = ("package-roof", "package-ground", "split-attic", "split-closet", "furnace-coil", "manufactured-home")
PLACES = ("grille", "duct", "box", "elbow", "platform", "unit", "coil", "plenum", "branches", "unknown")
FACTORS = (0.0, 0.01, 0.1, 0.3, 0.7, 1.5, 3.0, 10.0)
DROPS = ("filter_drop", "return_duct_drop", "collar_drop", "coil_drop", "branch_drop", "plenum_drop")
FLOWS = ("register_flow", "grille_flow", "airflow", "leakage_return_25", "leakage_supply_25", "leakage_25")
#: What a kind of work is done on.
ON = {
    "widen-elbow": "elbow",
    "renew-plenum": "plenum",
    "seal-plenum": "plenum",
    "enlarge-grille": "grille",
    "add-return-path": "route",
    "upsize-return": "return",
    "repair-run": "run",
    "undercut": "room",
    "transfer": "room",
    "bedroom-return": "room",
    "damper": "room",
}
Plain = dict[str, Any]


def visit_of(plain: Plain, draw: Random) -> Plain:
    chosen: Plain = draw.choice(plain["visit"])
    return chosen


def readings_of(visit: Plain) -> list[tuple[Plain, str]]:
    blocks = [visit, *(block for kind in ITEMS for block in visit.get(kind, []))]
    return [(block, key) for block in blocks for key, one in block.items() if isinstance(one, int | float | dict)]


def one_gone(plain: Plain, draw: Random) -> None:
    block, key = draw.choice(readings_of(visit_of(plain, draw)))
    del block[key]


def one_off(plain: Plain, draw: Random) -> None:
    block, key = draw.choice(readings_of(visit_of(plain, draw)))
    one = block[key]
    if isinstance(one, dict):
        one["value"] *= draw.choice(FACTORS)
    else:
        block[key] = one * draw.choice(FACTORS)


def item_gone(plain: Plain, draw: Random) -> None:
    visit = visit_of(plain, draw)
    kind = draw.choice(ITEMS)
    if visit.get(kind):
        visit[kind].pop(draw.randrange(len(visit[kind])))


def drops_gone(plain: Plain, draw: Random) -> None:
    visit = visit_of(plain, draw)
    for name in DROPS:
        if draw.random() < 0.6:
            visit.pop(name, None)


def leak_moved(plain: Plain, draw: Random) -> None:
    if plain.get("leak"):
        leak = draw.choice(plain["leak"])
        leak["at"], leak["side"] = draw.choice(PLACES), draw.choice(("return", "supply", "supply", "unknown"))


def leak_more(plain: Plain, draw: Random) -> None:
    key = f"hole-{draw.randrange(10**9)}"
    plain.setdefault("leak", []).append(
        {"id": key, "side": draw.choice(("return", "supply")), "at": draw.choice(PLACES)}
    )
    if draw.random() < 0.7:
        read = {"id": key, "leak_25": draw.choice((0, 1, 30, 300, 1200))}
        visit_of(plain, draw).setdefault("leak", []).append(read)


def table_gone(plain: Plain, draw: Random) -> None:
    if draw.random() < 0.5:
        plain["old"].pop("blower", None)
    else:
        visit_of(plain, draw).pop("fan_setting", None)


def other_form(plain: Plain, draw: Random) -> None:
    plain["old"]["form"] = draw.choice(FORMS)
    if draw.random() < 0.3:
        plain["old"].pop("tons", None)
        plain["new"].pop("tons", None)


def elbows(plain: Plain, draw: Random) -> None:
    plain.setdefault("elbow", []).append(
        {"id": f"elbow-{draw.randrange(10**9)}", "style": draw.choice(("none", "square"))}
    )


def new_blower(plain: Plain, draw: Random) -> None:
    blower = plain["new"]["blower"]
    blower["kind"] = draw.choice(("fixed-speed", "constant-airflow", "constant-torque"))
    setting = draw.choice(blower["setting"])
    tables = ([[x / 10, 1300 if x < 8 else 1300 - 200 * (x - 7)] for x in range(2, 11)], [[0.1, 900], [0.2, 400]])
    setting["table"] = draw.choice(tables)
    setting.pop("power", None)
    if draw.random() < 0.5:
        setting["power"] = [100.0 + 10.0 * i for i in range(len(setting["table"]))]


def statics(plain: Plain, draw: Random) -> None:
    visit = visit_of(plain, draw)
    for name, sign in (("return_static", -1.0), ("supply_static", 1.0)):
        if draw.random() < 0.7:
            visit[name] = sign * draw.choice((0.0, 0.0005, 0.02, 0.3, 1.0, 2.0))


def flow_at_an_end(plain: Plain, draw: Random) -> None:
    visit_of(plain, draw)[draw.choice(FLOWS)] = draw.choice((0, 1, 10, 100, 400, 900, 1150))


def door(plain: Plain, draw: Random) -> None:
    rooms = visit_of(plain, draw).get("room")
    if rooms:
        draw.choice(rooms)["door_pressure"] = draw.choice((-5.0, 0.0, 0.1, 5.0, 30.0, 60.0))


def duct(plain: Plain, draw: Random) -> None:
    if plain.get("return"):
        draw.choice(plain["return"])["diameter"] = draw.choice((3, 8, 20, 30))


CHANGED: tuple[Callable[[Plain, Random], None], ...] = (
    one_gone,
    one_off,
    one_off,
    item_gone,
    drops_gone,
    leak_moved,
    leak_more,
    table_gone,
    other_form,
    elbows,
    new_blower,
    statics,
    flow_at_an_end,
    door,
    duct,
)


def within(plain: Plain) -> Plain:
    """Readings brought back to what a record may hold: beyond it is refused before anything is predicted."""
    for visit in plain["visit"]:
        blocks = [("house", visit), *((kind, block) for kind in ITEMS for block in visit.get(kind, []))]
        for kind, block in blocks:
            for field in KINDS[kind].fields.values():
                if field.form == "reading" and field.hard and field.name in block:
                    low, high = field.hard
                    one = block[field.name]
                    if isinstance(one, dict):
                        one["value"] = min(max(one["value"], low), high)
                    else:
                        block[field.name] = min(max(one, low), high)
    return plain


def some_work(plain: Plain, draw: Random) -> list[Work]:
    chosen = []
    for change in CHANGES:
        places = [one["id"] for one in plain.get(ON[change], [])] if change in ON else ["house"]
        if places and draw.random() < 0.35:
            size = None if change in ("balance", "damper") else draw.choice((None, 6.0, 14.0, 20.0, 50.0, 700.0))
            chosen.append(Work(change, draw.choice(places), size))
    return chosen


def sound(made: Network, plain: Plain, draw: Random) -> None:
    """Every number is one, and the house as found is the house that was read."""
    assert made.calibration.off_static <= 0.005 * INCHES
    assert made.calibration.off_flow <= 0.005
    blower = made._house.record.new_blower
    found = [made.as_found()]
    for setting in blower.settings if blower else ():
        for work in ([], some_work(plain, draw)):
            prediction = made.predict(work, setting.name)
            assert prediction is not None
            found.append(made.complete(prediction))
            if draw.random() < 0.1:
                spans = made.ranges(work, setting.name).values()
                assert all(isfinite(one.low) and isfinite(one.high) and one.low <= one.high for one in spans)
    for prediction in found:
        for key, reading in prediction.readings.items():
            assert isfinite(reading.value), key
            assert reading.plus_minus is not None, key
            assert isfinite(reading.plus_minus), key


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("seed", range(8))
def test_any_record_is_predicted_or_says_why_not(seed: int) -> None:
    draw, predicted = Random(seed), 0
    for _ in range(15):
        plain = data(draw.choice(JOBS))
        for _ in range(draw.randint(1, 8)):
            draw.choice(CHANGED)(plain, draw)
        try:
            made = network_or_none(within(plain))
        except AirwarrantError as error:
            assert str(error)
            continue
        if made is not None:
            predicted += 1
            sound(made, plain, draw)
    assert predicted > 7

"""Drawing a house: its size, its unit, the pieces of its air path with their resistances, its leaks, rooms and zone."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from airwarrant.air.blower import electric_power
from airwarrant.air.heating import density_at, sensible_heat
from airwarrant.house.clean import DUCT_EXPONENT, FITTING_EXPONENT, duct_loss
from airwarrant.made_jobs import figures
from airwarrant.made_jobs.causes import Planted, draw_causes
from airwarrant.made_jobs.drawn import (
    BTUH,
    CFM,
    FAHRENHEIT,
    FOOT,
    FT2,
    IN2,
    INCH,
    INCHES,
    RETURN,
    SUPPLY,
    TON,
    Blower,
    Furnace,
    House,
    Leak,
    Piece,
    ReturnDuct,
    Weather,
    Zone,
)
from airwarrant.made_jobs.rooms import Served, draw_rooms
from airwarrant.made_jobs.stream import Stream


def draw_house(stream: Stream, chance: Stream, climate: str, market: str) -> House:
    """Draw one house.

    Parameters
    ----------
    stream : Stream
        For all that the house is.
    chance : Stream
        For what is wrong with it.
    climate, market : str
    """
    form = stream.chosen(figures.weights(f"climate/{climate}/forms"))
    planted = draw_causes(chance, climate, form)
    area, tons = _size(stream, climate)
    nominal = figures.number("blower/nominal") * tons * CFM
    altitude = stream.between(figures.pair(f"climate/{climate}/altitude"))
    load = tons * TON / stream.between(figures.pair("house/size_over_load"))
    grille, filter_piece = _filter(stream, chance, planted, nominal)
    duct = _return_duct(stream, chance, planted, tons) if "return-duct" in _pieces(form, RETURN) else None
    branches = _drop(stream, planted, "branches")
    for cause in ("closed-door", "hidden-restriction"):
        if cause in planted:
            branches = chance.between(figures.pair(f"cause/{cause}/branches")) * INCHES
    supply_space = stream.chosen(figures.weights(f"form/{form}/supply_space"))
    zone = _zone(stream, chance, form, planted)
    pieces = {
        RETURN: (filter_piece, *_row(stream, chance, planted, form, RETURN, nominal, duct)),
        SUPPLY: _row(stream, chance, planted, form, SUPPLY, nominal, None),
    }
    old, new = _blowers(stream, chance, planted, tons)
    return House(
        climate,
        market,
        form,
        planted,
        _day(stream, climate),
        tons,
        area,
        altitude * FOOT,
        float(stream.chosen(figures.weights("house/ceiling_height"))) * FOOT,
        round(stream.between(figures.pair("house/year_built"))),
        "closet" if "platform-leak" in planted else stream.chosen(figures.weights(f"form/{form}/return_space")),
        supply_space,
        pieces,
        _leaks(stream, chance, form, planted, nominal, supply_space, zone),
        draw_rooms(stream, climate, planted, Served(area, load, nominal, branches)),
        zone,
        grille,
        duct,
        old,
        new,
        _furnace(stream, form, zone, tons, altitude * FOOT),
        _weather(stream, climate),
    )


def duct_piece(duct: ReturnDuct, nominal: float) -> Piece:
    """Resistance of a return duct by its size at nominal airflow [m3/s], and by how crushed it is."""
    loss = duct_loss(
        nominal,
        duct.diameter * INCH,
        duct.length * FOOT,
        material=duct.material,
        bends=float(duct.bends),
        compression=duct.compression,
    )
    return Piece("return-duct", duct.crushed * loss / nominal**DUCT_EXPONENT, DUCT_EXPONENT)


def filter_piece(load: float, times: float, nominal: float) -> tuple[float, Piece]:
    """Gross area [m2] and resistance of filter and grille at a loading in cfm/in2; `times` is what it loses over the usual."""
    area = round(nominal / CFM / load / 10.0) * 10.0 * IN2
    exponent = figures.number("filter/exponent")
    over = nominal / CFM / (area / IN2) / figures.number("filter/load")
    drop = figures.number("filter/drop") * INCHES * over**exponent * times
    return area, Piece("filter-grille", drop / nominal**exponent, exponent)


def _size(stream: Stream, climate: str) -> tuple[float, float]:
    """Floor area [m2] and tons in half steps, which fit each other."""
    tons = float(stream.chosen(figures.weights("house/tons")))
    per_ton = stream.between(figures.pair(figures.of_climate(climate, "area_per_ton")))
    return min(round(tons * per_ton, -1), figures.number("house/area_most")) * FT2, tons


def _filter(stream: Stream, chance: Stream, planted: Planted, nominal: float) -> tuple[float, Piece]:
    times = stream.between(figures.pair("filter/apart"))
    load = stream.between(figures.pair("filter/usual_load" if planted.healthy else "filter/middling_load"))
    if "tight-filter-grille" in planted:
        load = chance.between(figures.pair("cause/tight-filter-grille/load"))
        times = chance.between(figures.pair("cause/tight-filter-grille/drop_times"))
    return filter_piece(load, times, nominal)


def _return_duct(stream: Stream, chance: Stream, planted: Planted, tons: float) -> ReturnDuct:
    stock = [int(one) for one in figures.numbers("return/stock")]
    at = stock.index(int(figures.number(f"return/diameter/{tons:g}")))
    length = stream.between(figures.pair("return/length"))
    bends = int(stream.chosen(figures.weights("return/bends")))
    material = stream.chosen(figures.weights("return/material"))
    compression = stream.between(figures.pair("return/compression"))
    crushed = 1.0
    if "undersized-return" in planted:
        at = max(at - int(chance.chosen(figures.weights("cause/undersized-return/sizes_less"))), 0)
        length = chance.between(figures.pair("cause/undersized-return/length"))
        bends, material = int(figures.number("cause/undersized-return/bends")), "flex"
        compression = chance.between(figures.pair("cause/undersized-return/compression"))
    if "kinked-return" in planted:
        crushed = chance.between(figures.pair("cause/kinked-return/times"))
    return ReturnDuct(stock[at], round(length), bends, material, compression, crushed)


def _pieces(form: str, side: str) -> tuple[str, ...]:
    return figures.names(f"form/{form}/{side}_pieces")


def _row(
    stream: Stream, chance: Stream, planted: Planted, form: str, side: str, nominal: float, duct: ReturnDuct | None
) -> tuple[Piece, ...]:
    """Pieces of a side in the order of the figures: on the return towards the unit, on the supply away from it."""
    made = []
    for name in _pieces(form, side):
        usual = _drop(stream, planted, name) if figures.has(f"drop/{name}") else 0.0
        drop = _planted_drop(chance, planted, name, side) or usual
        if name == "return-duct" and duct is not None:
            made.append(duct_piece(duct, nominal))
        else:
            made.append(Piece(name, drop / nominal**FITTING_EXPONENT, FITTING_EXPONENT))
    return tuple(made)


def _planted_drop(chance: Stream, planted: Planted, name: str, side: str) -> float:
    """Drop at nominal airflow [Pa] of a piece that a cause is on; 0 where there is none."""
    path = ""
    if name.endswith("-elbow") and "narrow-elbow" in planted:
        path = f"cause/narrow-elbow/{side}_leg"
    if name == "plenum" and "bad-plenum" in planted:
        path = "cause/bad-plenum/drop"
    return chance.between(figures.pair(path)) * INCHES if path else 0.0


def _drop(stream: Stream, planted: Planted, name: str) -> float:
    """Drop at nominal airflow [Pa] of a piece without a cause."""
    drop, times = stream.between(figures.pair(f"drop/{name}")) * INCHES, stream.between(figures.pair("drop/middling"))
    return drop if planted.healthy else drop * times


def _leaks(
    stream: Stream, chance: Stream, form: str, planted: Planted, nominal: float, supply_space: str, zone: Zone
) -> tuple[Leak, ...]:
    whole = stream.between(figures.pair("leakage/usual" if planted.healthy else "leakage/middling"))
    returned = stream.between(figures.pair("leakage/return_share"))
    if "leaky-ducts" in planted:
        whole = chance.between(figures.pair("cause/leaky-ducts/of_nominal"))
    sides = {RETURN: whole * returned * nominal, SUPPLY: whole * (1.0 - returned) * nominal}
    if "platform-leak" in planted:
        cause = "draft-fails" if "draft-fails" in planted else "platform-leak"
        sides[RETURN] = chance.between(figures.pair(f"cause/{cause}/return_of_nominal")) * nominal
    places = [(one, stream.between(one["share"])) for one in figures.blocks(f"form/{form}/leaks")]
    shares = {side: sum(share for one, share in places if one["side"] == side) for side in sides}
    sd = figures.number("leakage/at_work")
    return tuple(
        _leak(one, sides[one["side"]] * share / shares[one["side"]], 1.0 + stream.normal(sd), supply_space, zone)
        for one, share in places
    )


def _leak(one: Mapping[str, Any], at_25: float, at_work: float, supply_space: str, zone: Zone) -> Leak:
    space = supply_space if one["space"] == "supply" else str(one["space"])
    # The platform of a closet draws from the closet where it is open; a basement's return from the basement.
    if one["side"] == RETURN and zone.key == "closet":
        space = "closet"
    drawn = zone.key if one["side"] == RETURN and zone.key == space else ""
    whole = max(round(at_25 / CFM), 1) * CFM
    return Leak(str(one["id"]), str(one["side"]), str(one["at"]), space, drawn, whole, at_work)


def _zone(stream: Stream, chance: Stream, form: str, planted: Planted) -> Zone:
    kind = stream.chosen(figures.weights(f"form/{form}/combustion"))
    pull = stream.between(figures.pair("zone/pull"))
    if "platform-leak" in planted:
        cause = "draft-fails" if "draft-fails" in planted else "platform-leak"
        area = round(chance.between(figures.pair(f"cause/{cause}/make_up"))) * IN2
        if cause == "draft-fails":
            return Zone("closet", True, "water-heater", pull, area, ("water-heater",))
        return Zone("closet", False, "", pull, area, ())
    open_door = figures.number("zone/open_door") * IN2
    if kind == "furnace":
        return Zone("basement", True, "induced", pull, open_door, ("furnace",))
    if kind == "water-heater-and-furnace":
        return Zone("basement", True, "with-furnace", pull, open_door, ("water-heater", "furnace"))
    if kind == "water-heater":
        return Zone("utility", True, "water-heater", pull, open_door, ("water-heater",))
    return Zone("indoors", False, "", 0.0, 0.0, ("range",) if kind == "range" else ())


def _blowers(stream: Stream, chance: Stream, planted: Planted, tons: float) -> tuple[Blower, tuple[Blower, ...]]:
    kind = stream.chosen(figures.weights("blower/kinds"))
    per_ton = stream.between(figures.pair(f"blower/old_per_ton{'_healthy' if planted.healthy else ''}"))
    if "hidden-restriction" in planted:
        kind = "constant-airflow"
    if "slow-blower" in planted:
        kind = "fixed-speed"
        per_ton = chance.between(figures.pair("cause/slow-blower/per_ton"))
    old = _blower(stream, "low" if "slow-blower" in planted else "high", kind, per_ton, tons)
    holds = kind == "constant-airflow"
    new = tuple(
        _blower(
            stream,
            name,
            kind if holds else "fixed-speed",
            stream.between(figures.pair(f"blower/new_{name}_per_ton")),
            tons,
        )
        for name in ("medium", "high")
    )
    return old, new


def _blower(stream: Stream, setting: str, kind: str, per_ton: float, tons: float) -> Blower:
    holds = kind == "constant-airflow"
    shape = figures.numbers("blower/holding" if holds else "blower/falling")
    statics = figures.numbers("blower/statics")
    table = tuple(
        (static, 5 * round(per_ton * tons * share / 5.0)) for static, share in zip(statics, shape, strict=True)
    )
    efficiency = stream.between(figures.pair("blower/efficiency"))
    power = (
        tuple(round(electric_power(flow * CFM, static * INCHES, efficiency)) for static, flow in table) if holds else ()
    )
    return Blower(setting, kind, table, power, 1.0 + stream.normal(figures.number("blower/from_table")), efficiency)


def _furnace(stream: Stream, form: str, zone: Zone, tons: float, altitude: float) -> Furnace | None:
    """A furnace whose rise lies in the middle of its label at a usual airflow; none where the new unit heats without a flame."""
    rise, label = stream.between(figures.pair("heating/rise")), figures.number("heating/label")
    if form != "furnace-coil" and not (form.startswith("package") and zone.appliances):
        return None
    flow = figures.number("heating/per_ton") * tons * CFM
    output = round(sensible_heat(flow, rise * FAHRENHEIT, density_at(altitude)) / BTUH, -3) * BTUH
    low, high = (5.0 * round(end / 5.0) * FAHRENHEIT for end in (rise - label, rise + label))
    return Furnace(output, low, high)


def _weather(stream: Stream, climate: str) -> Weather:
    path = f"climate/{climate}"
    outdoor = stream.between(figures.pair(f"{path}/outdoor_temp"))
    return Weather(
        outdoor,
        outdoor + stream.between(figures.pair(f"{path}/attic_over_outdoor")),
        stream.between(figures.pair(f"{path}/crawl_temp")),
        stream.between(figures.pair(f"{path}/grille_temp")),
        stream.between(figures.pair(f"{path}/wet_bulb_under")),
    )


def _day(stream: Stream, climate: str) -> date:
    first, last = (int(month) for month in figures.numbers(f"climate/{climate}/months"))
    year = int(figures.number("house/year"))
    start, end = date(year, first, 1), date(year, last, 28)
    return start + timedelta(days=round(stream.between((0.0, float((end - start).days)))))

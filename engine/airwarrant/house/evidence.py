"""What the record says of the blower's flow and of the leaks, as equations for `flows`."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot, sqrt

import numpy as np

from airwarrant.air.blower import efficiency
from airwarrant.air.blower_curve import BlowerCurve
from airwarrant.air.leakage import LEAK_EXPONENT, TEST_PRESSURE, leakage_at, mean_leakage
from airwarrant.house.assumptions import Assumptions, si
from airwarrant.house.flows import Row, temperature_share
from airwarrant.house.inputs import Floats, Inputs, Sets
from airwarrant.house.leaks import Leak, Placed
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.job.lookup import found_visits, reading
from airwarrant.job.readings import Reading
from airwarrant.job.record import JobRecord
from airwarrant.units import UNITS

_INCHES, _CFM = UNITS["in. w.c."].factor, UNITS["cfm"].factor
_TABLE = "house.blower_table"
#: Temperatures of room and source nearer than this tell nothing of a leak [K].
_APART = 6.0
#: Spaces whose air the record's `attic_temp` is.
_READ_SPACES = frozenset(("attic", "crawl"))
_LEAST_SHARE = 0.05
#: One standard deviation of a side's share where only both sides together were tested, of half of it: evenly 0 to 1.
_HALVED = 2.0 / sqrt(12.0)


@dataclass(frozen=True, slots=True)
class Evidence:
    """Readings of flow and leakage, each None where there is none; `static` [Pa] is the sum of both sides' as read."""

    record: JobRecord
    assumptions: Assumptions
    curve: BlowerCurve | None
    static: float
    direct: Reading | None
    registers: Reading | None
    grilles: Reading | None
    temperatures: Mapping[str, Reading]
    power: Reading | None

    @classmethod
    def of(cls, record: JobRecord, assumptions: Assumptions) -> "Evidence":
        found = {
            name: reading(record, HOUSE_KEY, name, "found")
            for name in ("airflow", "register_flow", "grille_flow", "power", "grille_temp", "unit_temp", "attic_temp")
        }
        sides = [reading(record, HOUSE_KEY, name, "found") for name in ("return_static", "supply_static")]
        static = sum(abs(si(one)) for one in sides if one is not None)
        airflow, curve = found["airflow"], _old_curve(record, static)
        # What the estimator read from the table is read from it again, at the static as measured.
        moves = airflow is not None and airflow.value > 0.0
        direct = airflow if airflow is not None and moves and (airflow.state != "table" or curve is None) else None
        names = ("grille_temp", "unit_temp", "attic_temp")
        temperatures = {name: r for name in names if (r := found[name]) is not None}
        apart = (
            len(temperatures) == 3
            and _draws_from_read_space(record)
            and abs(si(temperatures["attic_temp"]) - si(temperatures["grille_temp"])) > _APART
        )
        power = found["power"]
        return cls(
            record,
            assumptions,
            curve,
            static,
            direct,
            found["register_flow"],
            found["grille_flow"],
            temperatures if apart else {},
            power if power is not None and power.value > 0.0 else None,
        )

    @property
    def has_flow(self) -> bool:
        return self.curve is not None or self.direct is not None

    @property
    def nominal(self) -> float:
        """Blower flow at the readings as they stand [m3/s]."""
        if self.curve is not None:
            return self.curve.flow_and_slope(self.static)[0]
        return si(self.direct) if self.direct else 0.0

    def table_flow(self, static: Floats) -> Floats:
        """Flow of the old blower's table [m3/s] at some statics [Pa]; no error of a reading takes it to nothing."""
        if self.curve is None:
            return np.full(static.shape, self.nominal)
        return np.asarray(np.maximum(self.curve.flows_and_slopes(static)[0], _LEAST_SHARE * self.nominal))

    def gather(self, inputs: Inputs, leaks: Mapping[str, Sequence[Leak]]) -> None:
        """Tell what is uncertain."""
        if self.curve is not None:
            inputs.add(_TABLE, 1.0, self._table_doubt())
        for name, one in (("airflow", self.direct), ("register_flow", self.registers), ("grille_flow", self.grilles)):
            if one is not None:
                inputs.add(f"house.{name}", si(one), self.assumptions.doubt(one, name) / 2.0)
        for name, one in self.temperatures.items():
            inputs.add(f"house.{name}", si(one), self.assumptions.doubt(one, name) / 2.0)
        for side in leaks:
            inputs.add(f"{side}-leak.place", 0.0, 1.0)
        if self.power is not None:
            inputs.add("house.power", si(self.power), self.assumptions.doubt(self.power, "power") / 2.0)

    def _table_doubt(self) -> float:
        """One standard deviation of a flow from the maker's table, as a share."""
        known = self.record.items[HOUSE_KEY].words.get("table_includes") == "stated" and _setting_of(self.record) != ""
        known = known and not self._far_beyond
        return self.assumptions["predict_table_doubt" if known else "predict_table_doubt_unknown"] / 2.0

    @property
    def _far_beyond(self) -> bool:
        return self.curve is not None and self.curve.beyond(self.static) > 1.0

    def rows(
        self,
        sets: Sets,
        statics: tuple[Floats, Floats],
        outer: tuple[Floats, Floats],
        placed: Mapping[str, Sequence[Placed]],
    ) -> list[Row]:
        """Every reading as an equation of blower flow, return leak and supply leak.

        `statics` stand at the unit, `outer` at the port nearest the rooms, both sides' without sign [Pa].
        """
        flow, rows = self.nominal, []
        if self.curve is not None:
            slope = self.curve.flow_and_slope(self.static)[1]
            ports = hypot(*(sets.inputs.known[f"house.{n}"].sd for n in ("return_static", "supply_static")))
            sd = hypot(self._table_doubt() * flow, slope * ports)
            value = self.table_flow(statics[0] + statics[1])
            rows.append(Row(_TABLE, (1.0, 0.0, 0.0), value * sets.positive(_TABLE), sd))
        for name, one, weights in (
            ("house.airflow", self.direct, (1.0, 0.0, 0.0)),
            ("house.register_flow", self.registers, (1.0, 0.0, -1.0)),
            ("house.grille_flow", self.grilles, (1.0, -1.0, 0.0)),
        ):
            if one is not None:
                rows.append(Row(name, weights, sets.positive(name), max(sets.inputs.known[name].sd, 1e-6)))
        if self.temperatures:
            rows.append(self._warming(sets, flow))
        for side, index in (("return", 1), ("supply", 2)):
            ends = (outer[index - 1], statics[index - 1])
            rows.append(self._leakage(side, index, sets, ends, placed[side], flow))
        return rows

    def _warming(self, sets: Sets, flow: float) -> Row:
        """Leak from the warming of the air between grille and unit: ``leak - share · flow = 0``."""
        grille, unit, source = (sets[f"house.{n}"] for n in ("grille_temp", "unit_temp", "attic_temp"))
        share = temperature_share(grille, unit, source)
        apart = abs(float(source[0] - grille[0]))
        sd = hypot(*(sets.inputs.known[f"house.{n}"].sd for n in ("grille_temp", "unit_temp"))) / apart
        return Row("house.unit_temp", (-share, 1.0, 0.0), np.zeros(sets.count), max(sd, 0.005) * flow)

    def _leakage(
        self,
        side: str,
        index: int,
        sets: Sets,
        ends: tuple[Floats, Floats],
        placed: Sequence[Placed],
        flow: float,
    ) -> Row:
        """Leak of a side from its leakage test and its place; without a place, spread evenly from the first port to the unit."""
        weights = tuple(1.0 if i == index else 0.0 for i in range(3))
        place, (outer, static) = sets[f"{side}-leak.place"], ends
        if not all(one.leak.at_25 is not None for one in placed):
            usual = self.assumptions["predict_unread_leak"] * flow
            value = np.maximum(usual * (1.0 + place), 0.0)
            return Row(f"assumed.{side}_leak", weights, value, usual, assumed=True)  # type: ignore[arg-type]
        value = np.zeros(sets.count)
        if all(one.read for one in placed):
            for one in placed:
                value = value + leakage_at(one.leak.tested(sets), TEST_PRESSURE, one.place, LEAK_EXPONENT)
            spread = self.assumptions["predict_leak_doubt"] / 2.0
        else:
            for one in placed:
                value = value + mean_leakage(one.leak.tested(sets), TEST_PRESSURE, outer, static, LEAK_EXPONENT)
            unit = np.ones(sets.count)
            low, high, mean = (
                float(part[0])
                for part in (
                    leakage_at(unit, TEST_PRESSURE, outer, LEAK_EXPONENT),
                    leakage_at(unit, TEST_PRESSURE, static, LEAK_EXPONENT),
                    mean_leakage(unit, TEST_PRESSURE, outer, static, LEAK_EXPONENT),
                )
            )
            # An even spread has a standard deviation of its width over the root of twelve.
            spread = hypot((high - low) / sqrt(12.0) / mean, self.assumptions["predict_leak_doubt"] / 2.0)
        centre = max(float(value[0]), 1e-6)
        own = [
            sets.inputs.known[one.leak.name].sd / max(sets.inputs.known[one.leak.name].value, 1e-9) for one in placed
        ]
        if any(one.leak.halved for one in placed):
            spread = hypot(spread, _HALVED)
        sd = hypot(spread, max(own)) * centre
        return Row(f"house.leakage_{side}_25", weights, np.maximum(value * (1.0 + spread * place), 0.05 * centre), sd)  # type: ignore[arg-type]

    def assumed(self, placed: Mapping[str, Sequence[Placed]]) -> tuple[str, ...]:
        """What had to be assumed, in words."""
        said = []
        for side, several in placed.items():
            if not all(one.leak.at_25 is not None for one in several):
                said.append(f"no leakage was read on the {side} side: {side} leak assumed")
            elif any(one.leak.halved for one in several):
                said.append("only the leakage of both sides together was read: half of it is taken on each")
            elif not all(one.read for one in several):
                said.append(
                    f"where the {side} side leaks was not recorded: its place follows from leakage test and flows"
                )
        if self.curve is None:
            said.append("the old blower's table or fan setting is missing: airflow as read")
        elif self._far_beyond:
            said.append("the static pressure lies far outside the old blower's table: its airflow there is a guess")
        return tuple(dict.fromkeys(said))

    def efficiency(self, sets: Sets, flow: Floats, static: Floats) -> Floats | None:
        """Air power over electric power of the old blower."""
        if self.power is None:
            return None
        return efficiency(flow, static, sets.positive("house.power"))


def _setting_of(record: JobRecord) -> str:
    """Fan setting at which the statics were read; empty if nobody wrote it."""
    visits = [v for v in found_visits(record) if v.kind != "unit-off"]
    return next((v.fan_setting for v in visits if (HOUSE_KEY, "return_static") in v.readings), "")


def _old_curve(record: JobRecord, static: float) -> BlowerCurve | None:
    """Table of the old blower at the setting of the readings, or the only one there is; None where it gives no flow."""
    settings, setting = record.old_blower.settings if record.old_blower else (), _setting_of(record)
    for one in settings:
        if one.name == setting or (setting == "" and len(settings) == 1):
            curve = BlowerCurve.of_rows([(at * _INCHES, flow * _CFM) for at, flow in one.table])
            return curve if curve.flow_and_slope(static)[0] > 0.0 else None
    return None


def _draws_from_read_space(record: JobRecord) -> bool:
    """Whether the return leaks draw from a space whose air was read: attic or crawl."""
    spaces = {
        item.words["space"]
        for item in record.items.values()
        if item.kind == "leak" and item.words.get("side") == "return" and "space" in item.words
    }
    return not _READ_SPACES.isdisjoint(spaces or {record.items[HOUSE_KEY].words.get("return_path_space", "attic")})

"""What the record says of the blower's flow and of the leaks, as equations for `flows`."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot, sqrt

import numpy as np

from airwarrant.air.blower_curve import BlowerCurve
from airwarrant.house.assumptions import Assumptions, si
from airwarrant.house.flows import LEAK_EXPONENT, TEST_PRESSURE, Row, leak_of_test, temperature_share
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


@dataclass(frozen=True, slots=True)
class Evidence:
    """Readings of flow and leakage, each None where there is none."""

    record: JobRecord
    assumptions: Assumptions
    curve: BlowerCurve | None
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
        airflow, curve = found["airflow"], _old_curve(record)
        # What the estimator read from the table is read from it again, at the static as measured.
        direct = airflow if airflow is not None and (airflow.state != "table" or curve is None) else None
        names = ("grille_temp", "unit_temp", "attic_temp")
        temperatures = {name: r for name in names if (r := found[name]) is not None}
        apart = (
            len(temperatures) == 3 and abs(si(temperatures["attic_temp"]) - si(temperatures["grille_temp"])) > _APART
        )
        return cls(
            record,
            assumptions,
            curve,
            direct,
            found["register_flow"],
            found["grille_flow"],
            temperatures if apart else {},
            found["power"],
        )

    @property
    def has_flow(self) -> bool:
        return self.curve is not None or self.direct is not None

    @property
    def nominal(self) -> float:
        """Blower flow at the readings as they stand [m3/s]."""
        if self.curve is not None:
            back = reading(self.record, HOUSE_KEY, "return_static", "found")
            ahead = reading(self.record, HOUSE_KEY, "supply_static", "found")
            return self.curve.flow_and_slope(abs(si(back)) + abs(si(ahead)))[0] if back and ahead else 0.0
        return si(self.direct) if self.direct else 0.0

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
        known = self.record.items[HOUSE_KEY].words.get("table_includes") == "stated"
        return self.assumptions["predict_table_doubt" if known else "predict_table_doubt_unknown"] / 2.0

    def rows(self, sets: Sets, statics: tuple[Floats, Floats], placed: Mapping[str, Sequence[Placed]]) -> list[Row]:
        """Every reading as an equation of blower flow, return leak and supply leak."""
        flow, rows = self.nominal, []
        if self.curve is not None:
            static = statics[0] + statics[1]
            value, slope = self.curve.flows_and_slopes(static)
            ports = hypot(*(sets.inputs.known[f"house.{n}"].sd for n in ("return_static", "supply_static")))
            sd = hypot(self._table_doubt() * flow, float(slope[0]) * ports)
            rows.append(Row(_TABLE, (1.0, 0.0, 0.0), value * sets[_TABLE], sd))
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
            rows.append(self._leakage(side, index, sets, statics[index - 1], placed[side], flow))
        return rows

    def _warming(self, sets: Sets, flow: float) -> Row:
        """Leak from the warming of the air between grille and unit: ``leak - share · flow = 0``."""
        grille, unit, source = (sets[f"house.{n}"] for n in ("grille_temp", "unit_temp", "attic_temp"))
        share = temperature_share(grille, unit, source)
        apart = abs(float(source[0] - grille[0]))
        sd = hypot(*(sets.inputs.known[f"house.{n}"].sd for n in ("grille_temp", "unit_temp"))) / apart
        return Row("house.unit_temp", (-share, 1.0, 0.0), np.zeros(sets.count), max(sd, 0.005) * flow)

    def _leakage(self, side: str, index: int, sets: Sets, static: Floats, placed: Sequence[Placed], flow: float) -> Row:
        """Leak of a side from its leakage test and its place; without a place, spread evenly from the first port to the unit."""
        weights = tuple(1.0 if i == index else 0.0 for i in range(3))
        place = sets[f"{side}-leak.place"]
        if not all(one.leak.at_25 is not None for one in placed):
            usual = self.assumptions["predict_unread_leak"] * flow
            return Row(f"assumed.{side}_leak", weights, np.maximum(usual * (1.0 + place), 0.0), usual)  # type: ignore[arg-type]
        value = np.zeros(sets.count)
        if all(one.read for one in placed):
            for one in placed:
                value = value + leak_of_test(sets.positive(one.leak.name), one.place)
            spread = self.assumptions["predict_leak_doubt"] / 2.0
        else:
            outer = 0.25 * static
            mean = (static**1.6 - outer**1.6) / (1.6 * (static - outer)) / TEST_PRESSURE**LEAK_EXPONENT
            for one in placed:
                value = value + sets.positive(one.leak.name) * mean
            ends = [(float(p[0]) / TEST_PRESSURE) ** LEAK_EXPONENT for p in (outer, static)]
            spread = hypot(
                (ends[1] - ends[0]) / sqrt(12.0) / float(mean[0]), self.assumptions["predict_leak_doubt"] / 2.0
            )
        centre = max(float(value[0]), 1e-6)
        own = [
            sets.inputs.known[one.leak.name].sd / max(sets.inputs.known[one.leak.name].value, 1e-9) for one in placed
        ]
        sd = hypot(spread, max(own)) * centre
        return Row(f"house.leakage_{side}_25", weights, np.maximum(value * (1.0 + spread * place), 0.05 * centre), sd)  # type: ignore[arg-type]

    def assumed(self, placed: Mapping[str, Sequence[Placed]]) -> tuple[str, ...]:
        """What had to be assumed, in words."""
        said = []
        for side, several in placed.items():
            if not all(one.leak.at_25 is not None for one in several):
                said.append(f"no leakage was read on the {side} side: {side} leak assumed")
            elif not all(one.read for one in several):
                said.append(
                    f"where the {side} side leaks was not recorded: its place follows from leakage test and flows"
                )
        if self.curve is None:
            said.append("the old blower's table or fan setting is missing: airflow as read")
        return tuple(said)

    def efficiency(self, sets: Sets, flow: Floats, static: Floats) -> Floats | None:
        """Air power over electric power of the old blower."""
        if self.power is None:
            return None
        return np.asarray(flow * static / sets.positive("house.power"))


def _old_curve(record: JobRecord) -> BlowerCurve | None:
    visits = [v for v in found_visits(record) if v.kind != "unit-off"]
    setting = next((v.fan_setting for v in visits if ("house", "return_static") in v.readings), "")
    for one in record.old_blower.settings if record.old_blower else ():
        if one.name == setting:
            return BlowerCurve.of_rows([(static * _INCHES, flow * _CFM) for static, flow in one.table])
    return None

"""The seam to the house's air network: record and assumptions in, then lines and fan setting in, predicted readings with ± out.

One network a house, calibrated on its readings, changed by each line of work and solved again with the new blower's table. Decisions
rest on the point and on linear propagation (JCGM 100:2008); where a constant-airflow blower makes that fail, on the draws. Draws also
give every printed range.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Protocol

import numpy as np

from airwarrant.air.blower_curve import BlowerCurve
from airwarrant.house.air_side import AirSide, Derived
from airwarrant.house.assumptions import Assumptions
from airwarrant.house.calibrate import Calibrated, House, curve_of
from airwarrant.house.calibration import Calibration, told
from airwarrant.house.changes import Altered, alter, gather_assumptions
from airwarrant.house.heat import heat_readings
from airwarrant.house.inputs import Floats, Sets, drawn_sets, linear_sets
from airwarrant.house.outputs import Values, air_side, readings
from airwarrant.house.path import AirPath, path_of
from airwarrant.house.room_comfort import RoomHeat, offset_after, room_heat
from airwarrant.house.season import season_readings
from airwarrant.house.solved import Layouts, Solved, solve_drawn, solve_linear
from airwarrant.house.work import Work
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.job.readings import Reading
from airwarrant.job.record import JobRecord, Setting
from airwarrant.units import UNITS

METHOD = "the house's air network, calibrated on its readings"
REGISTERS, STATIC = (HOUSE_KEY, "register_flow"), (HOUSE_KEY, "external_static")
_NEW_TABLE = "new-blower-table"
_FLAT = 0.01
_FROM_DRAWS = "a constant-airflow blower: ± from the draws, not from slopes"
_BEYOND = "the answer stands outside the blower table"


@dataclass(frozen=True, slots=True, eq=False)
class Prediction:
    """Readings to expect after some work, at one fan setting; equal to itself only.

    Attributes
    ----------
    setting : str
        Empty for the house as found.
    readings : mapping of (key, field) to Reading
        State ``predicted``, or ``doubtful`` where the prediction is not valid; ± of coverage 2.
    valid : bool
        False where the answer stands further outside the blower table than one of its rows.
    columns : mapping of (key, field) to ndarray
        SI values in the sets that the ± rests on: two predictions' columns belong together set by set.
    inputs : tuple of str
        What is uncertain, in the order of `moves`.
    drawn : bool
        Whether the sets are draws, for want of slopes; `deviations` (inputs, sets) then says what each set draws.
    air : AirSide or None
        The air of the house over the sets, for what is worked out only to be shown.
    assumed, notes : tuple of str
    """

    setting: str
    readings: Mapping[tuple[str, str], Reading]
    method: str = METHOD
    valid: bool = True
    notes: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    inputs: tuple[str, ...] = ()
    columns: Mapping[tuple[str, str], Floats] = field(default_factory=dict)
    drawn: bool = False
    deviations: Floats | None = None
    air: AirSide | None = None

    def moves(self, key: tuple[str, str]) -> Floats | None:
        """How far one standard deviation of each input moves a reading, SI (inputs,); in draws its regression on each input."""
        column = self.columns.get(key)
        if column is None:
            return None
        if self.drawn and self.deviations is not None:
            apart = column[1:] - np.mean(column[1:])
            return np.asarray(np.einsum("ij,j->i", self.deviations[:, 1:], apart) / len(apart))
        return np.asarray(_moves(column[None, :])[0])

    def ranking(self, key: tuple[str, str], most: int = 5) -> tuple[tuple[str, float], ...]:
        """Inputs that a reading's ± comes from, the largest share of its variance first."""
        moves = self.moves(key)
        if moves is None or not float(moves @ moves):
            return ()
        shares = moves**2 / float(moves @ moves)
        order = sorted(range(len(shares)), key=lambda i: (-shares[i], self.inputs[i]))
        return tuple((self.inputs[i], float(shares[i])) for i in order[:most] if shares[i] >= 0.01)


@dataclass(frozen=True, slots=True)
class Difference:
    """A reading of one prediction less the same reading of another, set by set: what they share cancels.

    `value` and `sd` (one standard deviation) in SI.
    """

    value: float
    sd: float


@dataclass(frozen=True, slots=True)
class Range:
    """Where a printed share of the draws lies, SI."""

    low: float
    high: float


class HouseAir(Protocol):
    """A house made ready for prediction; what evaluate holds on to for one job."""

    calibration: Calibration

    def predict(self, work: Collection[Work], setting: str) -> Prediction | None: ...

    def ranges(self, work: Collection[Work], setting: str) -> Mapping[tuple[str, str], Range]: ...

    def gain_ranges(
        self, work: Collection[Work], base: Collection[Work], setting: str, keys: Sequence[tuple[str, str]]
    ) -> Mapping[tuple[str, str], Range]: ...

    def as_found(self) -> Prediction: ...

    def found(self) -> Mapping[tuple[str, str], Reading]: ...

    def readings_of_pieces(self) -> Mapping[str, tuple[str, str]]: ...

    def complete(self, prediction: Prediction) -> Prediction: ...

    def path(self, work: Collection[Work], setting: str) -> AirPath | None: ...


class Predictor(Protocol):
    """The seam: None where statics or every reading of airflow are missing."""

    def __call__(
        self, record: JobRecord, assumptions: Assumptions, targets: Mapping[str, float]
    ) -> HouseAir | None: ...


def difference(after: Prediction, before: Prediction, key: tuple[str, str]) -> Difference:
    """Difference of a reading between two predictions of one house, with the uncertainty of the difference."""
    a, b = after.columns[key], before.columns[key]
    gap = a - b
    return Difference(float(gap[0]), _sd(gap, after.drawn or before.drawn))


def _sd(values: Floats, drawn: bool) -> float:
    """One standard deviation of a reading over its sets."""
    return float(_spread(values[None, :], drawn)[0])


def _spread(values: Floats, drawn: bool) -> Floats:
    """One standard deviation of each reading, (readings, sets) -> (readings,)."""
    return np.asarray(np.std(values[:, 1:], axis=1) if drawn else np.sqrt(np.sum(_moves(values) ** 2, axis=1)))


def _moves(values: Floats) -> Floats:
    """Half of what one standard deviation up and one down make of each reading, (readings, 1 + 2 inputs) -> (readings, inputs)."""
    half = (values.shape[1] - 1) // 2
    return np.asarray((values[:, 1 : 1 + half] - values[:, 1 + half :]) / 2.0)


def _told(values: Values, valid: bool, drawn: bool) -> dict[tuple[str, str], Reading]:
    """Readings of the point with their ±."""
    if not values:
        return {}
    spreads = _spread(np.stack([column for column, _ in values.values()]), drawn)
    state, out = "predicted" if valid else "doubtful", {}
    for ((key, name), (column, shown)), sd in zip(values.items(), spreads.tolist(), strict=True):
        unit = UNITS[shown]
        value = (float(column[0]) - unit.offset) / unit.factor
        path = f"predicted.{key}.{name}"
        out[key, name] = Reading(value, shown, state, 2.0 * sd / unit.factor, path, None, None, "", {})
    return out


def prepare(record: JobRecord, assumptions: Assumptions, targets: Mapping[str, float]) -> "Network | None":
    """Make a house ready.

    Parameters
    ----------
    record : JobRecord
    assumptions : Assumptions
        Policy parameters ``predict_…``, ``season_…``, ``load_…``.
    targets : mapping of room to float
        Design airflow [m3/s], for the dampers; may be empty.

    Returns
    -------
    Network or None
        None where return static, supply static or every reading of the blower's airflow is missing.

    Raises
    ------
    NotConverged
        With the network attached; never a number in its place.
    """
    house = House.of(record, assumptions)
    return None if house is None else Network(house, targets)


@dataclass(frozen=True, slots=True)
class _Made:
    """One changed network, solved and read over sets."""

    values: Values
    air: AirSide
    solved: Solved
    heat: Derived
    notes: tuple[str, ...]


class Network:
    """The house's air network; see `HouseAir`. It remembers what it has calibrated and drawn, and nothing else."""

    def __init__(self, house: House, targets: Mapping[str, float]) -> None:
        self._house = house
        self._targets = targets
        inputs, assumptions = house.inputs, house.assumptions
        gather_assumptions(inputs, assumptions)
        inputs.add(_NEW_TABLE, 1.0, assumptions["predict_new_table_doubt"] / 2.0)
        inputs.add("new-efficiency", 1.0, assumptions["predict_efficiency_doubt"] / 2.0)
        self._room_heat: dict[str, RoomHeat] | None = None
        self._layouts: Layouts = {}
        blower = house.record.new_blower
        self._curves = {one.name: curve_of(one.table) for one in (blower.settings if blower else ())}
        self._after: dict[tuple[frozenset[Work], bool], Altered] = {}
        self._linear = linear_sets(inputs)
        self._base = house.calibrate(self._linear)
        self._drawn: tuple[Sets, Calibrated] | None = None
        self._draws_of: dict[tuple[frozenset[Work], str], Values] = {}
        #: draws that a prediction rests on
        self._decided: dict[tuple[frozenset[Work], str], _Made] = {}
        self._found = self._as_found()
        self.calibration = told(house, self._base, self._found)

    def predict(self, work: Collection[Work], setting: str) -> Prediction | None:
        """Predict the readings of the new unit at `setting` after `work`; None if it has no such setting."""
        one = self._setting(setting)
        if one is None:
            return None
        flat = self._flat(self._curves[setting])
        made = self._make(work, one, drawn=flat)
        if flat:
            self._decided[frozenset(work), setting] = made
        assumed = (*self._base.assumed, *made.heat.assumed)
        notes = (*made.heat.notes, *made.notes)
        return self._prediction(setting, made.values, made.solved, flat, notes, assumed, made.air)

    def _make(self, work: Collection[Work], setting: Setting, *, drawn: bool) -> "_Made":
        """Change the network, solve it with the setting's table, and read it: along the tangent, or in every draw."""
        altered = self._altered(work, drawn=drawn)
        solve = solve_drawn if drawn else solve_linear
        solved = solve(altered, self._curves[setting.name], altered.sets.positive(_NEW_TABLE), self._layouts)
        air = air_side(altered, solved, setting)
        heat = heat_readings(self._house.record, self._house.assumptions, air)
        values = {**readings(altered, solved, air), **heat.values}
        return _Made(values, air, solved, heat, tuple(altered.notes))

    def _altered(self, work: Collection[Work], *, drawn: bool) -> Altered:
        """The network after some work, made once for all fan settings."""
        asked = (frozenset(work), drawn)
        if asked not in self._after:
            sets, base = self._draws() if drawn else (self._linear, self._base)
            self._after[asked] = alter(self._house, base, sets, work, self._targets)
        return self._after[asked]

    def ranges(self, work: Collection[Work], setting: str) -> Mapping[tuple[str, str], Range]:
        """Ranges of every reading from the draws."""
        return self._ranges({key: values for key, (values, _) in self._drawn_values(work, setting).items()})

    def gain_ranges(
        self, work: Collection[Work], base: Collection[Work], setting: str, keys: Sequence[tuple[str, str]]
    ) -> Mapping[tuple[str, str], Range]:
        """Ranges of the change from `base` to `work`, draw by draw: what both share cancels."""
        after, before = self._drawn_values(work, setting), self._drawn_values(base, setting)
        return self._ranges({key: after[key][0] - before[key][0] for key in keys if key in after and key in before})

    def as_found(self) -> Prediction:
        """The house as found by its own network: what the readings come to together."""
        return self._found

    def found(self) -> Mapping[tuple[str, str], Reading]:
        """Readings that the network adds to those of the record: a duct's drop over a clean one, the worst disagreement."""
        return self.calibration.readings

    def readings_of_pieces(self) -> Mapping[str, tuple[str, str]]:
        """Key and field of the reading of each piece of the path, whether somebody took it or not; by ``side.piece``."""
        found = {}
        for side in (self._house.back, self._house.ahead):
            for piece in side.pieces:
                key, _, name = piece.name.partition(".")
                found[f"{side.name}.{piece.id}"] = (key, name)
        return found

    def complete(self, prediction: Prediction) -> Prediction:
        """The prediction with what nothing decides by: what reaches the rooms, what a season costs, how warm each room will be."""
        if prediction.air is None:
            return prediction
        season = season_readings(self._house.record, self._house.assumptions, prediction.air)
        values = {**season.values, **self._offsets(prediction)}
        return replace(
            prediction,
            readings={**prediction.readings, **_told(values, prediction.valid, prediction.drawn)},
            columns={**prediction.columns, **{key: column for key, (column, _) in values.items()}},
            notes=tuple(dict.fromkeys((*prediction.notes, *season.notes))),
            assumed=tuple(dict.fromkeys((*prediction.assumed, *season.assumed))),
        )

    def path(self, work: Collection[Work], setting: str) -> AirPath | None:
        """The air path after `work`, at the point; with no setting the house as found; None if there is no such setting."""
        if not setting:
            return path_of(*self._solve_found(), "")
        one = self._setting(setting)
        if one is None:
            return None
        altered = self._altered(work, drawn=False)
        scale = self._linear.positive(_NEW_TABLE)
        return path_of(altered, solve_linear(altered, self._curves[setting], scale, self._layouts), setting)

    def _offsets(self, prediction: Prediction) -> Values:
        """How far each room will stand above the thermostat, from and to."""
        base = self._draws()[1] if prediction.drawn else self._base
        ratio = np.maximum(prediction.columns[REGISTERS] / (base.flows.flow - base.flows.supply_leak), 1e-6)
        values: Values = {}
        for room, heat in self._heats().items():
            flow = prediction.columns.get((room, "flow"))
            if flow is not None:
                low, high = offset_after(heat, np.maximum(flow, 1e-6), system_ratio=ratio)
                values[room, "offset_low"], values[room, "offset_high"] = (low, "F diff"), (high, "F diff")
        return values

    def _heats(self) -> dict[str, RoomHeat]:
        """What each room's heat is known from; made when rooms are first told."""
        if self._room_heat is None:
            record, assumptions = self._house.record, self._house.assumptions
            heats = {key: room_heat(record, key, assumptions) for key in self._house.rooms}
            self._room_heat = {key: heat for key, heat in heats.items() if heat is not None}
        return self._room_heat

    # ------------------------------------------------------------------------------------------------------------ within

    def _setting(self, name: str) -> Setting | None:
        blower = self._house.record.new_blower
        return next((one for one in blower.settings if one.name == name), None) if blower else None

    def _flat(self, curve: BlowerCurve) -> bool:
        """Whether a blower holds its flow over some of its table: there slopes say nothing of where it lets go."""
        blower = self._house.record.new_blower
        if blower is not None and blower.kind == "constant-airflow":
            return True
        flows = curve.flows
        return any(before - after <= _FLAT * before for before, after in pairwise(flows))

    def _draws(self) -> tuple[Sets, Calibrated]:
        if self._drawn is None:
            count = round(self._house.assumptions["predict_draws"])
            sets = drawn_sets(self._house.inputs, self._house.record.digest, count)
            self._drawn = (sets, self._house.calibrate(sets))
        return self._drawn

    def _drawn_values(self, work: Collection[Work], setting: str) -> Values:
        asked = (frozenset(work), setting)
        one = self._setting(setting)
        if asked not in self._draws_of and one is not None:
            made = self._decided.get(asked) or self._make(work, one, drawn=True)
            season = season_readings(self._house.record, self._house.assumptions, made.air)
            self._draws_of[asked] = {**made.values, **season.values}
        return self._draws_of.get(asked, {})

    def _ranges(self, values: Mapping[tuple[str, str], Floats]) -> dict[tuple[str, str], Range]:
        if not values:
            return {}
        tail = 50.0 * (1.0 - self._house.assumptions["predict_range"])
        # Set 0 is the point, not a draw.
        low, high = np.percentile(np.stack(list(values.values()))[:, 1:], (tail, 100.0 - tail), axis=1)
        return {key: Range(*pair) for key, *pair in zip(values, low.tolist(), high.tolist(), strict=True)}

    def _as_found(self) -> Prediction:
        altered, solved = self._solve_found()
        air = air_side(altered, solved, None)
        return self._prediction("", readings(altered, solved, air), solved, False, (), self._base.assumed, air)

    def _solve_found(self) -> tuple[Altered, Solved]:
        """The house as found, solved with the old blower's curve through its own flow."""
        house, base, sets = self._house, self._base, self._linear
        altered = alter(house, base, sets, (), {})
        curve = house.evidence.curve or BlowerCurve.held(house.evidence.nominal)
        static = base.statics[0] + base.statics[1]
        scale = base.flows.flow / house.evidence.table_flow(static)
        return altered, solve_linear(altered, curve.scaled(float(scale[0])), scale / scale[0], self._layouts)

    def _prediction(
        self,
        setting: str,
        values: Values,
        solved: Solved,
        drawn: bool,
        notes: tuple[str, ...],
        assumed: tuple[str, ...],
        air: AirSide,
    ) -> Prediction:
        beyond = () if solved.point.valid and not solved.point.notes else (_BEYOND,)
        plateau = (_FROM_DRAWS,) if drawn else ()
        return Prediction(
            setting,
            _told(values, solved.point.valid, drawn),
            METHOD,
            solved.point.valid,
            tuple(dict.fromkeys((*beyond, *plateau, *notes))),
            tuple(dict.fromkeys(assumed)),
            self._linear.names,
            {key: column for key, (column, _) in values.items()},
            drawn,
            self._draws()[0].deviations if drawn else None,
            air,
        )

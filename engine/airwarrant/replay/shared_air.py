"""One house predicted for two policies: what their air models are both told to assume the same is solved once."""

from collections.abc import Collection, Mapping
from typing import Any, cast

from airwarrant.air.network_parts import NotConverged
from airwarrant.house.assumptions import Assumptions
from airwarrant.house.predict import HouseAir, Prediction, Predictor, prepare
from airwarrant.house.work import Work
from airwarrant.job.record import JobRecord


class SharedAir:
    """A predictor that remembers the last house; for one record after the other, in either policy's evaluation."""

    def __init__(self, predictor: Predictor = prepare) -> None:
        self._predictor = predictor
        self._record: JobRecord | None = None
        self._made: list[tuple[Assumptions, dict[str, float], HouseAir | NotConverged | None]] = []

    def __call__(self, record: JobRecord, assumptions: Assumptions, targets: Mapping[str, float]) -> HouseAir | None:
        if record is not self._record:
            self._record, self._made = record, []
        known = dict(targets)
        for assumed, flows, made in self._made:
            if assumed == assumptions and flows == known:
                return self._given(made)
        made = self._make(record, assumptions, targets)
        self._made.append((assumptions, known, made))
        return self._given(made)

    def forget(self) -> None:
        """Let go of the last house."""
        self._record, self._made = None, []

    def _make(
        self, record: JobRecord, assumptions: Assumptions, targets: Mapping[str, float]
    ) -> HouseAir | NotConverged | None:
        try:
            made = self._predictor(record, assumptions, targets)
        except NotConverged as error:
            return error
        return None if made is None else cast(HouseAir, _Remembered(made))

    def _given(self, made: HouseAir | NotConverged | None) -> HouseAir | None:
        if isinstance(made, NotConverged):
            raise made
        return made


class _Remembered:
    """A house that predicts each work at each setting once; what is only shown it hands on."""

    def __init__(self, air: HouseAir) -> None:
        self._air = air
        self._known: dict[tuple[frozenset[Work], str], Prediction | NotConverged | None] = {}

    def __getattr__(self, name: str) -> Any:
        return getattr(self._air, name)

    def predict(self, work: Collection[Work], setting: str) -> Prediction | None:
        asked = (frozenset(work), setting)
        if asked not in self._known:
            try:
                self._known[asked] = self._air.predict(work, setting)
            except NotConverged as error:
                self._known[asked] = error
        known = self._known[asked]
        if isinstance(known, NotConverged):
            raise known
        return known

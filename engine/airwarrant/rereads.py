"""Readings to take again because the house's air network says so: two that disagree, and a drop nobody read that a verdict rests on."""

from collections.abc import Mapping
from math import sqrt

from airwarrant.house.calibration import Calibration
from airwarrant.house.predict import Prediction
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.policy.model import Policy
from airwarrant.rules.verdict import Verdict
from airwarrant.run import Option, Reread

#: A table or a share of it cannot be read again; the reading that it was entered with can.
_INSTEAD = {"blower_table": "external_static"}
_EFFORT = "reread_hours"


def conflicting(calibration: Calibration, policy: Policy) -> tuple[Reread, ...]:
    """The cheaper of two readings in conflict; neither is mended by the other."""
    if calibration.conflict is None:
        return ()
    effort = {str(row[0]): float(row[1]) for row in policy.tables[_EFFORT].rows} if _EFFORT in policy.tables else {}
    pair = [name.rpartition(".")[2] for name in calibration.conflict if not name.startswith("assumed")]
    asked = [_INSTEAD.get(name, name) for name in pair]
    if not asked:
        return ()
    first = min(asked, key=lambda name: (effort.get(name, 1.0), asked.index(name)))
    return (Reread(first, HOUSE_KEY, "readings-disagree", ()),)


def measure_first(option: Option, pieces: Mapping[str, tuple[str, str]]) -> tuple[Reread, ...]:
    """Drops nobody read that can turn a verdict of the scope by themselves, within the range they were assumed in.

    Parameters
    ----------
    option : Option
        The chosen one.
    pieces : mapping of ``side.piece`` to (key, field)
        The reading that each piece of the path has or lacks.
    """
    found: dict[str, tuple[str, ...]] = {}
    for verdict in option.verdicts.values():
        if verdict.margin is None or verdict.reading is None:
            continue
        worst, reach = _assumed_reach(option.prediction, verdict, pieces)
        if worst and abs(verdict.margin) <= reach:
            found[worst] = (*found.get(worst, ()), verdict.id)
    return tuple(
        Reread(pieces[piece][1], pieces[piece][0], "read-this-drop", verdicts)
        for piece, verdicts in sorted(found.items())
    )


def _assumed_reach(
    prediction: Prediction, verdict: Verdict, pieces: Mapping[str, tuple[str, str]]
) -> tuple[str, float]:
    """The unread piece that a verdict's reading leans on most, and how far all unread pieces together can move that reading.

    Each is taken to the end of its assumed range, two standard deviations, in the direction that hurts.
    """
    if verdict.reading is None:
        return "", 0.0
    names = [part.name for part in (verdict.reading, *verdict.reading.parts)]
    key = next(((verdict.subject, n) for n in names if (verdict.subject, n) in prediction.columns), None)
    moves = prediction.moves(key) if key else None
    if moves is None or not float(moves @ moves):
        return "", 0.0
    reach = {
        name: 2.0 * abs(float(move))
        for name, move in zip(prediction.inputs, moves, strict=True)
        if name in pieces and move
    }
    worst = max(sorted(reach), key=lambda name: reach[name], default="")
    # A figure made from the reading, such as airflow per ton, moves as its ± does to the reading's.
    scale = verdict.reading.plus_minus / (2.0 * sqrt(float(moves @ moves)))
    return worst, scale * sum(reach.values())

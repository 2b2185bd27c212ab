"""Verdicts inside their guard band: how far from the limit, how sure, and what each decides. Read from a result file alone."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Near:
    """A verdict that its reading's doubt could turn.

    Attributes
    ----------
    margin : float
        Distance inside the limit; negative past it. In `unit`, as the band.
    band : float
        Half-width of the guard band: ± of reading and limit together, at coverage 2.
    probability : float
        That the true value meets the limit (JCGM 106:2012: normal, standard deviation half the band).
    word : str
        What the check said: ``close``; or ``fail`` and ``pass`` where policy counts doubt against it or leaves it aside.
    lines : tuple of str
        Lines that would come in if it said another word; `when` is when to read it again for their sake.
    """

    verdict: str
    check: str
    title: str
    subject: str
    time: str
    word: str
    reading: float
    limit: float
    must_be: str
    unit: str
    margin: float
    band: float
    probability: float
    place: str
    lines: tuple[str, ...] = ()
    when: str = ""


def near(result: Mapping[str, Any]) -> tuple[Near, ...]:
    """Return every verdict of a result inside its guard band, the most open first."""
    decides = {one["verdict"]: one for one in result["retests"] if "verdict" in one}
    found = []
    for verdict in result["verdicts"]:
        if "margin" not in verdict:
            continue
        # What is printed is rounded: a word that says close stands, whatever is left of the difference.
        if verdict["word"] != "close" and not abs(verdict["margin"]) < verdict["band"]:
            continue
        check = result["trace"]["checks"][verdict["check"]]
        asked = decides.get(verdict["id"], {})
        found.append(
            Near(
                verdict["id"],
                verdict["check"],
                check["title"],
                verdict["subject"],
                verdict["time"],
                verdict["word"],
                verdict["reading"]["value"],
                verdict["limit"]["value"],
                check["must_be"],
                verdict["reading"]["unit"],
                verdict["margin"],
                verdict["band"],
                verdict["probability"],
                f"{check['file']}:{check['line']}:{check['column']}",
                tuple(asked.get("lines", ())),
                asked.get("when", ""),
            )
        )
    return tuple(sorted(found, key=lambda one: (abs(one.probability - 0.5), one.verdict)))

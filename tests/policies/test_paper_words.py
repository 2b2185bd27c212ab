"""What papers of a job say: directions to the crew, Spanish beside all English, and how easy it is to read."""

import re
import tomllib
from collections import Counter
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import textstat
import tomli_w

from airwarrant.job.reading_records import parse_job
from airwarrant.policy.compose import compose
from airwarrant.policy.model import Policy
from airwarrant.policy.tasks import READERS
from airwarrant.result.directions import PARTS
from airwarrant.session import Session
from jobs import JOBS, POLICIES, data

MARKETS = sorted(path.stem for path in (POLICIES / "markets").glob("*.toml"))
DATES = dict.fromkeys(("survey", "proposal", "permit"), date(2026, 7, 1))
#: Work that has no part of its own to photograph or to place: it is done on paper.
ON_PAPER = {"refrigerant-check"}
_HOLE = re.compile(r"\{[^{}]*\}")
_DIGITS = re.compile(r"\d+(?:[.,/-]\d+)*")


@pytest.fixture(scope="module", params=MARKETS)
def policy(request: pytest.FixtureRequest) -> Policy:
    return compose(POLICIES, request.param, DATES)


@pytest.fixture(scope="module", params=JOBS)
def result(request: pytest.FixtureRequest) -> dict[str, Any]:
    with Session(POLICIES) as session:
        return session.evaluate(parse_job(tomli_w.dumps(data(request.param)).encode(), "job.toml"))


def _blocks() -> Iterator[tuple[Path, str, dict[str, str]]]:
    for file in sorted(POLICIES.glob("*/**/2*/*.toml")):
        for name, block in tomllib.loads(file.read_text()).get("said", {}).items():
            yield file, name, block


def _has(policy: Policy, name: str, *languages: str) -> bool:
    return set(languages) <= set(policy.said.get(name, {}))


# ---------------------------------------------------------------- directions


def test_each_task_tells_the_crew_where_and_when_to_stop(policy: Policy) -> None:
    parts = ("where", "hold")
    wanted = {f"{task}.{part}" for task in policy.tasks for part in parts}
    wanted |= {f"{task}.photo" for task in policy.tasks if task not in ON_PAPER}
    assert {name for name in wanted if not _has(policy, name, "en", "es")} == set()


def test_each_direction_is_of_a_task(policy: Policy) -> None:
    """A task that is renamed would leave its directions unread in silence."""
    named = {tuple(name.rsplit(".", 1)) for name in policy.said if name.rpartition(".")[2] in PARTS}
    assert {task for task, _ in named} - set(policy.tasks) == set()


def test_the_insulation_the_crew_is_told_is_the_tables(policy: Policy) -> None:
    """International Energy Conservation Code, R403.3.1, as the table `duct_insulation` cites it."""
    rows = {str(row[0]): row[1] for row in policy.tables["duct_insulation"].rows}
    assert rows["attic"] == rows["roof"]
    assert rows["crawl"] == rows["garage"]
    high, low = f"R-{rows['attic']:g}", f"R-{rows['crawl']:g}"
    note = policy.said["paper-insulation"]
    assert f"{high} in an attic or on a roof, {low} in a crawl space or garage" in str(note["en"].value)
    assert f"{high} en ático o techo, {low} bajo el piso o en garaje" in str(note["es"].value)
    told = {name for name, texts in policy.said.items() if "en" in texts and "R-" in str(texts["en"].value)}
    assert told == {"paper-insulation"}


def test_no_direction_closes_a_joint_with_cloth_tape(policy: Policy) -> None:
    """Walker and Sherman, Lawrence Berkeley National Laboratory: cloth-backed rubber tape fails first on duct joints."""
    for name, texts in policy.said.items():
        if name.endswith(".joint") and "tape" in (text := str(texts["en"].value).lower()):
            tapes = re.findall(r"(\w+ \w+|\bno \w+) tape|the (tape) listed|or (tape) listed|tape (listed)", text)
            assert tapes, name
            assert "cloth tape" not in text.replace("no cloth tape", ""), name


# ---------------------------------------------------------------- Spanish beside all English


def test_titles_of_tasks_sizes_charges_items_and_targets_have_spanish(policy: Policy) -> None:
    wanted = {f"title.task.{name}" for name in policy.tasks}
    wanted |= {f"title.size.{name}.{n}" for name, task in policy.tasks.items() for n, _ in enumerate(task.sizes, 1)}
    wanted |= {f"title.charge.{name}" for name in (policy.prices.charges if policy.prices else ())}
    wanted |= {f"title.item.{name}" for name in (policy.prices.items if policy.prices else ())}
    targets = {then.name for rule in policy.rules.values() for then in rule.then if then.what == "target"}
    wanted |= {f"title.check.{name}" for name in targets}
    assert {name for name in wanted if not _has(policy, name, "es")} == set()


def test_what_is_waited_for_and_read_again_has_spanish(policy: Policy) -> None:
    wanted = set()
    for name, rule in policy.rules.items():
        for then in rule.then:
            if then.what == "hold":
                wanted.add(f"title.until.{name}")
            if then.what == "retest":
                wanted |= {f"title.how.{name}", f"title.reading.{then.name.replace('_', '-')}"}
    assert {name for name in wanted if not _has(policy, name, "es")} == set()
    needed = {f"needs-{need.task}" for task in policy.tasks.values() for need in task.needs}
    assert {name for name in needed if not _has(policy, name, "en", "es")} == set()


def test_both_languages_carry_the_same_holes_and_the_same_numbers() -> None:
    wrong = []
    for file, name, block in _blocks():
        if {"en", "es"} <= block.keys():
            en, es = block["en"], block["es"]
            holes = Counter(_HOLE.findall(en)) != Counter(_HOLE.findall(es))
            if holes or _numbers(en) != _numbers(es):
                wrong.append((file.name, name))
    assert wrong == []


def test_a_result_has_spanish_for_all_that_people_read_of_it(result: dict[str, Any]) -> None:
    spanish = result["languages"]["es"]
    assert {text for text in _read_by_people(result) if text not in spanish} == set()


def test_spanish_of_a_result_carries_the_same_numbers(result: dict[str, Any]) -> None:
    assert [(en, es) for en, es in result["languages"]["es"].items() if _numbers(en) != _numbers(es)] == []


def _numbers(text: str) -> Counter[str]:
    return Counter(_DIGITS.findall(_HOLE.sub("", text)))


def _read_by_people(result: dict[str, Any]) -> set[str]:
    texts = {one["said"] for block in ("findings", "cautions", "stops", "holds") for one in result[block]}
    texts |= {one["said"] for one in result["declined"] if one["how"] == "declined"}
    texts |= set(result["texts"].values())
    texts |= {one["title"] for one in result["acceptance"]}
    for retest in result["retests"]:
        texts |= {retest["title"], retest["how"]}
    for hold in result["holds"]:
        texts.add(hold["until"])
    for line in result["lines"]:
        texts |= {line["title"], line["said"], *line["directions"].values()}
        texts |= {size["title"] for size in line["sizes"]}
        texts |= {one["title"] for one in line["price"].get("materials", [])}
    for charge in result["totals"].get("charges", []):
        texts |= {charge["title"], charge["said"]}
    return texts


# ---------------------------------------------------------------- how easy it is to read

#: Most a text may ask by itself, and the whole of a job: school years, by the formula of Flesch and Kincaid (Kincaid, Fishburne,
#: Rogers, Chissom, Research Branch Report 8-75, 1975). The whole is aimed at eighth grade.
GRADE_MOST, GRADE_WHOLE = 10.0, 9.0
#: Least of "normal" on the scales of Fernández Huerta (Consigna 214, 1959) and of Szigriszt Pazos as INFLESZ bands it (Barrio-Cantalejo
#: and others, Anales del Sistema Sanitario de Navarra 31, 2008); both bounds from memory.
HUERTA_NORMAL, SZIGRISZT_NORMAL = 60.0, 55.0


def _homeowners(result: dict[str, Any], policy: Policy) -> list[str]:
    """All that a homeowner reads of a job in words of the policy, each text once."""
    texts = [
        one["said"]
        for block in ("stops", "findings", "cautions")
        for one in result[block]
        if one.get(READERS, "") != "crew"
    ]
    texts += [one["said"] for one in (*result["holds"], *result["lines"])]
    texts += [one["said"] for one in result["declined"] if one["how"] == "declined"]
    texts += [one["said"] for one in result["totals"].get("charges", [])]
    for name, text in result["texts"].items():
        block = policy.said[name]
        if READERS not in block or block[READERS].value != "crew":
            texts.append(text)
    return list(dict.fromkeys(texts))


def _sentence(text: str) -> str:
    """A text as it is read aloud: a unit's full stops end no sentence; a heading or term ends one."""
    plain = text.replace("in. w.c.", "inches")
    return plain if plain.endswith((".", "?", "!")) else f"{plain}."


def test_what_the_homeowner_reads_is_plain_in_both_languages(result: dict[str, Any]) -> None:
    texts = _homeowners(result, compose(POLICIES, result["market"]["name"], DATES))
    textstat.set_lang("en")
    whole = textstat.flesch_kincaid_grade(" ".join(map(_sentence, texts)))
    hard = {text: grade for text in texts if (grade := textstat.flesch_kincaid_grade(_sentence(text))) > GRADE_MOST}
    spanish = " ".join(_sentence(result["languages"]["es"][text]) for text in texts)
    textstat.set_lang("es")
    huerta, szigriszt = textstat.fernandez_huerta(spanish), textstat.szigriszt_pazos(spanish)
    assert whole <= GRADE_WHOLE
    assert hard == {}
    assert huerta >= HUERTA_NORMAL
    assert szigriszt >= SZIGRISZT_NORMAL

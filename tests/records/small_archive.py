"""Small jobs to keep, made without an evaluation, and what a check of an archive finds."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from airwarrant.errors import ArchiveError
from airwarrant.job.reading_records import parse_job
from airwarrant.records.archive import Archive
from airwarrant.records.findings import Finding
from airwarrant.records.kept import Kept, PolicyFiles, TestOutKept
from airwarrant.records.pages import damaged_pages, damaged_pages_of_file
from airwarrant.records.verify import chain, parts_of, structure

POLICY = PolicyFiles(
    "0" * 64,
    {
        "markets/copper-basin.toml": "# a market\n" + "x = 1\n" * 60,
        "trade/2026-01-01/limits.toml": "# limits\n" + "y = 2\n" * 900,
    },
)
TOLD = "The back room is hot, says the owner of the house."


def text(number: int, told: str = TOLD) -> bytes:
    """A sound record of a few lines, with something personal in each of the places that may hold it."""
    return f"""# Fictional, number {number}
format = "airwarrant/job/1"
id = "{number}"
market = "copper-basin"
units = "ip"
demo = true
note = "Key under the mat."
dates = {{ survey = 2026-07-14 }}
[customer]
name = "Nobody Atall {number}"
address = "{number} Nowhere Lane"
[house]
told = "{told}"
floor_area = {1500 + number % 500}
[[visit]]
kind = "test-in"
unit = "old"
return_static = {{ value = -0.48, state = "measured", photo = "front-door-{number}.jpg", by = "J. D." }}
[[override]]
line = "seal-ducts@house"
decision = "left-out"
reason = "no wall to cut"
by = "office"
""".encode()


def result(number: int, told: str = TOLD) -> dict[str, Any]:
    """Something with the shape that the archive looks at in a result."""
    return {
        "format": "airwarrant/result/1",
        "job_id": str(number),
        "record": {"told": told, "items": {"house": {"photo": ""}}},
        "lines": [{"id": f"task-{i}@place", "value": i * 0.1, "of": number} for i in range(40)],
        "trace": {"rules": [{"id": f"rule-{i}", "says": "what a rule says"} for i in range(80)], "rounds": []},
        "program": {"record": {"file": f"job-{number}.toml"}},
    }


def kept(number: int, *, file: str = "", told: str = TOLD, bare: bool = False) -> Kept:
    """A job to keep; `bare` without result and reach facts."""
    name = file or f"job-{number}.toml"
    body = text(number, told)
    made = result(number, told)
    made["program"]["record"]["file"] = name
    return Kept(
        record=parse_job(body, name),
        text=body,
        market="copper-basin",
        policy=POLICY,
        kept_at="2026-11-25T21:00:00Z",
        result=None if bare else made,
        reach=None if bare else bytes(range(256)) * 2,
    )


def of_test_out(number: int, of: int) -> Kept:
    """A test-out of that job to keep."""
    body = f'format = "airwarrant/test-out/1"\njob = "{number}"\nnote = "Dog in the yard."\n'.encode()
    one = kept(number)
    held = TestOutKept(f"test-out-{number}.toml", body, {"format": "airwarrant/acceptance/1", "answer": "pass"}, of)
    return Kept(one.record, one.text, one.market, one.policy, one.kept_at, one.result, None, held)


def made(path: Path, count: int = 3) -> Path:
    """An archive of so many jobs, then a test-out of the first."""
    with Archive.open(path, write=True) as archive:
        for number in range(1, count + 1):
            archive.keep(kept(number))
        archive.keep(of_test_out(1, 1))
    return path


def findings(path: Path) -> list[Finding]:
    """All that is found wrong with an archive, short of evaluating its jobs again."""
    return list(_findings(path))


def _findings(path: Path) -> Iterator[Finding]:
    try:
        with Archive.open(path) as archive:
            yield from damaged_pages(archive)
            yield from structure(archive)
            sound: set[str] = set()
            for one in chain(archive):
                if isinstance(one, Finding):
                    yield one
                else:
                    yield from parts_of(archive, one, sound)
    except ArchiveError as error:
        yield from damaged_pages_of_file(path)
        yield Finding("not-opened", str(error))

"""The record that a command is given: a file, or a shipped scenario by its name."""

from pathlib import Path

from airwarrant.errors import CallError, Fault, nearest
from airwarrant.shipped import shipped


def find_job(job: Path) -> Path:
    """The record's file; a bare name may be a shipped scenario."""
    if job.exists():
        return job
    scenarios = shipped("scenarios")
    if job.name == str(job) and (scenarios / f"{job.stem}.toml").is_file():
        return scenarios / f"{job.stem}.toml"
    known = [p.stem for p in sorted(scenarios.glob("job-*.toml")) if "." not in p.stem]
    advice = nearest(job.stem, known) or f"Shipped scenarios: {', '.join(known)}."
    raise CallError([Fault("no-file", f"there is no file `{job}`", "a job record", advice=advice)])

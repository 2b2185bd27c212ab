"""Put the tests' own helpers on the path, and let what the tests share be made once a process."""

import gc
import os
import sys
from pathlib import Path

import pytest
from hypothesis import settings

sys.path.insert(0, str(Path(__file__).parent))

import reading_once

reading_once.remember()

# The same examples every time, so that a run fails for what was changed; AIRWARRANT_EXPLORE=1 draws new ones. No test depends on a timing.
settings.register_profile("steady", derandomize=not os.environ.get("AIRWARRANT_EXPLORE"), deadline=None)
settings.load_profile("steady")


def pytest_collection_finish(session: pytest.Session) -> None:
    """Keep the collector off the thousands of tests that stay until the end; the evaluations make little that is cyclic."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 50)

"""Put the tests' own helpers on the path, and let what the tests share be made once a process."""

import gc
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import reading_once

reading_once.remember()


def pytest_collection_finish(session: pytest.Session) -> None:
    """Keep the collector off the thousands of tests that stay until the end; the evaluations make little that is cyclic."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 50)

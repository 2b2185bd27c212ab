"""Debian's Chromium, driven by playwright; the same flags as any headless run that asks the network for nothing."""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from playwright.sync_api import Browser, sync_playwright

_FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@contextmanager
def browser() -> Iterator[Browser]:
    """A browser, closed at the end. Without Chromium the test is skipped, but for where AIRWARRANT_BROWSER=needed says it must be."""
    program = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if program is None:
        if os.environ.get("AIRWARRANT_BROWSER") == "needed":
            pytest.fail("no Chromium here: apt-get install chromium")
        pytest.skip("no Chromium on this machine")
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=program, args=list(_FLAGS))
        try:
            yield opened
        finally:
            opened.close()

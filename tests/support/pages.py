"""A page of the command line as a process of its own, and a browser to open it."""

import contextlib
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest

BROWSER = next(
    filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None
)
needs_a_browser = pytest.mark.skipif(BROWSER is None, reason="no Chromium is installed here")


class Page(NamedTuple):
    """A served page."""

    process: "subprocess.Popen[str]"
    address: str
    """With its token."""
    port: int

    @property
    def plain(self) -> str:
        """The address without its token."""
        return self.address.partition("?")[0]


@contextlib.contextmanager
def served(folder: Path, *arguments: str) -> Iterator[Page]:
    """Start a command that serves a page, and end it afterward if nobody has."""
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "moistsim", *arguments, "--no-browser"], cwd=folder, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
    )  # fmt: skip
    assert process.stdout is not None
    try:
        said = ""
        for line in process.stdout:
            said += line
            if found := re.search(r"http://127\.0\.0\.1:(\d+)/\?token=\S+", line):
                break
        else:
            assert process.stderr is not None
            raise AssertionError(f"no page: {said}{process.stderr.read()}")
        yield Page(process, found[0], int(found[1]))
    finally:
        if process.poll() is None:
            process.kill()
        process.communicate()


def interrupted(page: Page, within: float = 30.0) -> tuple[int, str, float]:
    """Send Ctrl-C, and return exit code, stderr and the time that the end took."""
    begun = time.monotonic()
    page.process.send_signal(signal.SIGINT)
    _, err = page.process.communicate(timeout=within)
    return page.process.returncode, err, time.monotonic() - begun


@contextlib.contextmanager
def browser() -> Iterator[Any]:
    """Chromium without a window, driven by playwright."""
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed here")
    with api.sync_playwright() as driver:
        started = driver.chromium.launch(
            executable_path=BROWSER,
            args=[
                "--no-sandbox",
                "--disable-gpu",
                "--disable-background-networking",
                "--no-first-run",
            ],
        )
        try:
            yield started
        finally:
            started.close()


def settled(page: Any, within: float = 120.0) -> None:
    """Wait until the page shows the answer at the minute step."""
    page.wait_for_selector("body[data-final=true] #verdict:not(.old)", timeout=1e3 * within)

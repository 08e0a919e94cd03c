"""The page on paper, printed by a browser without a window."""

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

from moistsim.core.errors import Problem
from moistsim.scenario import ScenarioError

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
"""Programs built on Chromium, which print without a window."""


def browser() -> str:
    """Find one of `BROWSERS` and return its path.

    Raises
    ------
    ScenarioError
        If no such browser is installed.
    """
    for name in BROWSERS:
        path = shutil.which(name)
        if path is not None:
            return path
    raise ScenarioError(
        "--pdf", Problem("no Chromium on this machine's search path"),
        "a machine that has one, or no --pdf: any browser prints report.html",
    )  # fmt: skip


def printed(page: str, out: Path, paper: str = "letter", program: str | None = None) -> None:
    """Print a page to a PDF file.

    Parameters
    ----------
    page : str
        HTML.
    out : Path
        The PDF file.
    paper : {"letter", "A4"}
    program : str, optional
        The browser; default: the one that `browser` finds.

    Raises
    ------
    ScenarioError
        If no browser is installed, or the browser did not print.
    """
    program = program or browser()
    out.unlink(missing_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        sized = Path(folder, "page.html")
        style = f"<style>@page {{ size: {paper}; }}</style></head>"
        sized.write_text(page.replace("</head>", style, 1), encoding="utf-8")
        command = [
            program, "--headless", "--disable-gpu", "--no-first-run", "--no-pdf-header-footer",
            f"--user-data-dir={folder}/profile", f"--print-to-pdf={out.resolve()}",
        ]  # fmt: skip
        # Chromium cannot start its sandbox as root.
        if hasattr(os, "geteuid") and os.geteuid() == 0:
            command.append("--no-sandbox")
        try:
            ended = subprocess.run(
                [*command, sized.as_uri()], capture_output=True, timeout=120, check=False
            )
            reason = f"the browser ended with code {ended.returncode} and printed nothing"
        except (OSError, subprocess.TimeoutExpired) as error:
            reason = f"the browser printed nothing ({type(error).__name__})"
    if not out.exists() or out.stat().st_size == 0:
        raise ScenarioError(
            f"--pdf, {program}", Problem(reason), "no --pdf: any browser prints report.html"
        )

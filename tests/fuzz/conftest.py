"""What the fuzz prints at the end."""

from typing import Any

from support.fuzz_rule import COUNTS, report


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Print what was tried, and what came of it."""
    if COUNTS:
        terminalreporter.section("fuzz")
        for line in report():
            terminalreporter.write_line(line)

"""A study and its page, made once for all tests of the page."""

from collections.abc import Callable

import pytest
from support.report_pages import SCENARIO, Weighed, verdict, with_ranges
from support.scenario_files import write_ten_days

import moistsim as ms
from moistsim.report import Report, gather, page
from moistsim.report.verdict import Verdict
from moistsim.scenario import Scenario, read_scenario
from moistsim.study.study import Comparison


@pytest.fixture(scope="session")
def scenario(tmp_path_factory: pytest.TempPathFactory) -> Scenario:
    here = tmp_path_factory.mktemp("report")
    write_ten_days(here / "october.csv", "10-17")
    (here / "house.toml").write_text(SCENARIO, encoding="utf-8")
    return read_scenario(here / "house.toml")


@pytest.fixture(scope="session")
def ran(scenario: Scenario) -> Comparison:
    return scenario.study.run(progress=False)


@pytest.fixture(scope="session")
def report(scenario: Scenario, ran: Comparison) -> Report:
    return gather(scenario, ran, deeper=[("table.csv", "every column")])


@pytest.fixture(scope="session")
def us(report: Report) -> str:
    return page(report)


@pytest.fixture(scope="session")
def si(scenario: Scenario, ran: Comparison) -> str:
    return page(gather(scenario, ran, units="si"))


@pytest.fixture(scope="session")
def of(scenario: Scenario, ran: Comparison) -> Callable[..., Verdict]:
    return lambda *given, **costs: verdict(scenario, ran, *given, **costs)


@pytest.fixture(scope="session")
def weighed(scenario: Scenario) -> Weighed:
    """Cases, error budget and the page with them."""
    ranged = with_ranges(scenario.path.parent)
    ran = ranged.study.run(progress=False)
    what = (ranged.study, ranged.purchases, ranged.terms, ranged.ranges)
    found = ms.how_sure(*what, n=16, as_set=ran, progress=False)
    pair = (found.option, found.against)
    budget = ms.error_budget(*what, options=pair, as_set=ran, progress=False)
    return found, budget, page(gather(ranged, ran, budget=budget, certainty=found))

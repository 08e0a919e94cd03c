"""A study and its page, made once for all tests of the page."""

from collections.abc import Callable

import pytest
from support.report_pages import SCENARIO, Weighed, verdict, with_ranges
from support.scenario_files import write_ten_days

import moistsim as ms
from moistsim.advice import Advice
from moistsim.report import Conclusion, Report, conclude, gather, page
from moistsim.scenario import Scenario, read_scenario
from moistsim.study.study import Comparison
from moistsim.uncertainty import advised


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
def found(scenario: Scenario, ran: Comparison) -> Conclusion:
    return conclude(scenario, ran)


@pytest.fixture(scope="session")
def report(scenario: Scenario, ran: Comparison, found: Conclusion) -> Report:
    return gather(scenario, ran, found, deeper=[("table.csv", "every column")])


@pytest.fixture(scope="session")
def us(report: Report) -> str:
    return page(report)


@pytest.fixture(scope="session")
def si(scenario: Scenario, ran: Comparison) -> str:
    return page(gather(scenario, ran, units="si"))


@pytest.fixture(scope="session")
def of(ran: Comparison) -> Callable[..., Advice]:
    return lambda *given, **costs: verdict(ran, *given, **costs)


@pytest.fixture(scope="session")
def weighed(scenario: Scenario) -> Weighed:
    """Cases, error budget and the page with them."""
    ranged = with_ranges(scenario.path.parent)
    ran = ranged.study.run(progress=False)
    found = conclude(ranged, ran)
    of = advised(found.advice, ranged.ranges)
    what = (of.study, of.purchases, of.terms, of.ranges)
    how = {"options": of.options, "as_set": of.as_set, "progress": False}
    sure = ms.how_sure(*what, n=16, **how)
    budget = ms.error_budget(*what, **how)
    return sure, budget, page(gather(ranged, ran, found, budget=budget, certainty=sure))

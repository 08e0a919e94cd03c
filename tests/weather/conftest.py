"""The Miami sample, which these tests read, cut and spoil; none may change it where it stands."""

import pandas as pd
import pytest

from moistsim import Weather


@pytest.fixture(scope="session")
def miami() -> Weather:
    return Weather.sample("miami")


@pytest.fixture(scope="session")
def year(miami: Weather) -> pd.DataFrame:
    """The sample as a user's frame, stamped at the end of the hour."""
    frame = miami.frame.drop(columns="humidity_ratio")
    frame.index = frame.index + pd.Timedelta(hours=1)
    return frame


@pytest.fixture(scope="session")
def july(year: pd.DataFrame) -> pd.DataFrame:
    """Ten days: enough for every check, and quick."""
    return year.loc["1990-07-01 01:00":"1990-07-11 00:00"]

"""Advice in three invented weather years, made once for the tests that need it."""

from functools import lru_cache

import attrs
from support.houses import house
from support.machines import machines, two_stage
from support.weathers import stretch

import moistsim as ms
from moistsim.advice import OverYears

PLAIN, DRYER = "as found", "large dehumidifier"
PRICE = 0.2


@lru_cache
def advice(priced: bool = True) -> ms.Advice:
    """A humid month in a house that needs a dehumidifier."""
    here = machines(dehumidifier=None, strips=None, hot_gas=None, cooling=two_stage())
    dryer = attrs.evolve(here, dehumidifier=ms.Dehumidifier(capacity="90 pint/day"))
    study = ms.Study(
        house(),
        {
            PLAIN: (here, ms.strategies.temperature_only),
            DRYER: (dryer, ms.strategies.with_dehumidifier(target_rh=48)),
        },
        attrs.evolve(stretch("miami", 270, 28), name="Someplace"),
        step="5 min",
        tariff=ms.Tariff(price=PRICE),
        goal=ms.Goal(above_rh="60 %", hours=20),
    )
    bought = {PLAIN: ms.Purchase(first_cost=0.0), DRYER: ms.Purchase(first_cost=900.0)}
    terms = ms.Terms(years=10, discount_rate="3 %")
    return ms.advise(study, bought if priced else None, terms if priced else None, progress=False)


@lru_cache
def years() -> dict[str, ms.Weather]:
    """The month as it was, one a little more humid, and a dry one that needs no machine."""
    as_was = stretch("miami", 270, 28)
    return {
        "2014": as_was,
        "2015": as_was.shifted(temp_air=1.0, temp_dew=1.0),
        "2016": as_was.shifted(temp_dew=-14.0),
    }


@lru_cache
def found() -> OverYears:
    return ms.over_years(advice(), years(), progress=False)

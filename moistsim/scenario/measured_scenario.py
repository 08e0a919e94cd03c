"""A scenario with the values that a fit found, their bands, and the origin "measured"."""

from pathlib import Path
from typing import Any

import attrs
import numpy as np

from moistsim.core.changes import changed, rebased
from moistsim.core.errors import InputError
from moistsim.house import House
from moistsim.scenario.record import Scenario
from moistsim.sensitivity import Triangular
from moistsim.study import Study
from moistsim.sweep import find
from moistsim.uncertainty import MeasuredHouse, at, uncertain_inputs

BAND = (0.05, 0.95)
"""Shares of the draws below the ends of a band."""


def measured_scenario(
    scenario: Scenario, measured: MeasuredHouse, best: int, draws_file: Path
) -> Scenario:
    """A scenario of the measured house: one draw's values, with the draws as bands.

    Machines of an option are set where they are the ones that were there while the log was taken.

    Parameters
    ----------
    measured : MeasuredHouse
    best : int
        The draw whose values the house gets.
    draws_file : Path
        The file that holds the draws.
    """
    study = scenario.study
    house: House = changed(
        study.house, {path: each[best] for path, each in measured.values["house"].items()}
    )
    options: dict[str, Any] = {}
    for name, own in study.resolved.items():
        same = {
            path: each[best]
            for path, each in measured.values["equipment"].items()
            if at(own.equipment, path) == at(measured.equipment, path)
        }
        lived_in = rebased(own.house, study.house, house, f"options.{name}.house")
        options[name] = (changed(own.equipment, same), own.strategy, lived_in)
    made: Study = attrs.evolve(study, house=house, options=options)
    names = [".".join((root, *path)) for root, own in measured.values.items() for path in own]
    ranges = {
        name: of
        for name, of in scenario.ranges.items()
        if not any(name == each or name.startswith(f"{each}.") for each in names)
    }
    for label, column in measured.draws.items():
        band = _band(made, scenario, str(label), column.to_numpy(float), best)
        if band is not None:
            ranges[str(label)] = band
    return attrs.evolve(
        scenario, study=made, ranges=ranges, measured=scenario.measured | {*names},
        draws=measured, draws_file=draws_file,
    )  # fmt: skip


def _band(study: Study, scenario: Scenario, name: str, column: Any, best: int) -> Triangular | None:
    """The 90 % band of a value's draws around its best one, if a file can hold it."""
    if not name.startswith("house.") or np.isnan(column[best]):
        return None
    low, high = (float(x) for x in np.nanquantile(column, BAND))
    if not low < column[best] < high:
        return None
    try:
        if find(study, name).kind != "number":
            return None
        band = Triangular(low, float(column[best]), high)
        found = uncertain_inputs(study, scenario.purchases, scenario.terms, {name: band}, "band")
    except InputError:
        return None
    of = found.ranges[name]
    return of if isinstance(of, Triangular) else None

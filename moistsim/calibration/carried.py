"""A draw of a fit carried into other machines and a changed house."""

from collections.abc import Mapping
from typing import Any, Protocol

import pandas as pd

from moistsim.core.changes import changed, differences, inner, rebased
from moistsim.equipment import Equipment
from moistsim.house import House


class Fitted(Protocol):
    """What `carried` and its users read of a fit."""

    @property
    def house(self) -> House:
        """The house before the fit."""

    @property
    def equipment(self) -> Equipment:
        """The machines that were there while the log was taken."""

    @property
    def draws(self) -> pd.DataFrame:
        """Posterior draws, one a row; a column for each dotted name, in SI."""

    def described(self, values: Mapping[str, Any]) -> tuple[House, Equipment]:
        """House and machines of one draw."""


def carried(
    fit: Fitted,
    values: Mapping[str, Any],
    machines: Equipment,
    house: House | None = None,
    base: House | None = None,
) -> tuple[House, Equipment]:
    """House and machines of a draw, for machines other than those that were logged.

    A value that the fit found for a machine goes into other machines only where they have the same
    machine: where their own value is the one from before the fit. So a fan that stays keeps its fitted
    airflow, and a new air conditioner keeps its own rating.

    Parameters
    ----------
    fit : Fit
    values : dict
        A row of ``fit.draws``.
    machines : Equipment
        The machines to simulate.
    house : House, optional
        The house with a change, such as sealed ducts; default: without one.
    base : House, optional
        The house that `house` changes; default: ``fit.house``.

    Raises
    ------
    InputError
        If a description refuses the values.

    Examples
    --------
    >>> import types
    >>> import moistsim as ms
    >>> fan = ms.Ventilation(kind="exhaust", airflow="80 cfm")
    >>> logged = ms.Equipment(ventilation=fan)
    >>> def described(values):
    ...     found = fan.evolve(airflow=values["equipment.ventilation.airflow"])
    ...     return house, logged.evolve(ventilation=found)
    >>> house = ms.House(floor_area="1900 ft2")
    >>> fit = types.SimpleNamespace(house=house, equipment=logged, described=described)
    >>> new = logged.evolve(dehumidifier=ms.Dehumidifier(capacity="50 pint/day"))
    >>> _, found = carried(fit, {"equipment.ventilation.airflow": 0.03}, new)
    >>> found.ventilation.airflow
    0.03
    """
    found_house, found_machines = fit.described(values)
    if house is not None:
        found_house = rebased(house, base or fit.house, found_house, "the house with its change")
    # A structure of the fit may also add a part, such as a fan for air that comes in steadily.
    same = {
        change.path: change.after
        for change in differences(fit.equipment, found_machines)
        if _at(machines, change.path) == change.before
    }
    return found_house, changed(machines, same)


def _at(whole: Any, path: tuple[str, ...]) -> Any:
    """Value at the end of a path; None if a part on the way is missing."""
    for key in path:
        if whole is None:
            return None
        whole = inner(whole, key)
    return whole

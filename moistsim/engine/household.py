"""Heat and vapor from people, the ground and new materials, by hour."""

from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.errors import InputError, Problem
from moistsim.engine.division import division
from moistsim.house import (
    ACTIVITIES,
    LATENT_PER_KG,
    House,
    Occupancy,
    WindowOpening,
    hours_within,
    on_day,
)

HOUR = 3600.0


class Household(NamedTuple):
    """Heat, vapor and presence of a household as arrays by hour."""

    sensible: NDArray[np.float64]
    """Sensible heat of people and appliances, W."""
    moisture: NDArray[np.float64]
    """Vapor during the whole hour, without the bursts of showers and cooking, kg/s."""
    shower: NDArray[np.float64]
    """Vapor of showers, kg/s, for `shower_share` of the hour from its start."""
    shower_share: NDArray[np.float64]
    """Share of the hour for which showers run."""
    cooking: NDArray[np.float64]
    """Vapor of cooking, kg/s, for `cooking_share` of the hour from its start."""
    cooking_share: NDArray[np.float64]
    """Share of the hour for which people cook."""
    occupied: NDArray[np.float64]
    """1 while people live there, at home or not."""


def household(
    house: House, index: pd.DatetimeIndex, occupied: NDArray[np.float64] | None = None
) -> Household:
    """People and appliances through the hours of `index`.

    Parameters
    ----------
    occupied : array, optional
        Share of the hour with people at home; default: as described.
    """
    gains, occupancy = house.gains, house.occupancy
    hour = np.asarray(index.hour)
    appliances = (
        gains.appliances_and_lights
        * np.array(gains.appliances_and_lights_profile)[hour]
        * np.array(gains.appliances_and_lights_by_month)[index.month.to_numpy() - 1]
    )
    none = np.zeros(len(index))
    if occupancy is None:
        people = np.array(gains.presence) * gains.home_fraction
        heat = gains.occupants * gains.sensible_per_person * people[hour]
        moisture = (house.moisture_gain * np.array(gains.moisture_profile))[hour]
        if occupied is not None:
            heat, moisture = heat * occupied, moisture * occupied
        there = none + 1.0 if occupied is None else occupied
        return Household(heat + appliances, moisture, none, none, none, none, there)
    lived = occupancy.stayed_in(index) if occupied is None else occupied
    split = moisture_of_a_day(house, occupancy)
    weekend = (index.day_of_week >= 5).astype(int)
    asleep = occupancy.asleep(hour)
    home = np.array((occupancy.weekday, occupancy.weekend))[weekend, hour] * gains.occupants * lived
    awake, rest = ACTIVITIES[occupancy.activity], ACTIVITIES["asleep"]
    sensible = home * np.where(asleep, rest.sensible, awake.sensible)
    latent = home * np.where(asleep, rest.latent, awake.latent)
    for party in occupancy.parties:
        here = party.guests * on_day(index, party.day) * hours_within(
            hour, party.start, party.start + party.hours
        )  # fmt: skip
        sensible = sensible + here * ACTIVITIES[party.activity].sensible
        latent = latent + here * ACTIVITIES[party.activity].latent
    shower_share = occupancy.shower_time * occupancy.showers * gains.occupants / HOUR
    cooking_share = occupancy.cooking_time / HOUR
    showers = (lived > 0) & (hour == occupancy.shower_hour) & (shower_share > 0.0)
    meal = (lived > 0) & (hour == occupancy.cooking_hour)
    return Household(
        sensible
        + appliances * np.where(lived > 0, 1.0, occupancy.appliances_and_lights_while_empty),
        latent / LATENT_PER_KG + split.rest[weekend, hour] * lived,
        split.showers / (max(shower_share, 1e-9) * HOUR) * showers,
        shower_share * showers,
        split.cooking / (cooking_share * HOUR) * meal,
        cooking_share * meal,
        np.asarray(lived, dtype=float),
    )


def apart(house: House, home: Household) -> tuple[Household, Household]:
    """Household of the main zone, and that of a second zone.

    Cooking is in the main zone. The second zone's showers are spread over their hour.
    """
    part = division(house)
    kept = 1.0 - part.moisture
    second = home._replace(
        sensible=part.gains * home.sensible,
        moisture=part.moisture * (home.moisture + home.shower * home.shower_share),
        shower=0.0 * home.shower,
        cooking=0.0 * home.cooking,
    )
    return home._replace(
        sensible=(1.0 - part.gains) * home.sensible,
        moisture=kept * home.moisture,
        shower=kept * home.shower,
    ), second


class DayOfMoisture(NamedTuple):
    """Daily vapor of a household by its origin."""

    people: float
    """Vapor from the people of the household on the mean day of a week, kg."""
    showers: float
    """Vapor from showers on a day, kg."""
    cooking: float
    """Vapor from cooking on a day, kg."""
    rest: NDArray[np.float64]
    """Remaining vapor by weekday or weekend and by hour, kg/s."""


def moisture_of_a_day(house: House, occupancy: Occupancy) -> DayOfMoisture:
    """Divide the household's mean vapor rate into people, showers, cooking and the rest.

    Raises
    ------
    InputError
        If people, showers and cooking alone come to more than the mean rate.
    """
    gains = house.gains
    homes = np.array((occupancy.weekday, occupancy.weekend)) * gains.occupants
    share = np.array(((5.0 / 7.0,), (2.0 / 7.0,)))
    asleep = occupancy.asleep(np.arange(24))
    each = np.where(
        asleep, ACTIVITIES["asleep"].latent, ACTIVITIES[occupancy.activity].latent
    )  # fmt: skip
    people = float((homes * each * share).sum()) * HOUR / LATENT_PER_KG
    showers = occupancy.shower_water * occupancy.showers * gains.occupants
    if occupancy.shower_time * occupancy.showers * gains.occupants > HOUR:
        minutes = occupancy.shower_time * occupancy.showers * gains.occupants / 60.0
        raise InputError(
            "Occupancy.shower_time",
            Problem(f"showers of {minutes:.0f} min together"),
            "showers that end within an hour",
        )
    cooking = occupancy.cooking_water if gains.occupants > 0.0 else 0.0
    total = house.moisture_gain * 86400.0
    left = total - people - showers - cooking
    if left < -1e-9 * total:
        raise InputError(
            "House.occupancy",
            Problem(
                f"{people:.1f} kg of vapor a day from people, {showers:.1f} kg from showers and "
                f"{cooking:.1f} kg from cooking"
            ),
            f"together at most the household's moisture, {total:.1f} kg/day (Gains.moisture)",
        )
    shape = np.array(gains.moisture_profile) * homes
    spread = float((shape * share).sum()) * HOUR
    if left > 1e-9 * total and spread <= 0.0:
        raise InputError(
            "House.occupancy",
            Problem("nobody at home at any hour"),
            "hours with people at home, or no vapor",
        )
    return DayOfMoisture(people, showers, cooking, shape * (max(left, 0.0) / (spread or 1.0)))


def ground_vapor(house: House, index: pd.DatetimeIndex) -> NDArray[np.float64]:
    """Vapor from the ground and a wet basement, kg/s by hour."""
    sources, month = house.vapor_sources, index.month.to_numpy()
    first, last = sources.basement_from, sources.basement_to
    wet = (
        (month >= first) & (month <= last) if first <= last else (month >= first) | (month <= last)
    )
    rate = sources.ground * house.floor_area / house.stories + sources.basement * wet
    return np.asarray(rate, dtype=float)


def construction_moisture(house: House, index: pd.DatetimeIndex) -> NDArray[np.float64]:
    """Water that new materials give off, kg/s by hour.

    The water that remains falls by 1/e in every `construction_time`. The rate of an hour is
    the loss during that hour.
    """
    sources = house.vapor_sources
    if sources.construction == 0.0 and sources.construction_from is None:
        return np.zeros(len(index))
    first = 0
    if sources.construction_from is not None:
        rows = np.flatnonzero(on_day(index, sources.construction_from))
        if not len(rows):
            raise InputError(
                "VaporSources.construction_from",
                sources.construction_from,
                f"a day of the weather, {index[0]:%Y-%m-%d} to {index[-1]:%Y-%m-%d}",
            )
        first = int(rows[0])
    age = (np.arange(len(index)) - first) * HOUR / sources.construction_time
    lost = np.exp(-np.maximum(age, 0.0)) * -np.expm1(-HOUR / sources.construction_time)
    rate = sources.construction * house.floor_area * lost / HOUR * (age >= 0.0)
    return np.asarray(rate, dtype=float)


def may_open(
    house: House,
    opening: WindowOpening | None,
    index: pd.DatetimeIndex,
    occupied: NDArray[np.float64],
) -> NDArray[np.float64]:
    """1 in hours in which people would open windows if the rule let them."""
    if opening is None:
        return np.zeros(len(index))
    hour = np.asarray(index.hour)
    return hours_within(hour, opening.hours[0], opening.hours[1]) * occupied

"""Latent and sensible load by source, hour by hour, from the engine's own flows."""

from typing import Any, NamedTuple

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.engine import State, Volume, column_catalog, household, space_flows
from moistsim.season import Season

EXCHANGED = {
    "infiltration": ("infiltration",),
    "ventilation": ("ventilation",),
    "open windows": ("opening",),
    "ducts": ("return_leak", "supply_leak"),
}
"""Sources of load that are flows of air, with the names of these flows in the hourly table."""
CARRIED = (("air", "kg"), ("water", "kg"), ("heat", "kWh"))
"""Quantities that a flow of air carries, with their units in the hourly table."""
ORDER = (
    "people", "household moisture", "appliances and lights", "people and appliances", "infiltration", "ventilation",
    "open windows", "sun through windows", "windows", "walls and roof", "ground", "crawl space",
    "basement", "attic", "garage", "second zone", "main zone", "ducts",
    "fans and controls", "new materials", "moisture stores", "heat stored inside",
)  # fmt: skip
"""Sources in the order of the table.

Household moisture includes that of people. Moisture stores and the heat in walls and furniture are
positive when they release and negative when they absorb.
"""
KWH, HOUR = 3.6e6, 3600.0


@attrs.frozen(eq=False)
class Loads:
    """Loads of a season, with one row for each hour and one column for each source."""

    water: pd.DataFrame
    """Moisture load, kg/s."""
    latent: pd.DataFrame
    """Latent load, W."""
    sensible: pd.DataFrame
    """Sensible load, W."""

    def mean(self, hours: NDArray[np.bool_]) -> pd.DataFrame:
        """Mean loads over chosen hours, by source and in total: kg/day of water, and W."""
        frame = pd.DataFrame(
            {
                "water_kg_day": 86400.0 * self.water[hours].mean(),
                "latent_W": self.latent[hours].mean(),
                "sensible_W": self.sensible[hours].mean(),
            }
        )
        frame = frame.reindex([source for source in ORDER if source in frame.index])
        # A missing value is a true zero here: sun, for example, brings no water.
        frame = frame.fillna(0.0)
        frame.loc["total"] = frame.sum()
        frame.index.name = "source"
        return frame


def loads(season: Season) -> Loads:
    """Calculate the load of every hour by source.

    The load of outdoor air is counted from the room's own air, as in any load calculation (ASHRAE
    Handbook, Fundamentals, ch. 18). With m the dry air that came in at t and w, the vapor is
    m (w - w_room). Its latent heat is that of vapor at room temperature. The sensible heat is
    m (h(t, w) - h(t_room, w)). Flows of air, sun and gains are those of the run. Heat of the
    air conditioner, the dehumidifier and the blower is not a load.
    """
    table = season.hourly
    index = pd.DatetimeIndex(table.index)
    t = table["indoor_temperature_C"]
    room = _room(t, table["indoor_humidity_ratio"])

    def summed(what: str, flows: tuple[str, ...], unit: str) -> "pd.Series[float]":
        return sum((table[f"{what}_{flow}_{unit}"] for flow in flows), 0.0 * t)

    def beside(name: str, what: str, unit: str) -> "pd.Series[float]":
        """Flow from a space next to the house less that to it."""
        return table[f"{name}_{what}_to_house_{unit}"] + table[f"{name}_{what}_from_house_{unit}"]

    water: dict[str, pd.Series[float]] = {}
    heat: dict[str, pd.Series[float]] = {}
    for source, flows in EXCHANGED.items():
        water[source], heat[source] = room.load_of(
            *(summed(what, flows, unit) for what, unit in CARRIED)
        )
    for name in season.spaces:
        source = name.replace("_", " ")
        water[source], heat[source] = room.load_of(
            *(beside(name, what, unit) for what, unit in CARRIED)
        )
        heat[source] += table[f"{name}_heat_partition_kWh"] * KWH / HOUR
    for source, names in (
        ("household moisture", ("gains",)),
        ("ground", ("ground",)),
        ("new materials", ("construction",)),
        ("moisture stores", ("stored", "contents")),
    ):
        water[source] = summed("water", names, "kg") / HOUR
    for source, names in (
        ("sun through windows", ("sun",)),
        ("windows", ("windows",)),
        ("walls and roof", ("opaque",)),
        ("ground", ("ground",)),
        ("ducts", ("duct_walls",)),
        ("fans and controls", ("ventilation_fan", "standby")),
    ):
        heat[source] = heat.get(source, 0.0 * t) + summed("heat", names, "kWh") * KWH / HOUR
    heat["people"] = pd.Series(_people(season, index), index)
    heat["appliances and lights"] = table["heat_gains_kWh"] * KWH / HOUR - heat["people"]
    heat["heat stored inside"] = _given_back(season)
    rates = pd.DataFrame(water)
    return Loads(rates, rates.mul(room.vapor, axis=0), pd.DataFrame(heat))


def second_loads(season: Season) -> Loads:
    """Loads of a second zone with a system of its own, as `loads` has those of the main zone.

    Air from the main zone comes through stairs and leaks. People and appliances are one source.
    """
    table, machine = season.hourly, season._machine
    index = pd.DatetimeIndex(table.index)
    zone, own = f"{column_catalog.SECOND_ZONE}_", f"{column_catalog.SECOND_SYSTEM}_"
    t = table[f"{zone}temperature_C"]
    room, nothing = _room(t, table[f"{zone}humidity_ratio"]), 0.0 * t

    def kilowatt_hours(*names: str) -> "pd.Series[float]":
        return sum((table[f"{name}_kWh"] for name in names), nothing) * KWH / HOUR

    water: dict[str, pd.Series[float]] = {}
    heat: dict[str, pd.Series[float]] = {}
    for source, begins, flows, sign in (
        ("infiltration", zone, ("outdoors",), 1.0),
        ("main zone", zone, ("to_house", "from_house"), -1.0),
        ("ducts", own, ("return_leak", "supply_leak"), 1.0),
    ):
        water[source], heat[source] = room.load_of(
            *(
                sign * sum((table[f"{begins}{what}_{flow}_{unit}"] for flow in flows), nothing)
                for what, unit in CARRIED
            )
        )
    heat["main zone"] -= kilowatt_hours(f"{zone}heat_partition")
    heat["ducts"] += kilowatt_hours(f"{own}heat_duct_walls")
    for name in season.spaces:
        if name == column_catalog.SECOND_ZONE:
            continue
        source = name.replace("_", " ")
        water[source], heat[source] = room.load_of(
            *(
                table[f"{name}_{what}_to_second_{unit}"]
                + table[f"{name}_{what}_from_second_{unit}"]
                for what, unit in CARRIED
            )
        )
        # Air carries some of the heat; conduction and radiation cross the balance of the zone too.
        heat[source] += kilowatt_hours(
            *(
                flow.column.removesuffix("_kWh")
                for flow in space_flows(name)
                if flow.crosses == "energy"
                and flow.into == column_catalog.SECOND_ZONE
                and not flow.field.endswith(("_to_second", "_from_second"))
            )
        )
    water["household moisture"] = table[f"{zone}water_gains_kg"] / HOUR
    water["moisture stores"] = table[f"{zone}water_stored_kg"] / HOUR
    for source, name in (
        ("people and appliances", "gains"),
        ("sun through windows", "sun"),
        ("windows", "windows"),
        ("walls and roof", "opaque"),
        ("ground", "ground"),
    ):
        heat[source] = kilowatt_hours(f"{zone}heat_{name}")
    heat["fans and controls"] = kilowatt_hours(f"{own}heat_standby")
    # Heat that masses gave to the room, by the states at the hours' ends.
    rows = np.vstack([season._first_state, season._record.states])
    first = len(State._fields)
    masses = rows[
        :, [first + Volume._fields.index(f"{mass}_temperature") for mass in ("fast", "slow")]
    ]
    part = machine.spaces[column_catalog.SECOND_ZONE].zone
    given = -np.diff(masses, axis=0) @ np.array([part.fast_capacity, part.slow_capacity]) / HOUR
    heat["heat stored inside"] = pd.Series(given, index)
    rates = pd.DataFrame(water)
    return Loads(rates, rates.mul(room.vapor, axis=0), pd.DataFrame(heat))


class _Room(NamedTuple):
    """Air of a room by hour, from which the loads of outdoor air are counted."""

    ratio: "pd.Series[float]"
    vapor: "pd.Series[float]"
    """Enthalpy of vapor at room temperature, J/kg."""
    dry: "pd.Series[float]"
    """Enthalpy of dry air at room temperature, J/kg."""

    def load_of(
        self, dry: "pd.Series[float]", moist: "pd.Series[float]", carried: "pd.Series[float]"
    ) -> "tuple[pd.Series[float], pd.Series[float]]":
        """Water, kg/s, and heat, W, of a flow of air: kg of dry air, kg of water and kWh."""
        return (
            (moist - dry * self.ratio) / HOUR,
            (carried * KWH - dry * self.dry - moist * self.vapor) / HOUR,
        )


def _room(t: "pd.Series[float]", ratio: "pd.Series[float]") -> _Room:
    """Air of a room by its dry bulb, degC, and its humidity ratio."""
    return _Room(
        ratio,
        pd.Series(air.over(air.vapor_enthalpy, t), t.index),
        pd.Series(air.over(air.enthalpy, t, 0.0), t.index),
    )


def _people(season: Season, index: pd.DatetimeIndex) -> NDArray[np.float64]:
    """Sensible heat of people, W: that of the household without appliances and lights."""
    gains: Any = season.house.gains
    house: Any = season.house
    alone = attrs.evolve(house, gains=attrs.evolve(gains, appliances_and_lights=0.0))
    return household(alone, index).sensible


def _given_back(season: Season) -> "pd.Series[float]":
    """Heat that went from the fast and the slow mass into the room, W."""
    zone = season._machine.plant.zone
    first = season.spin_up_report["first"]
    given = pd.Series(0.0, season.hourly.index)
    for mass, capacity in (("fast", zone.fast_capacity), ("slow", zone.slow_capacity)):
        name = f"{mass}_mass_temperature_C"
        ends = season.hourly[name]
        given -= capacity * (ends - ends.shift(fill_value=float(first[name]))) / HOUR
    return given

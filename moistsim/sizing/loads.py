"""Latent and sensible load by source, hour by hour, from the engine's own flows."""

from typing import Any

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.engine import household
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
    "people", "household moisture", "appliances and lights", "infiltration", "ventilation",
    "open windows", "sun through windows", "windows", "walls and roof", "ground", "crawl space",
    "basement", "attic", "garage", "second zone", "ducts",
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
    t, w = table["indoor_temperature_C"], table["indoor_humidity_ratio"]
    vapor = pd.Series(air.over(air.vapor_enthalpy, t), index)
    dry_enthalpy = pd.Series(air.over(air.enthalpy, t, 0.0), index)

    def summed(what: str, flows: tuple[str, ...], unit: str) -> "pd.Series[float]":
        return sum((table[f"{what}_{flow}_{unit}"] for flow in flows), 0.0 * t)

    def beside(name: str, what: str, unit: str) -> "pd.Series[float]":
        """Flow from a space next to the house less that to it."""
        return table[f"{name}_{what}_to_house_{unit}"] + table[f"{name}_{what}_from_house_{unit}"]

    def exchanged(
        source: str, dry: "pd.Series[float]", moist: "pd.Series[float]", carried: "pd.Series[float]"
    ) -> None:
        """Load of a flow of air: kg of dry air, kg of water and kWh."""
        water[source] = (moist - dry * w) / HOUR
        heat[source] = (carried * KWH - dry * dry_enthalpy - moist * vapor) / HOUR

    water: dict[str, pd.Series[float]] = {}
    heat: dict[str, pd.Series[float]] = {}
    for source, flows in EXCHANGED.items():
        exchanged(source, *(summed(what, flows, unit) for what, unit in CARRIED))
    for name in season.spaces:
        source = name.replace("_", " ")
        exchanged(source, *(beside(name, what, unit) for what, unit in CARRIED))
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
    return Loads(rates, rates.mul(vapor, axis=0), pd.DataFrame(heat))


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

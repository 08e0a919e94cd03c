"""A house that is watched: its truth in the engine, its loggers, and a fit that knows the truth but not the household.

The household's moisture differs from day to day (AR(1), 15 % with a memory of two days), which the fit
does not know; loggers have noise and an offset. A fault begins on a day of choice. Invented house.
"""

from functools import cached_property
from typing import Any

import attrs
import numpy as np
import pandas as pd
from scipy.stats import norm
from support import weathers

import moistsim as ms
from moistsim import air

HABIT, HABIT_DAYS = 0.15, 2.0
OFFSET, NOISE = 1.0, 0.5
"""Points of RH."""
PLACE = "greensboro"


def house() -> ms.House:
    return ms.House(floor_area="1900 ft2", ach50=3.0)


def machines(**changes: Any) -> ms.Equipment:
    return ms.Equipment(
        **{
            "cooling": ms.Cooling(stages=[ms.Stage(capacity="24000 Btu/h")]),
            "ventilation": ms.Ventilation(kind="supply", airflow="60 cfm"),
            **changes,
        }
    )


STRATEGY = ms.strategies.temperature_only


@attrs.frozen(eq=False)
class Truth:
    """Some weeks of the house with a fault, and what its loggers wrote by the hour."""

    seed: int = 0
    first: int = 120
    days: int = 90
    fault: str = ""
    fault_day: int = 60

    @cached_property
    def weather(self) -> ms.Weather:
        return weathers.stretch(PLACE, self.first, self.days)

    @cached_property
    def moisture(self) -> pd.Series:
        """The household's moisture by the hour, kg/s."""
        draw = np.random.default_rng(1000 + self.seed)
        keep = np.exp(-1.0 / HABIT_DAYS)
        level = np.zeros(self.days)
        level[0] = draw.standard_normal()
        for day in range(1, self.days):
            level[day] = keep * level[day - 1] + np.sqrt(1.0 - keep**2) * draw.standard_normal()
        home = house()
        profile = np.array(home.gains.moisture_profile)
        hours = pd.DatetimeIndex(self.weather.frame.index)
        by_day = 1.0 + HABIT * level
        share = by_day[(hours.normalize() - hours[0].normalize()).days]
        if self.fault == "household":
            share = np.where(self._after(hours), 2.0 * share, share)
        return pd.Series(home.moisture_gain * profile[hours.hour] * share, hours)

    def _after(self, hours: pd.DatetimeIndex) -> np.ndarray:
        return np.asarray((hours - hours[0]).days >= self.fault_day)

    @cached_property
    def seasons(self) -> list[ms.Season]:
        """The house before the fault, and after it."""
        hours = pd.DatetimeIndex(self.weather.frame.index)
        series: dict[str, pd.Series] = {"moisture": self.moisture}
        given: dict[str, Any] = {"step": "300 s"}
        if not self.fault or self.fault in ("sensor", "household"):
            state = ms.HouseState.at(temperature=23.5, relative_humidity=0.5)
            return [
                ms.simulate(
                    house(),
                    machines(),
                    STRATEGY,
                    self.weather,
                    series=series,
                    first_state=state,
                    **given,
                )
            ]
        change = hours[24 * self.fault_day]
        whole, after, faults = machines(), machines(), []
        if self.fault == "ventilation":
            after = machines(ventilation=None)
        elif self.fault == "blower":
            series["calls.fan"] = pd.Series(np.where(hours >= change, 1.0, 0.0), hours)
        elif self.fault == "coil":
            faults = [ms.faults.FouledCoil(airflow=0.5)]
        elif self.fault == "window":
            after = machines(
                ventilation=attrs.evolve(whole.ventilation, airflow=3.0 * whole.ventilation.airflow)
            )
        else:
            raise ValueError(self.fault)
        last = (change - pd.Timedelta(days=1)).strftime("%Y-%m-%d")
        state = ms.HouseState.at(temperature=23.5, relative_humidity=0.5)
        none = {"moisture": self.moisture}
        before = ms.simulate(
            house(),
            whole,
            STRATEGY,
            self.weather,
            end=last,
            series=none,
            first_state=state,
            **given,
        )
        end = before.hourly.iloc[-1]
        from_end = ms.HouseState.at(
            temperature=float(end["indoor_temperature_C"]),
            relative_humidity=float(end["indoor_rh_pct"]) / 100.0,
        )
        start = change.strftime("%Y-%m-%d")
        return [
            before,
            ms.simulate(
                house(),
                after,
                STRATEGY,
                self.weather,
                start=start,
                series=series,
                first_state=from_end,
                faults=faults,
                **given,
            ),
        ]

    @cached_property
    def log(self) -> ms.HouseLog:
        draw = np.random.default_rng(self.seed)
        hourly = pd.concat([season.hourly for season in self.seasons])
        outdoors = self.weather.frame
        n = len(hourly)
        rh = hourly["indoor_rh_pct"].to_numpy() + OFFSET + NOISE * draw.standard_normal(n)
        if self.fault == "sensor":
            rh = rh + np.where(self._after(pd.DatetimeIndex(hourly.index)), 6.0, 0.0)
        rows = pd.DataFrame(
            {
                "t": hourly["indoor_temperature_C"].to_numpy() + 0.1 * draw.standard_normal(n),
                "rh": np.clip(rh, 1.0, 99.0),
                **{name: outdoors[name].to_numpy() for name in ("temp_air", "temp_dew", "pressure", "wind_speed", "ghi", "dni", "dhi")},
            },
            index=pd.DatetimeIndex(hourly.index, name="when"),
        )  # fmt: skip
        return read(rows)


COLUMNS = {
    "time": "when", "indoor_temperature.hall": "t", "indoor_rh.hall": "rh", "outdoor_temperature": "temp_air",
    "outdoor_dew_point": "temp_dew", "pressure": "pressure", "wind_speed": "wind_speed", "ghi": "ghi", "dni": "dni", "dhi": "dhi",
}  # fmt: skip
UNITS = {
    "indoor_temperature": "degC", "indoor_rh": "%", "outdoor_temperature": "degC", "outdoor_dew_point": "degC",
    "pressure": "Pa", "wind_speed": "m/s", "ghi": "W/m2", "dni": "W/m2", "dhi": "W/m2",
}  # fmt: skip


def read(rows: pd.DataFrame) -> ms.HouseLog:
    sample = ms.Weather.sample(PLACE)
    place = {
        key: getattr(sample, key) for key in ("latitude", "longitude", "elevation", "utc_offset")
    }
    return ms.HouseLog.read(rows, COLUMNS, units=UNITS, label="start", **place)


@attrs.frozen(eq=False)
class TrueFit:
    """A fit of the first part of a log whose house and machines are the true ones.

    It takes the household's mean moisture and the loggers' mean offset; its band is that of forward
    chaining, as a fit's. The thermostat holds the temperature.
    """

    log: ms.HouseLog
    """The part that it was fitted to."""
    imposed: bool = False
    strategy: ms.Strategy = STRATEGY
    best: dict[str, Any] = attrs.field(factory=dict)

    def described(self, values: Any) -> tuple[ms.House, ms.Equipment]:
        return house(), machines()

    def _raw(self, log: ms.HouseLog) -> pd.DataFrame:
        weather = log.weather
        hours = pd.DatetimeIndex(weather.frame.index)
        measured = log.indoor_humidity_ratio.resample("h").mean().reindex(hours)
        t = log.indoor_temperature
        day = slice(None, hours[0] + pd.Timedelta(hours=23))
        rh = air.relative_humidity(
            float(t.loc[day].mean()), float(measured.loc[day].mean()), float(log.pressure.mean())
        )
        state = ms.HouseState.at(temperature=float(t.loc[day].mean()), relative_humidity=rh)
        season = ms.simulate(
            house(),
            machines(),
            self.strategy,
            weather,
            step="300 s",
            impose=t if self.imposed else None,
            first_state=state,
        )
        warm = t.resample("h").mean().reindex(hours)
        point = (
            0.00622 * air.over(air.saturation_pressure, warm) / weather.frame["pressure"].to_numpy()
        )
        predicted = season.column("indoor_humidity_ratio")
        return pd.DataFrame({"measured": measured, "predicted": predicted, "point": point}, hours)

    @cached_property
    def _own(self) -> pd.DataFrame:
        return self._raw(self.log).iloc[24:]

    @staticmethod
    def _points(raw: pd.DataFrame) -> pd.Series:
        """Error in points of RH."""
        return (raw["measured"] - raw["predicted"]) / raw["point"]

    def predict(
        self,
        log: ms.HouseLog | None = None,
        level: float = 0.9,
        period: str = "h",
        *,
        measured_until: Any = None,
    ) -> pd.DataFrame:
        raw = self._raw(self.log if log is None else log)
        own = self._own
        raw["predicted"] += self._points(own).mean() * raw["point"]
        # Forward chaining: the offset of the first part against what follows.
        n = len(own)
        left = []
        for share in (0.4, 0.55, 0.7):
            cut, end = round(share * n), round((share + 0.3) * n)
            ahead = own.iloc[cut:end]
            error = (
                ahead["measured"]
                - ahead["predicted"]
                - self._points(own.iloc[:cut]).mean() * ahead["point"]
            )
            left.append(error.resample("D").mean() if period == "D" else error)
        if period == "D":
            raw = raw.resample("D").mean()
        reach = norm.ppf(0.5 + 0.5 * level) * float(np.sqrt((pd.concat(left) ** 2).mean()))
        raw = raw.drop(columns="point")
        return raw.assign(low=raw["predicted"] - reach, high=raw["predicted"] + reach)


def fitted(truth: Truth, days: int = 30) -> TrueFit:
    """A fit of the first days of a log."""
    rows = truth.log.frame.index
    return TrueFit(truth.log.between(str(rows[0]), str(rows[24 * days - 1])))

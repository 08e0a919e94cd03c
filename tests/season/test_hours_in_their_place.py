"""Every series acts in its own hour, every end use is in the quarters, every mark is where it is said.

A pulse of one hour in otherwise constant weather, or in the household, must be seen in that hour. The
values of the weather are those of the middle of an hour with straight lines between them: of a pulse, an
eighth is in the hour before, three quarters in its own and an eighth in the hour after.

The slow test puts faults into the source, one by one, and shows that a check fails for each.
"""

import importlib
import inspect
import sys
from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
import pytest
from support.houses import bare_house, house
from support.machines import machines, two_stage
from support.uncompiled import uncompiled
from support.weathers import flat, stretch

import moistsim as ms
from moistsim import air
from moistsim.engine import END_USES, force, loop
from moistsim.engine.forcing_tables import Hour, Node
from moistsim.engine.glass import modifier

NOON = 36
"""Noon of the second of three days: the hour of the pulse."""
SHAPE = {NOON - 1: 0.125, NOON: 0.75, NOON + 1: 0.125}
PULSES = {
    "temp_air": 4.0, "temp_dew": 4.0, "pressure": 900.0, "wind_speed": 5.0, "dhi": 300.0,
}  # fmt: skip
IN_NODES = {
    "temp_air": ("temperature", "sol_air"), "temp_dew": ("humidity_ratio",),
    "pressure": ("pressure",), "dhi": ("sol_air", "sun"),
}  # fmt: skip
"""Series of `Node` that follow from a column of the weather."""
IN_HOURS = {
    "temp_air": ("outdoor_rh", "density"), "temp_dew": ("outdoor_dew_point", "outdoor_rh", "density"),
    "pressure": ("density",),
    "wind_speed": ("wind", "opening_wind"),
}  # fmt: skip
"""Series of `Hour` that follow from a column of the weather."""
AT_SIX = [float(hour == 6) for hour in range(24)]
"""Shape of a day with everything between 6 and 7."""


def pulsed(column: str = "") -> ms.Weather:
    """Three constant days, with a pulse at noon of the second one."""
    calm = flat(24.0, 0.009, days=3, wind_speed=2.0)
    frame = calm.frame.copy()
    if column:
        frame.iloc[NOON, frame.columns.get_loc(column)] += PULSES[column]
    # The weather works out the humidity ratio from dew point and pressure.
    return weather_of(frame)


def weather_of(frame: pd.DataFrame) -> ms.Weather:
    return ms.Weather.from_frame(
        frame.drop(columns="humidity_ratio"),
        latitude=30.0, longitude=-90.0, utc_offset=-6.0, elevation=0.0, label="start",
        kind="synthetic",
    )  # fmt: skip


def lived_in() -> ms.House:
    """A house with all that a household does, between 6 and 7 wherever an hour can be chosen."""
    fan = ms.ExhaustFan(airflow="80 cfm", runtime="20 min", schedule=AT_SIX)
    return house(
        ach50=6.0,
        gains=ms.Gains(
            occupants=2.0, moisture="8 kg/day", moisture_profile=AT_SIX,
            appliances_and_lights_profile=AT_SIX,
        ),
        occupancy=ms.Occupancy(
            weekday=AT_SIX, weekend=AT_SIX, shower_hour=6, cooking_hour=6, sleep_from=22,
            vacations=["01-03 to 01-03"],
        ),
        exhausts=ms.Exhausts(dryer=fan, range_hood=fan, bath_fans=fan),
        window_opening=ms.WindowOpening(area=1.0, hours=(6, 7)),
    )  # fmt: skip


def run(home: ms.House, weather: ms.Weather, control: Any = None, **parts: Any) -> ms.Season:
    return ms.simulate(
        home, ms.Equipment(standby_power=0.0, **parts),
        control or ms.strategies.temperature_only, weather, step="5 min", spin_up=0,
    )  # fmt: skip


def same(found: Any, expected: Any, **tolerance: float) -> None:
    assert found == pytest.approx(expected, **tolerance)


def places(changed: Any) -> list[int]:
    return np.flatnonzero(np.abs(np.asarray(changed, float)) > 1e-12).tolist()


def weather_in_tables() -> None:
    """A pulse changes the middle of its hour, half as much its two ends, and no other row."""
    home = lived_in()
    calm = force(home, pulsed())
    for column in PULSES:
        loud = force(home, pulsed(column))
        for name in IN_NODES.get(column, ()):
            k = Node._fields.index(name)
            change = loud.nodes[:, k] - calm.nodes[:, k]
            assert places(change) == [2 * NOON, 2 * NOON + 1, 2 * NOON + 2], (column, name)
            same(change[[2 * NOON, 2 * NOON + 2]], 0.5 * change[2 * NOON + 1])
        for name in IN_HOURS.get(column, ()):
            k = Hour._fields.index(name)
            assert places(loud.hours[:, k] - calm.hours[:, k]) == [NOON], (column, name)


def household_in_tables() -> None:
    """What happens between 6 and 7 is in that row of each day, and in no other; vacation in its day."""
    weather = pulsed()
    table = force(lived_in(), weather).hours
    index = pd.DatetimeIndex(weather.frame.index)
    hours = {name: table[:, k] for k, name in enumerate(Hour._fields)}
    for name, expected in (
        ("hour", index.hour),
        ("day", index.day_of_year),
        ("month", index.month),
    ):
        assert hours[name].tolist() == [*map(float, expected)], name
    assert places(hours["occupied"]) == [*range(48)]
    for name in ("shower", "shower_share", "cooking", "cooking_share", "may_open"):
        assert places(hours[name]) == [6, 30], name
    assert places(hours["moisture"]) == [6, 30]
    # Appliances run on, to a part, while nobody is there.
    assert places(hours["gains"]) == [6, 30, 54]
    for name in ("dryer", "range_hood", "bath_fans"):
        assert places(hours[name]) == [6, 30, 54], name


def sun_from_its_bearing() -> None:
    """The beam through an east window at the sun's place in the middle of the hour, by pvlib."""
    import pvlib

    calm = pulsed()
    frame, hour = calm.frame.copy(), 33
    frame.iloc[hour, frame.columns.get_loc("dni")] = 700.0
    weather = weather_of(frame)
    east = ms.Window(area=2.0, azimuth=90.0, u=1.0, shgc=0.5, incidence="one pane", shading=1.0)
    wall = ms.Surface(area=20.0, u=0.1, azimuth=90.0)
    home = house(envelope=ms.Envelope(surfaces=[wall], windows=[east]))
    middle = weather.midpoints[hour]
    sun = pvlib.solarposition.get_solarposition(middle, weather.latitude, weather.longitude)
    angle = pvlib.irradiance.aoi(90.0, 90.0, sun["apparent_zenith"], sun["azimuth"]).iloc[0]
    through = np.cos(np.radians(angle)) * modifier("one pane")(np.array([angle]))[0]
    local = weather.frame.index[hour].hour + 0.5
    assert middle.tz_convert(None).hour + middle.minute / 60.0 == local + 6.0
    found = force(home, weather).nodes[2 * hour + 1, Node._fields.index("sun")]
    same(found, 2.0 * 0.5 * 700.0 * through, rel=0.01)


def weather_in_the_season() -> None:
    """The hours of a run see a pulse as 1/8, 3/4 and 1/8, by hand."""
    home = lived_in()
    calm = run(home, pulsed()).hourly
    for column, seen in (
        ("temp_air", "outdoor_temperature_C"), ("temp_dew", "outdoor_humidity_ratio"),
        ("dhi", "heat_sun_kWh"),
    ):  # fmt: skip
        change = (run(home, pulsed(column)).hourly[seen] - calm[seen]).to_numpy()
        assert places(change) == [*SHAPE], column
        same(change[[*SHAPE]] / change.sum(), [*SHAPE.values()], abs=1e-9)
    windy = run(home, pulsed("wind_speed")).hourly["natural_infiltration_m3"]
    change = np.abs((windy - calm["natural_infiltration_m3"]).to_numpy())
    assert change.argmax() == NOON
    assert change[NOON] > 20.0 * np.delete(change, NOON).max()
    walls = bare_house(
        envelope={"wall_u": 0.5, "fast_mass": 5e6, "slow_mass": 0.0, "mass_coupling": 0.0}
    )
    calm, bright = (run(walls, pulsed(x)).hourly["heat_opaque_kWh"] for x in ("", "dhi"))
    change = (bright - calm).to_numpy()
    same(change[[*SHAPE]] / change[[*SHAPE]].sum(), [*SHAPE.values()], abs=0.05)
    pressed = run(bare_house(), pulsed("pressure")).hourly["heat_pressure_kWh"].to_numpy()
    # It rises until the middle of the hour and falls after it.
    assert places(np.round(pressed, 9)) in ([*SHAPE], [NOON - 1, NOON + 1])
    assert pressed[NOON - 1] > 0.0 > pressed[NOON + 1]


def household_in_the_season() -> None:
    """Heat, vapor and exhaust air of the hour from 6 to 7 are metered in it."""
    hourly = run(lived_in(), pulsed()).hourly
    assert places(hourly["heat_gains_kWh"]) == [6, 30, 54]
    assert places(hourly["water_gains_kg"]) == [6, 30]
    assert places(hourly["ventilation_fan_kWh"]) == [6, 30, 54]
    assert places(hourly["occupied_h"]) == [*range(48)]


def readings_of_a_control() -> None:
    """A control that waits for a pulse of a reading runs its machine in the hour of the pulse."""
    dryer = ms.Dehumidifier(capacity="20 pint/day")
    rh = 100.0 * air.relative_humidity(24.0, 0.009, air.STANDARD_PRESSURE)
    dew = air.dew_point(air.vapor_pressure(0.009, air.STANDARD_PRESSURE))
    for column, words, high, low in (
        ("temp_dew", "outdoor humidity", f"{rh + 8.0} %", f"{rh + 2.0} %"),
        ("temp_dew", "outdoor dew point", f"{dew + 2.0} degC", f"{dew + 0.5} degC"),
        ("temp_air", "outdoor temperature", "26.5 degC", "25.9 degC"),
    ):
        rows = [{"do": "dehumidifier", "when": f"{words} > {high}",
                 "release_when": f"{words} < {low}"}]  # fmt: skip
        on = run(bare_house(), pulsed(column), ms.rule_table(rows), dehumidifier=dryer).hourly
        hours = on["dehumidifier_h"].to_numpy()
        assert set(places(hours)) <= {NOON, NOON + 1} and hours[NOON] > 0.6, column
        assert hours[NOON + 1] < 0.25, column


def ramp(temperature_lag: float, humidity_lag: float) -> pd.DataFrame:
    """Six hours of a room that warms and moistens on straight lines, in steps of 5 minutes."""
    home = bare_house(
        envelope={"surface_film": 5e3, "fast_mass": 30e3, "slow_mass": 0.0, "mass_coupling": 0.0},
        gains={
            "appliances_and_lights": 300.0, "appliances_and_lights_profile": [1.0] * 24,
            "moisture": 3e-5, "moisture_profile": [1.0] * 24,
        },
    )  # fmt: skip
    sensor = ms.Sensor(
        wall_share=0.0, mixing_time=0.0, temperature_lag=temperature_lag, humidity_lag=humidity_lag
    )
    season = run(home, flat(24.0, 0.009, days=1), sensor=sensor)
    return season.steps(
        "indoor_temperature", "indoor_humidity_ratio", "sensed_temperature", "sensed_rh"
    ).iloc[72:144]


def lags_of_the_sensor() -> None:
    """Each quantity has its own lag: L exp(-dt/2L) + dt behind the room's end of the step, by hand.

    A first-order lag trails a ramp by L. Halfway through a step, it has come exp(-dt/2L) nearer.
    """
    for lag_t, lag_w in ((120.0, 900.0), (900.0, 120.0)):
        rows = ramp(lag_t, lag_w)
        sensed_w = air.over(
            air.humidity_ratio_at, rows["sensed_temperature"], rows["sensed_rh"],
            air.STANDARD_PRESSURE,
        )  # fmt: skip
        for room, sensed, lag in (
            (rows["indoor_temperature"], rows["sensed_temperature"], lag_t),
            (rows["indoor_humidity_ratio"], sensed_w, lag_w),
        ):
            rate = float(np.diff(room).mean()) / 300.0
            behind = float((room - sensed).mean()) / rate
            same(behind, lag * np.exp(-150.0 / lag) + 300.0, rel=0.02)


def marks_of_the_measures() -> None:
    """Hours beyond each mark, counted here from every step; a mark 1 % or 0.1 K away gives others."""
    season = ms.simulate(
        house(ach50=5.0, bedroom=ms.Bedroom(), gains=ms.Gains(moisture="8 kg/day")),
        ms.Equipment(cooling=two_stage(), heating=ms.HeatPump(capacity="2 ton")),
        ms.strategies.temperature_only, stretch("greensboro", 280, 20), step="15 min", spin_up=0,
    )  # fmt: skip
    steps = season.steps("indoor_rh", "indoor_temperature", "bedroom_rh", "occupied")
    rh, total = 100.0 * steps["indoor_rh"], season.hourly.sum()

    def counted(column: str, beyond: Callable[[float], Any], mark: float, near: float) -> None:
        same(total[column], 0.25 * float(beyond(mark).sum()), abs=1e-9)
        for other in (mark - near, mark + near):
            assert total[column] != pytest.approx(0.25 * float(beyond(other).sum()), abs=0.2), (
                column
            )

    for mark in (50.0, 55.0, 60.0, 65.0):
        counted(f"above_{mark:.0f}_h", lambda mark: rh > mark, mark, 1.0)
        measure = season.meter.humidity[f"hours_over_{mark:.0f}"]
        same(measure, 0.25 * float((rh > mark).sum()))
    for mark in (55.0, 60.0):
        counted(f"rh_over_{mark:.0f}_pct_h", lambda mark: (rh - mark).clip(lower=0.0), mark, 1.0)
    bedroom = 100.0 * steps["bedroom_rh"]
    counted("bedroom_above_60_h", lambda mark: bedroom > mark, 60.0, 1.0)
    room, cooling = steps["indoor_temperature"], season.strategy.settings["cooling_setpoint"]
    counted("cool_h", lambda mark: room < mark, cooling - 1.0, 0.1)
    # Half a ton in July is too warm, a small heat pump in January too cold.
    for place, first, column, sign, name in (
        ("miami", 190, "warm_h", 1.0, "cooling_setpoint"),
        ("greensboro", 10, "cold_h", -1.0, "heating_setpoint"),
    ):
        small = ms.Cooling(stages=[ms.Stage(capacity="1 ton", shr=0.74)])
        season = ms.simulate(
            house(ach50=8.0), ms.Equipment(cooling=small, heating=ms.HeatPump(capacity="0.6 ton")),
            ms.strategies.temperature_only, stretch(place, first, 4), step="15 min", spin_up=0,
        )  # fmt: skip
        beyond = sign * (season.steps("indoor_temperature")["indoor_temperature"]
                         - season.strategy.settings[name])  # fmt: skip
        total = season.hourly.sum()
        if sign < 0.0:
            dry = 100.0 * season.steps("indoor_rh")["indoor_rh"]
            counted("below_40_h", lambda mark, dry=dry: dry < mark, 40.0, 1.0)
        counted(column, lambda mark, beyond=beyond: beyond > mark, 1.0, 0.1)


def everything(second: bool = False) -> ms.Season:
    """A day on which strips, dehumidifiers, fans and coil all run; or a house of two systems."""
    dry = ms.Dehumidifier(capacity="50 pint/day", humidistat=40.0)
    rows = [
        {"do": "cooling stage 1", "when": "humidity > 30 %", "release_when": "humidity < 20 %"},
        {"do": "strips stage 1", "when": "humidity > 30 %", "release_when": "humidity < 20 %"},
    ]
    parts: dict[str, Any] = {"dehumidifier": dry, "crawl_space_dehumidifier": dry}
    home = {"crawl_space": ms.CrawlSpace(kind="encapsulated")}
    control: Any = ms.rule_table(rows)
    if second:
        home["second_zone"] = ms.SecondZone(kind="wing")
        control = control.with_second(ms.strategies.temperature_only)
        parts["second_system"] = ms.SecondSystem(
            cooling=ms.Cooling(stages=[ms.Stage(capacity="1 ton")]), dehumidifier=dry,
            strips=ms.Strips(stages=["2 kW"]),
        )  # fmt: skip
    return ms.simulate(
        house(ach50=6.0, **home), machines(**parts), control, stretch("miami", 190, 1),
        step="15 min", spin_up=0,
    )  # fmt: skip


def heated(backup: bool, room: bool = False) -> ms.Season:
    """A winter's day of a heat pump, of strips alone, or of a room heater."""
    own = machines(heating=None) if backup else machines()
    if room:
        own = machines(heating=None, room_heater=ms.RoomHeater(capacity="8 kW"))
    return ms.simulate(
        house(ach50=6.0), own, ms.strategies.temperature_only, stretch("greensboro", 10, 1),
        step="15 min", spin_up=0,
    )  # fmt: skip


def quarters_hold_every_end_use() -> None:
    """Mean power of an hour's four quarters is the hour's electricity of all end uses together."""
    used: set[str] = set()
    for season in (
        everything(),
        heated(False),
        heated(True),
        heated(False, True),
        everything(second=True),
    ):
        columns = [
            name
            for use in END_USES
            for name in (f"{use}_kWh", f"second_system_{use}_kWh")
            if name in season.hourly
        ]
        by_hour = season.hourly[columns].sum(axis=1).to_numpy()
        quarters = season.quarters.to_numpy().reshape(-1, 4)
        same(quarters.mean(axis=1), by_hour, rel=1e-9)
        same(season.meter.total_kwh, by_hour.sum(), rel=1e-9)
        used |= {use for use in END_USES if season.hourly[f"{use}_kWh"].sum() > 0.01}
        # Each quarter stands in its place: that of its own steps.
        names = [f"{p}{use}" for use in END_USES for p in ("", "second_system_")]
        steps = season.steps(*(name for name in names if name in season._machine.fields))
        mean = steps.sum(axis=1).resample("15min").mean() / 1000.0
        same(season.quarters.to_numpy(), mean.to_numpy(), rel=1e-9)
        peaks = season.meter.peak_kw
        same(peaks.loc["60 min", "kW"], by_hour.max())
        same(peaks.loc["15 min", "kW"], quarters.max())
        assert peaks.loc["60 min", "begins"] == season.hourly.index[by_hour.argmax()]
        assert peaks.loc["15 min", "begins"] == season.quarters.index[quarters.ravel().argmax()]
    assert used == set(END_USES)


CHECKS = (
    weather_in_tables, household_in_tables, sun_from_its_bearing, lags_of_the_sensor,
    household_in_the_season, weather_in_the_season, readings_of_a_control, marks_of_the_measures,
    quarters_hold_every_end_use,
)  # fmt: skip


class Mutant(NamedTuple):
    """A fault in the source of one function."""

    place: str
    """Module and function."""
    old: str
    new: str
    check: Callable[[], None]
    """The check that must fail."""


FORCE, CALLS, POWER = "engine.forcing.force", "engine.loop.run", "engine.metering.electric_power"
ROOM, PEAKS = "engine.metering.meter_room", "season.meter.read_meter"


def late(series: str, values: str, check: Callable[[], None]) -> Iterator[tuple[str, Mutant]]:
    """A series an hour late, and an hour early."""
    for word, hours in (("late", 1), ("early", -1)):
        old = f"        {series}={values},\n"
        new = f"        {series}=np.roll({values}, {hours}),\n"
        yield f"{series} an hour {word}", Mutant(FORCE, old, new, check)


MUTANTS: dict[str, Mutant] = dict(
    mutant
    for series, values, check in (
        ("sun", "sunlit.windows", weather_in_tables), ("sol_air", "sunlit.sol_air", weather_in_tables),
        ("temperature", "t_out", weather_in_tables), ("humidity_ratio", "given.w_out", weather_in_tables),
        ("pressure", "given.pressure", weather_in_tables), ("wind", "wind", weather_in_tables),
        ("outdoor_rh", "100.0 * rh", weather_in_tables), ("density", "density", weather_in_tables),
        ("outdoor_dew_point", "given.dew_point", weather_in_tables),
        ("opening_wind", "WIND_EFFECTIVENESS * open_area * local_wind(house) * wind_speed", weather_in_tables),
        ("gains", "home.sensible", household_in_tables), ("moisture", "home.moisture", household_in_tables),
        ("shower", "home.shower", household_in_tables), ("cooking", "home.cooking", household_in_tables),
        ("shower_share", "home.shower_share", household_in_tables),
        ("cooking_share", "home.cooking_share", household_in_tables),
        ("occupied", "home.occupied", household_in_tables), ("dryer", "dryer", household_in_tables),
        ("range_hood", "range_hood", household_in_tables), ("bath_fans", "bath_fans", household_in_tables),
        ("hour", "given.hour", household_in_tables),
        ("day", "given.day", household_in_tables),
        ("may_open", "may_open(house, opening, index, home.occupied)", household_in_tables),
    )
    for mutant in late(series, values, check)
) | {
    "the loop reads the hour before": Mutant(
        CALLS, "hour = hour_of(hours, h)", "hour = hour_of(hours, max(h - 1, 0))", household_in_the_season
    ),
    "the loop reads the weather of the hour before": Mutant(
        "engine.loop.place_of", "2 * h + half", "max(2 * h - 2, 0) + half", weather_in_the_season
    ),
    "a control reads the outdoor RH of the hour before": Mutant(
        CALLS, "seen_outdoors(outdoors, h, hour,",
        "seen_outdoors(outdoors, h, hour_of(hours, max(h - 1, 0)),", readings_of_a_control,
    ),
    "humidity sensor with the temperature's gain": Mutant(
        "engine.sensing.follow", "sensor.humidity_gain, sensor", "sensor.temperature_gain, sensor",
        lags_of_the_sensor,
    ),
    "humidity sensor with the temperature's ramp": Mutant(
        "engine.sensing.follow", "sensor.humidity_follow", "sensor.temperature_follow", lags_of_the_sensor
    ),
    "humidity sensor with the temperature's lag halfway": Mutant(
        "engine.outset.halfway", "sensor.humidity_half", "sensor.temperature_half", lags_of_the_sensor
    ),
    "humidity sensor described by the temperature's lag": Mutant(
        "engine.parameters.sensor_parameters", "humidity_gain=gain(machines.sensor.humidity_lag)",
        "humidity_gain=gain(machines.sensor.temperature_lag)", lags_of_the_sensor,
    ),
    "temperature sensor with the humidity's lag": Mutant(
        "engine.outset.halfway", "sensor.temperature_half", "sensor.humidity_half", lags_of_the_sensor
    ),
    "an hour's peak is that of its first quarter": Mutant(
        PEAKS, ".mean(axis=1)", "[:, 0]", quarters_hold_every_end_use
    ),
    "an hour's peak is that of its highest quarter": Mutant(
        PEAKS, ".mean(axis=1)", ".max(axis=1)", quarters_hold_every_end_use
    ),
    "a step in the quarter before": Mutant(
        CALLS, "quarters[quarter] +=", "quarters[max(quarter - 1, 0)] +=", quarters_hold_every_end_use
    ),
    "a room heater missing from the quarters": Mutant(
        "engine.step.advance", "power += step.room_heat", "power += 0.0 * step.room_heat",
        quarters_hold_every_end_use,
    ),
    "a second system missing from the quarters": Mutant(
        "engine.step.advance", "power += end_second", "power += 0.0 * end_second", quarters_hold_every_end_use
    ),
    **{
        f"{use} missing from the quarters": Mutant(
            POWER, use, use.replace("+ ", "+ 0.0 * ") if "+" in use else f"0.0 * {use}",
            quarters_hold_every_end_use,
        )
        for use in (
            "        coil.compressor", "+ coil.indoor_fan", "+ heating.reheat", "+ heating.backup_heat",
            "+ heating.heat_pump", "+ dehumidifier.dehumidifier", "+ power.ventilation_fan",
            "+ power.standby", "+ power.space_dehumidifier",
        )
    },
    **{
        f"{name} counted from {other}": Mutant(ROOM, f"{name}={old}{mark}", f"{name}={old}{other}", marks_of_the_measures)
        for name, old, mark, others in (
            ("below_40", "flag(percent < ", 40.0, (39.0, 41.0)), ("above_50", "flag(percent > ", 50.0, (49.0, 51.0)),
            ("above_55", "flag(percent > ", 55.0, (54.0, 56.0)), ("above_60", "flag(percent > ", 60.0, (59.0, 61.0)),
            ("above_65", "flag(percent > ", 65.0, (64.0, 66.0)), ("rh_over_55", "max(percent - ", 55.0, (54.0, 56.0)),
            ("rh_over_60", "max(percent - ", 60.0, (59.0, 61.0)), ("bedroom_above_60", "flag(bedroom_rh > ", 0.6, (0.59, 0.61)),
            ("warm", "minute.occupied * flag(end.air.temperature > sensor.warm_above", "", (" - 0.1", " + 0.1")),
            ("cool", "minute.occupied * flag(end.air.temperature < sensor.cool_below", "", (" - 0.1", " + 0.1")),
            ("cold", "minute.occupied * flag(end.air.temperature < sensor.cold_below", "", (" - 0.1", " + 0.1")),
        )
        for other in others
    },
}  # fmt: skip


def killed() -> dict[str, str]:
    """What the check of each mutant says, in uncompiled code; empty for one that lives."""
    found: dict[str, str] = {}
    for name, mutant in {"sound at first": None, **MUTANTS, "sound at last": None}.items():
        if mutant is None:
            loop.compiled_run.cache_clear()
            for check in CHECKS:
                check()
            continue
        module, _, function = mutant.place.rpartition(".")
        sound = getattr(importlib.import_module(f"moistsim.{module}"), function)
        source = inspect.getsource(sound)
        assert source.count(mutant.old) == 1, f"{function} has not one {mutant.old!r}"
        code = "from __future__ import annotations\n" + source.replace(mutant.old, mutant.new)
        scope: dict[str, Any] = {}
        exec(compile(code, f"<{name}>", "exec"), sys.modules[f"moistsim.{module}"].__dict__, scope)
        places = [
            place
            for at, place in [*sys.modules.items()]
            if at.startswith("moistsim.") and vars(place).get(function) is sound
        ] + [sys.modules[__name__]] * (globals().get(function) is sound)
        for place in places:
            setattr(place, function, scope[function])
        # The loop keeps the function that it runs.
        loop.compiled_run.cache_clear()
        try:
            mutant.check()
            found[name] = ""
        except AssertionError as error:
            found[name] = str(error).split("\n")[0] or "fails"
        finally:
            for place in places:
                setattr(place, function, sound)
    return found


@pytest.mark.slow
def test_a_check_fails_for_each_mutant() -> None:
    said = uncompiled(killed)
    assert set(said) == set(MUTANTS)
    assert [name for name, text in said.items() if not text] == []


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_it(check: Callable[[], None]) -> None:
    check()

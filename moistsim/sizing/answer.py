"""The sizing of a study: loads, remaining moisture load, and machine sizes."""

from collections.abc import Iterable
from functools import partial
from typing import Any, cast

import attrs
import numpy as np
import pandas as pd

from moistsim import air
from moistsim.controls import Strategy, moved, temperature_only, thresholds, with_dehumidifier
from moistsim.core.display import Units, units_or_default
from moistsim.core.errors import InputError, Problem
from moistsim.core.progress import progress_bar
from moistsim.core.units import Role, to_si
from moistsim.equipment import Dehumidifier, Equipment, System
from moistsim.season import Season, simulate
from moistsim.sizing.columns import in_units, rated
from moistsim.sizing.conditions import HOT, MILD, Condition, conditions
from moistsim.sizing.loads import loads, second_loads
from moistsim.sizing.machines import REHEAT, Capacity, Room, capacity, deratings, reheat
from moistsim.sizing.sweeps import (
    Control,
    cooling_row,
    dehumidifier_row,
    enough,
    in_parallel,
    of_size,
    scaled,
)
from moistsim.study import Study

SCALES = (0.7, 0.85, 1.0, 1.25, 1.5, 2.0)
"""Relative sizes of the air conditioner to try."""
SIZES = tuple(f"{x} pint/day" for x in (15, 20, 25, 30, 40, 50, 70, 90, 120, 150))
"""Rated sizes of dehumidifiers to try: our own list. The smallest ones only show the trend."""
TEMPERATURE, RH = 24.5, 50.0
"""Indoor setpoints without a control that has others, degC and percent."""
WETTEST = "wettest day in 100"
"""The row of `Sizing.need` for the day that 1 % of days exceed."""
HOLDING = 1.5
"""Capacity of the ideal dehumidifier over the largest latent load of a day."""


@attrs.frozen(eq=False)
class Sizing:
    """Design loads, remaining moisture load and machine sizes, as `size` returns them.

    Frames are in SI. `tables` gives them in either units.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="07-01", end="08-31")
    >>> sizing = ms.size(study, sizes=["20 pint/day", "60 pint/day"], progress=False)
    >>> "water_pint_day" in sizing.tables("us")["loads"]
    True
    """

    study: Study
    room: Room
    control: Control
    conditions: dict[str, Condition]
    """Design conditions by name; see `conditions`."""
    loads: pd.DataFrame
    """Loads of the room at its setpoints, W and kg/day, by condition and source; `total` last."""
    air_conditioner: pd.DataFrame
    """Performance of the air conditioner by condition, with the outdoor air and the room.

    `stage` is the lowest stage that carries the sensible load in continuous operation. Its
    `runtime_fraction` is above 1 if it falls short, and `steady_water_kg_day` is its moisture
    removal at that runtime. The columns `alone_` are from the simulated season with the thermostat
    alone; their water is less re-evaporation. `held_water_kg_day` is the coil's share in the season
    in which an ideal dehumidifier holds the room.
    """
    need: pd.DataFrame
    """Remaining moisture load by condition and on the wettest day in 100, kg/day.

    `still_kg_day` is the load at the setpoints and `room_C` the dry bulb of the room in these hours.
    One column for each rating point has the rated moisture removal that a machine needs there.
    """
    derating: dict[str, float]
    """Moisture removal in the room at its setpoints as a fraction of the rated, by rating point."""
    oversizing: pd.Series
    """Capacity of the top stage over load at the hot condition: `sensible` and `total`.

    A value is missing where the stage would not run or there is no load.
    """
    cooling_sizes: pd.DataFrame
    """Humid hours, starts and energy by scale of the air conditioner, with the thermostat alone.

    `over_load` is the smaller of sensible and total capacity over load.
    """
    reheat: pd.DataFrame
    """Strips that hold the room, and their circuit, by cooling stage; see `machines.reheat`.

    The table is empty without a mild day.
    """
    dehumidifier_sizes: pd.DataFrame
    """Humid hours, starts and energy by rated size (kg/day), first without a dehumidifier."""
    rating: str
    """The rating point of the dehumidifier sizes."""
    enough: float | None
    """Size above which a larger dehumidifier stops helping, kg/day; see `sweeps.enough`."""
    second_loads: pd.DataFrame | None = None
    """Loads of a second zone with a system of its own, in the form of `loads`; None without one.

    Everything else here is that of the main zone and the first system.
    """
    second_oversizing: pd.Series | None = None
    """Capacity of the second system's top stage over its load at the hot condition, as `oversizing`."""

    @property
    def rated(self) -> float:
        """Rated moisture removal for the greatest need, kg/day, at the rating point `rating`."""
        return float(self.need[rated(self.rating)].max())

    def tables(self, units: Units | None = None) -> dict[str, pd.DataFrame]:
        """All frames by name, in SI or in trade units.

        Raises
        ------
        InputError
            If `units` is neither.
        """
        units = units_or_default(units, "tables units")
        frames = {
            name: getattr(self, name)
            for name in ("loads", "air_conditioner", "need", "cooling_sizes", "reheat",
                         "dehumidifier_sizes")
        }  # fmt: skip
        if self.second_loads is not None:
            frames["second_loads"] = self.second_loads
        return {name: in_units(frame, units) for name, frame in frames.items()}


def size(
    study: Study,
    *,
    temperature: float | str | None = None,
    rh: float | str | None = None,
    per_cent: float = 1.0,
    sizes: Iterable[float | str] = SIZES,
    scales: Iterable[float] = SCALES,
    progress: bool = True,
) -> Sizing:
    """Calculate the design loads of a house, and the machine sizes that hold its setpoints.

    There are three conditions. The first has the hours near the dew point that is exceeded in
    `per_cent` of all hours, and the second those near the dry bulb exceeded as often. The third is
    the most humid mild day, on which the thermostat is nearly satisfied. Loads are means over these
    hours of a simulated season. In it, an ideal dehumidifier holds the room at `rh`, next to the
    base option's air conditioner. Sun, people, wind and heat from walls are therefore those of the
    hours themselves.

    Parameters
    ----------
    study : Study
        The base option has the air conditioner and the house; its drying machines do not count. The
        first option with a dehumidifier gives that machine's efficiency, rating point and control.
    temperature, rh : float or str, optional
        Setpoints of the room, degC and percent. Default: the cooling setpoint and the humidity
        setpoint of that option (or of the first that has one), else 24.5 degC and 50 %.
    per_cent : float
        Percentage of hours in which a design value is exceeded: 0.4, 1 or 2.
    sizes : iterable
        Rated sizes of dehumidifiers to try, kg/s or texts, at that machine's rating point.
    scales : iterable of float
        Relative sizes of the air conditioner to try.
    progress : bool
        Show a progress bar.

    Returns
    -------
    Sizing

    Raises
    ------
    InputError
        If there is no air conditioner, the season lacks the hours, or an argument cannot be used.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="07-01", end="08-31")
    >>> sizing = ms.size(study, sizes=["20 pint/day", "60 pint/day"], progress=False)
    >>> bool(sizing.loads["latent_W"].gt(0).any())
    True
    """
    base = study.base or next(iter(study.options))
    machines, _, house = study.resolved[base]
    if machines.cooling is None:
        raise InputError(
            "size base", Problem(f"{base!r}, an option without cooling"), "one that cools"
        )
    given = [*sizes]
    asked = [to_si(x, "kg/s", "size sizes") for x in given]
    if not asked or min(asked) <= 0.0:
        raise InputError("size sizes", given, "one rated size or more, all above 0")
    options = study.resolved
    own = next((n for n, o in options.items() if o.equipment.dehumidifier is not None), None)
    control_of = own or next(
        (n for n, o in options.items() if thresholds(o.equipment, o.strategy)), base
    )
    template = _template(study, own)
    room = _room(study, control_of, temperature, rh)
    dried, drying = _drying(study, own, base, room)
    control = _control(dried, drying, room)
    only: Strategy = temperature_only(**_shared(options[control_of].strategy, room))
    whole: Any = machines
    plain: Equipment = attrs.evolve(whole, dehumidifier=None, hot_gas=None, enable=None)

    def run(equipment: Equipment, strategy: Strategy) -> Season:
        return simulate(
            house, equipment, strategy, study.weather,
            start=study.start, end=study.end, step=study.step,
        )  # fmt: skip

    def of_scale(scale: float) -> dict[str, float]:
        return cooling_row(run(scaled(plain, scale), only))

    def of_dehumidifier(dehumidifier: Dehumidifier | None) -> dict[str, float]:
        return dehumidifier_row(run(_with(dried, dehumidifier), drying), control.upper_edge)

    # An invalid size is refused before anything runs.
    dehumidifiers = [of_size(template, x) for x in sorted(set(asked))]
    every = sorted({1.0, *(float(x) for x in scales)})
    if every[0] <= 0.0:
        raise InputError("size scales", every[0], "relative sizes above 0")
    others = [x for x in every if x != 1.0]
    with progress_bar(
        3 + len(others) + len(dehumidifiers), "sizing", "season", shown=progress
    ) as bar:
        alone = run(plain, only)
        bar.update()
        chosen = conditions(alone, per_cent)
        held = run(_held(plain, template, alone, room), only)
        bar.update()
        rows = in_parallel(
            [
                *(partial(of_scale, x) for x in others),
                *(partial(of_dehumidifier, x) for x in (None, *dehumidifiers)),
            ],
            bar.update,
        )
    cooled = {1.0: cooling_row(alone), **dict(zip(others, rows, strict=False))}
    by_size = dict(
        zip(
            (0.0, *(86400.0 * dehumidifier.capacity for dehumidifier in dehumidifiers)),
            rows[len(others) :],
            strict=True,
        )
    )
    return _answer(
        study, plain, only, template, room, control, chosen, alone, held,
        _by("scale", {x: cooled[x] for x in every}), _by("rated_kg_day", by_size),
    )  # fmt: skip


def _by(name: str, rows: dict[Any, dict[str, float]]) -> pd.DataFrame:
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis(name)


def _answer(
    study: Study, plain: Equipment, only: Strategy, template: Dehumidifier, room: Room,
    control: Control, chosen: dict[str, Condition], alone: Season, held: Season,
    cooling: pd.DataFrame, dehumidifiers: pd.DataFrame,
) -> Sizing:  # fmt: skip
    by_hour = loads(held)
    tables: dict[Any, pd.DataFrame] = {n: by_hour.mean(x.hours) for n, x in chosen.items()}
    derating = deratings(alone.house, only, room, template.filter_factor)
    totals: dict[str, Any] = {name: table.loc["total"] for name, table in tables.items()}

    top = len(plain.cooling.stages) if plain.cooling else 0
    at_design = capacity(alone.house, plain, only, top, room, chosen[HOT])
    over = _over(at_design, totals[HOT])
    cooling.insert(0, "over_load", over.min() * cooling.index.to_numpy())

    strips = pd.DataFrame(columns=list(REHEAT)).rename_axis("stage")
    if MILD in chosen:
        by_the_hour = by_hour.sensible[chosen[MILD].hours].sum(axis=1)
        strips = reheat(
            alone.house, plain, only, room, chosen[MILD], chosen[HOT],
            float(totals[MILD]["sensible_W"]), float(by_the_hour.min()),
        )  # fmt: skip
    cooled = {
        name: _cooled(plain, only, room, x, totals[name], alone, held) for name, x in chosen.items()
    }
    return Sizing(
        study=study,
        room=room,
        control=control,
        conditions=chosen,
        loads=pd.concat(tables, names=["condition"]),
        air_conditioner=_by("condition", cooled),
        need=_need(only, template, room, chosen, held),
        derating=derating,
        oversizing=over,
        cooling_sizes=cooling,
        reheat=strips,
        dehumidifier_sizes=dehumidifiers,
        rating=template.rating,
        enough=enough(dehumidifiers),
        **_of_second(plain, only, room, chosen, held),
    )


def _over(capacity: Capacity | None, load: "pd.Series[float]") -> "pd.Series[float]":
    """Capacity over load, sensible and total."""
    over = pd.Series({"sensible": np.nan, "total": np.nan}, name="capacity over load")
    # Without a sensible load at the hot condition, the ratio does not exist.
    if capacity is not None and load["sensible_W"] > 0.0:
        over["sensible"] = capacity.sensible / load["sensible_W"]
        both = capacity.sensible + capacity.latent
        over["total"] = both / (load["sensible_W"] + load["latent_W"])
    return over


def _of_second(
    plain: Equipment, only: Strategy, room: Room, chosen: dict[str, Condition], held: Season
) -> dict[str, Any]:
    """Loads of a second zone with a system of its own, and that system's size over them."""
    second = plain.second_system
    if second is None:
        return {}
    by_hour = second_loads(held)
    tables: dict[Any, pd.DataFrame] = {n: by_hour.mean(x.hours) for n, x in chosen.items()}
    at_design = None
    if second.cooling is not None:
        alone = Equipment(
            **{field.name: getattr(second, field.name) for field in attrs.fields(cast(Any, System))}
        )
        top = len(second.cooling.stages)
        at_design = capacity(held.house, alone, only, top, room, chosen[HOT])
    load: Any = tables[HOT].loc["total"]
    return {
        "second_loads": pd.concat(tables, names=["condition"]),
        "second_oversizing": _over(at_design, load),
    }


def _cooled(
    plain: Equipment, only: Strategy, room: Room, at: Condition,
    load: "pd.Series[float]", alone: Season, held: Season,
) -> dict[str, float]:  # fmt: skip
    """A row of `Sizing.air_conditioner`."""
    assert plain.cooling is not None
    found, number = None, 0
    for number in range(1, len(plain.cooling.stages) + 1):
        found = capacity(alone.house, plain, only, number, room, at)
        if found is not None and found.sensible >= load["sensible_W"]:
            break
    hours, lonely, kept = at.hours, alone.hourly[at.hours], held.hourly[at.hours]
    stages = [f"cooling_stage_{k}_h" for k in range(1, len(plain.cooling.stages) + 1)]
    per_day = 24.0 / hours.sum()
    fraction = np.nan
    if found is not None:
        fraction = max(load["sensible_W"], 0.0) / found.sensible
    return {
        "outdoor_C": at.outdoor,
        "outdoor_dew_point_C": at.outdoor_dew_point,
        "hours": float(hours.sum()),
        "room_C": kept["indoor_temperature_C"].mean(),
        "room_rh_pct": kept["indoor_rh_pct"].mean(),
        "stage": float(number),
        "stage_sensible_W": found.sensible if found else np.nan,
        "stage_latent_W": found.latent if found else np.nan,
        "runtime_fraction": fraction,
        "steady_water_kg_day": 86400.0 * found.water * min(fraction, 1.0) if found else np.nan,
        "alone_runtime_h_day": lonely[stages].to_numpy().sum() * per_day,
        "alone_water_kg_day": _coil_water(lonely) * per_day,
        "alone_rh_pct": lonely["indoor_rh_pct"].mean(),
        "held_water_kg_day": _coil_water(kept) * per_day,
    }


def _coil_water(hourly: pd.DataFrame) -> float:
    """Water that the coil removed, less re-evaporation, kg."""
    return 0.0 - float((hourly["water_coil_kg"] + hourly["water_reevaporated_kg"]).sum())


def _need(
    only: Strategy, template: Dehumidifier, room: Room,
    chosen: dict[str, Condition], held: Season,
) -> pd.DataFrame:  # fmt: skip
    hourly = held.hourly
    taken = 0.0 - hourly["water_dehumidifier_kg"]
    days = pd.DatetimeIndex(hourly.index).normalize()
    by_day = taken.groupby(days).sum()
    wettest = float(by_day.quantile(0.99))
    # Fractions are for the room's temperature in these hours, and the RH that is to be held.
    hours = {name: x.hours for name, x in chosen.items()}
    hours[WETTEST] = days.isin(by_day.index[by_day >= wettest])
    rows = {}
    for name, of in hours.items():
        still = wettest if name == WETTEST else 24.0 * float(taken[of].mean())
        t = float(hourly["indoor_temperature_C"][of].mean())
        rows[name] = {"still_kg_day": still, "room_C": t}
        factors = deratings(held.house, only, Room(t, room.rh), template.filter_factor)
        for rating, factor in factors.items():
            rows[name][rated(rating)] = still / factor if factor > 0.0 else np.nan
    return _by("condition", rows)


def _held(plain: Equipment, template: Dehumidifier, alone: Season, room: Room) -> Equipment:
    """Add an ideal dehumidifier, large enough to hold the room in every hour."""
    most = loads(alone).water.sum(axis=1)
    by_day = most.groupby(pd.DatetimeIndex(most.index).date).mean().max()
    water = float(np.clip(HOLDING * by_day, 2.0e-4, 2.0e-3))
    ideal = Dehumidifier(
        # Its removal in this room is about half of that at 80 degF, 60 % RH.
        capacity=2.0 * water,
        energy_factor=template.capacity / template.drying_power(),
        airflow=2.0 * water / template.capacity * template.airflow,
        rating=template.rating, humidistat=room.rh, deadband=1.0,
        minimum_on=0.0, minimum_off=0.0,
    )  # fmt: skip
    whole: Any = plain
    return attrs.evolve(whole, dehumidifier=ideal)  # type: ignore[no-any-return]


def _template(study: Study, own: str | None) -> Dehumidifier:
    found = study.resolved[own].equipment.dehumidifier if own else None
    return found or Dehumidifier(capacity=to_si("70 pint/day", "kg/s", ""))


def _with(machines: Equipment, dehumidifier: Dehumidifier | None) -> Equipment:
    whole: Any = machines
    return attrs.evolve(whole, dehumidifier=dehumidifier)  # type: ignore[no-any-return]


def _shared(strategy: Strategy, room: Room) -> dict[str, float]:
    """Setpoints of the plain thermostat that another control has too."""
    shared = {}
    for name, setting in temperature_only.declared.items():
        # A setting without a role is the same one if it has the same name and unit.
        other = strategy.name_of(setting.role) if setting.role is not None else name
        if other in strategy.settings and strategy.units[other] == setting.unit:
            shared[name] = strategy.settings[other]
    return {**shared, "cooling_setpoint": room.temperature}


def _drying(study: Study, own: str | None, base: str, room: Room) -> tuple[Equipment, Strategy]:
    """Machines and control for the sweep of dehumidifier sizes, with the setpoints of the room."""
    if own is None:
        machines, strategy, _ = study.resolved[base]
        return machines, with_dehumidifier(target_rh=room.rh, **_shared(strategy, room))
    machines, strategy, _ = study.resolved[own]
    cooling = strategy.name_of(Role.COOLING)
    if cooling is not None:
        strategy = strategy(**{cooling: room.temperature})
    level = _level(machines, strategy, room.temperature)
    return moved(machines, strategy, 0.0 if level is None else room.rh - level)


def _control(machines: Equipment, strategy: Strategy, room: Room) -> Control:
    dehumidifier = machines.dehumidifier
    if dehumidifier is not None and dehumidifier.humidistat is not None:
        return Control(
            dehumidifier.humidistat, dehumidifier.humidistat + 0.5 * dehumidifier.deadband
        )
    half = 0.5 * (strategy.setpoint(Role.HUMIDITY_DEADBAND) or 0.0)
    return Control(room.rh, room.rh + half)


def _room(
    study: Study, option: str, temperature: float | str | None, rh: float | str | None
) -> Room:
    machines, strategy, _ = study.resolved[option]
    t = strategy.setpoint(Role.COOLING)
    if temperature is not None:
        t = to_si(temperature, "degC", "size temperature")
    elif t is None:
        t = TEMPERATURE
    if not 18.0 <= t <= 32.0:
        raise InputError("size temperature", f"{t:.1f} °C", "from 18 to 32 °C (64 to 90 °F)")
    level = _level(machines, strategy, t) if rh is None else to_si(rh, "percent", "size rh")
    if level is None:
        level = RH
    # Setpoints of residential dehumidifiers lie within these limits.
    if not 30.0 <= level <= 75.0:
        raise InputError("size rh", f"{level:g} %", "from 30 to 75 % RH")
    return Room(t, level)


def _level(machines: Equipment, strategy: Strategy, t: float) -> float | None:
    """Mean of a control's humidity setpoints as RH in a room at `t`, percent; None without one."""
    at = [
        x.value
        if x.unit == "percent"
        else 100.0 * float(air.saturation_pressure(x.value) / air.saturation_pressure(t))
        for x in thresholds(machines, strategy)
        if x.owner != "enable"
    ]
    return float(np.mean(at)) if at else None

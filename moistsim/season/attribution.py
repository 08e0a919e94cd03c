"""Water and heat that each machine removed, split by source with `engine.tags`.

The run is simulated once more, day by day, and the tags follow every step. Memory holds the steps of
one day at a time.
"""

from typing import NamedTuple

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.engine import STEP_FIELDS, Forcing, Machine, State, tags

J_PER_KWH = 3.6e6
HELD = "held"
"""Name of the column that holds the amount still in the house at the end."""


class Day(NamedTuple):
    """One day of one ledger, in kg or J; the arrays are by source, as in `tags.Account`."""

    before: NDArray[np.float64]
    """Content of the whole house at the day's start, by source."""
    brought: NDArray[np.float64]
    left: NDArray[np.float64]
    driven: NDArray[np.float64]
    after: NDArray[np.float64]
    """Content at the day's end, by source and reservoir."""
    state: NDArray[np.float64]
    """Content at the day's end by reservoir, calculated from the state without the tags."""


class Tally(NamedTuple):
    """The days of a run in order, and the electricity of reheat, J."""

    water: list[Day]
    heat: list[Day]
    reheat: list[float]
    dates: list[pd.Timestamp]
    ledgers: tuple[tags.Ledger, tags.Ledger]
    """The parts of the ledgers of water and heat that the run uses."""
    whole: tuple[tags.Ledger, tags.Ledger]
    """The whole ledgers of water and heat."""


def tally(
    machine: Machine,
    forcing: Forcing,
    index: pd.DatetimeIndex,
    first_state: NDArray[np.float64],
    first_memory: NDArray[np.float64],
    states: NDArray[np.float64],
    hourly: NDArray[np.float64],
    below: float = 0.0,
    ledgers: tuple[tags.Ledger, tags.Ledger] | None = None,
) -> Tally:
    """Follow the tags through a run.

    Parameters
    ----------
    machine, forcing, index, first_state, first_memory, states, hourly
        Parts of the run: `states` are at the end of each hour, and `hourly` are sums over it.
    below : float
        Further distance of the zeros of heat below the coldest states, K; see `engine.tags`.
    ledgers : tuple, optional
        Ledgers of water and of heat; default: those of the house and its spaces.
    """
    zone, whole = machine.plant.zone, ledgers or ledgers_of(machine)
    room = np.array([1.0, zone.fast_capacity, zone.slow_capacity, 0.0]) * (tags.MARGIN + below)
    every = states_of(np.vstack([first_state, states]))
    water, levels = tags.held(zone, every, np.zeros(len(tags.HEAT.reservoirs)))
    # Every house keeps all four reservoirs of heat, because their zeros go by position.
    ledgers = (
        tags.at_work(whole[0], hourly, water, machine.fields),
        tags.at_work(whole[1], hourly, np.ones_like(levels), machine.fields),
    )
    # The zero of the air is a temperature, and the zero of the vapor is no water.
    zero = np.array([np.min(every.indoor_temperature), *levels[1:3].min(axis=1), 0.0]) - room
    run = (machine, forcing, index, first_state, first_memory, states)
    result, lowest = _follow(*run, zero, below, ledgers, whole)
    if (lowest < 0.0).any():
        # Within an hour, the house was colder than at any hour's end, so the zeros move down.
        zero += np.minimum(lowest, 0.0) - room * (lowest < 0.0)
        result, _ = _follow(*run, zero, below, ledgers, whole)
    return result


def states_of(rows: NDArray[np.float64]) -> State:
    """States of the house in rows, each field an array; spaces behind them are left out."""
    return State(*rows[:, : len(State._fields)].T)


def ledgers_of(machine: Machine) -> tuple[tags.Ledger, tags.Ledger]:
    """Ledgers of water and heat of a house with its spaces."""
    spaces = tuple(machine.spaces)
    return tags.water_beside(spaces), tags.heat_beside(spaces)


def _follow(
    machine: Machine,
    forcing: Forcing,
    index: pd.DatetimeIndex,
    first_state: NDArray[np.float64],
    first_memory: NDArray[np.float64],
    states: NDArray[np.float64],
    zero: NDArray[np.float64],
    below: float,
    ledgers: tuple[tags.Ledger, tags.Ledger],
    whole: tuple[tags.Ledger, tags.Ledger],
) -> tuple[Tally, NDArray[np.float64]]:
    """Make one pass through a run; return the tally and the lowest content of each reservoir.

    A negative content means that the room (K) or a mass (J) fell below its zero.
    """
    zone, dt = machine.plant.zone, 3600.0 / machine.steps
    spaces = tuple(machine.spaces)
    tables = tuple(tags.table(ledger, machine.fields, spaces) for ledger in ledgers)
    accounts = tuple(tags.account(ledger) for ledger in ledgers)
    begin = State(*(float(x) for x in first_state[: len(State._fields)]))
    places = [
        [every.reservoirs.index(name) for name in ledger.reservoirs]
        for every, ledger in zip(whole, ledgers, strict=True)
    ]
    for one, ledger, amount, place in zip(
        accounts, ledgers, tags.held(zone, begin, zero), places, strict=True
    ):
        one.content[ledger.sources.index(tags.INITIAL)] = amount[place]
    state, memory = first_state.copy(), first_memory.copy()
    t, coldest = begin.indoor_temperature, begin.indoor_temperature
    lowest = np.zeros(len(ledgers[1].reservoirs))
    days = index.normalize()
    bounds = [0, *(np.flatnonzero(days[1:] != days[:-1]) + 1), len(index)]
    ends = tags.held(zone, states_of(states[np.array(bounds[1:]) - 1]), zero)
    longest = machine.steps * int(np.diff(bounds).max())
    all_rates = np.empty((longest, len(tags.derived_fields(spaces))))
    all_water, all_heat = (np.empty((longest, len(one.reservoirs))) for one in ledgers)
    result = Tally([], [], [], [], ledgers, whole)
    for first, last in zip(bounds[:-1], bounds[1:], strict=True):
        record = machine.run(forcing.part(first, last), state, memory, trace=True)
        before = [one.content.sum(axis=1) for one in accounts]
        for one in accounts:
            for count in (one.brought, one.left, one.driven):
                count[:] = 0.0
        steps = record.trace
        rates, water = all_rates[: len(steps)], all_water[: len(steps)]
        contents = all_heat[: len(steps)]
        tags.carry(steps, rates, dt, tables[0], accounts[0], water)
        tags.derive(steps, water, zone, t, zero[0], below, rates)
        tags.carry(steps, rates, dt, tables[1], accounts[1], contents)
        lowest = np.minimum(lowest, contents.min(axis=0))
        t = float(steps[-1, _ROOM])
        coldest = min(coldest, float(steps[:, _ROOM].min()))
        for log, one, earlier, amounts, place in zip(
            (result.water, result.heat), accounts, before, ends, places, strict=True
        ):
            sums = (one.brought.copy(), one.left.copy(), one.driven.copy(), one.content.copy())
            log.append(Day(earlier, *sums, amounts[place, len(result.dates)]))
        result.reheat.append(float(steps[:, _REHEAT].sum()) * dt)
        result.dates.append(days[first])
        # The steps of two days together do not fit into the processor's cache.
        del record, steps
    lowest[0], lowest[3] = coldest - zero[0], 0.0
    return result, lowest


_ROOM, _REHEAT = STEP_FIELDS.index("indoor_temperature"), STEP_FIELDS.index("reheat")


@attrs.frozen(eq=False)
class Attribution:
    """Sources and destinations of all water and heat, over a season or a day.

    `engine.tags` describes the method, and the meaning of a source of heat, which has no zero.
    """

    water: pd.DataFrame
    """Water by source (rows) and sink (columns), kg.

    The last column, `held`, is the water still in the house. A row's sum equals the sum of the same
    row in `water_sources`.
    """
    water_sources: pd.DataFrame
    """Water by source, kg: `held_before` at the start, and `brought` since then."""
    heat: pd.DataFrame
    """Heat by source (rows) and sink (columns), kWh, in the form of `water`.

    The coil has two columns, `coil_sensible` and `coil_latent`.
    """
    heat_sources: pd.DataFrame
    """Heat by source, kWh, in the form of `water_sources`."""
    kwh: pd.DataFrame
    """Electricity of compressor and dehumidifier by source and sink of the heat, kWh.

    The compressor (with the outdoor fan) is in `coil_sensible` and `coil_latent`, divided in each
    step in proportion to the heat that the coil removed. The dehumidifier is divided by the vapor
    that it removed.
    """
    reheat_kwh: float
    """Electricity of strips as reheat, kWh."""
    residual: pd.DataFrame
    """Audit of the tags, with rows for water (kg) and heat (kWh).

    The first columns are the content at the end by the states and by the tags. `residual` is their
    difference in the reservoir where it is largest. `gross` is the gross flow, and `relative` is the
    residual over it.
    """

    @property
    def compressor_kwh(self) -> pd.Series:
        """Compressor's electricity by source of the heat that the coil removed, kWh.

        ``compressor_kwh["reheat"]`` is the part spent on heat that strips had added.
        """
        return self.kwh[["coil_sensible", "coil_latent"]].sum(axis=1).rename("kWh")

    @property
    def loads(self) -> pd.DataFrame:
        """Balance of water (kg) and of heat (kWh) by source.

        Returns
        -------
        DataFrame
            Rows are sources. ``water_in_kg`` is the water that came in from the source. Each sink has
            a column, such as ``water_coil_kg``. ``water_stored_kg`` is the increase of that water in
            the house from start to end, negative if it decreased. ``heat_in_kWh`` and the sinks of
            heat are latent and sensible heat together. Heat to the coil has two columns,
            ``heat_coil_latent_kWh`` and ``heat_coil_sensible_kWh``. The source ``initial`` is the
            content of the house at the start of the run.
        """
        frames = []
        for name, unit, table, came in (
            ("water", "kg", self.water, self.water_sources),
            ("heat", "kWh", self.heat, self.heat_sources),
        ):
            went = table.drop(columns=HELD)
            frames.append(
                pd.DataFrame(
                    {
                        f"{name}_in_{unit}": came["brought"],
                        **{f"{name}_{sink}_{unit}": went[sink] for sink in went},
                        f"{name}_stored_{unit}": table[HELD] - came["held_before"],
                    }
                )
            )
        # A missing value is a true zero here: sun, for example, brings no water.
        return pd.concat(frames, axis=1).fillna(0.0)

    @property
    def compressor_per_reheat(self) -> float:
        """Compressor electricity to remove one kWh of the strips' reheat, kWh; nan without reheat."""
        if self.reheat_kwh <= 0.0:
            return float("nan")
        return float(self.compressor_kwh["reheat"]) / self.reheat_kwh

    @property
    def drying_heat_kwh(self) -> float:
        """Compressor's electricity to remove heat that drying itself had added, kWh.

        That heat comes from reheat and from the dehumidifier.
        """
        sources = [source for heat in tags.DRYING_HEAT.values() for source in heat]
        return float(self.compressor_kwh[sources].sum())

    @property
    def liters(self) -> pd.DataFrame:
        """Water removed from the house by the coil's drain and by the dehumidifier, liters by source."""
        return self.water[["coil", "dehumidifier"]]

    @property
    def per_liter(self) -> pd.DataFrame:
        """Electricity for a liter of water removed, by machine.

        Returns
        -------
        DataFrame
            Rows are coil and dehumidifier. `liters` is the water removed. `own_kWh` is the
            compressor's electricity for the heat of the vapor, or the dehumidifier's electricity.
            `strips_kWh` is reheat by strips, without which the coil could not have run.
            `compressor_kWh` is the compressor's electricity to remove the heat that reheat (strips
            and hot gas) or the dehumidifier added to the house. `kWh_per_liter` is their sum per
            liter, nan without water. Blowers are not included. It is the mean of all liters, and the
            coil removes most of them during normal cooling. The next liter, or a liter of another
            option, may cost more or less.
        """
        compressor = self.compressor_kwh
        frame = pd.DataFrame(
            {
                "liters": self.liters.sum(),
                "own_kWh": {
                    "coil": self.kwh["coil_latent"].sum(),
                    "dehumidifier": self.kwh["dehumidifier"].sum(),
                },
                "strips_kWh": {"coil": self.reheat_kwh, "dehumidifier": 0.0},
                "compressor_kWh": {
                    machine: compressor[sources].sum()
                    for machine, sources in tags.DRYING_HEAT.items()
                },
            }
        )
        total = frame[["own_kWh", "strips_kWh", "compressor_kWh"]].sum(axis=1)
        frame["kWh_per_liter"] = total / frame["liters"].where(frame["liters"] > 0.0)
        return frame


def attribution(
    result: Tally,
    day: int | None = None,
) -> Attribution:
    """Tables of a whole run, or of one of its days by number."""
    chosen = slice(None) if day is None else slice(day, day + 1)
    rows, residuals = [], {}
    for name, log, ledger, whole, unit in (
        ("water", result.water[chosen], result.ledgers[0], result.whole[0], 1.0),
        ("heat", result.heat[chosen], result.ledgers[1], result.whole[1], J_PER_KWH),
    ):
        sources, sinks = list(ledger.sources), list(ledger.sinks)
        left = np.sum([one.left for one in log], axis=0) / unit
        after, state = log[-1].after / unit, log[-1].state / unit
        table = pd.DataFrame(np.vstack([left, after.sum(axis=1)]).T, sources, [*sinks, HELD])
        came = pd.DataFrame(
            {
                "held_before": log[0].before / unit,
                "brought": np.sum([one.brought for one in log], axis=0) / unit,
            },
            index=sources,
        )
        driven = np.sum([one.driven for one in log], axis=0) / unit
        machines = pd.DataFrame(driven.T, sources, sinks)
        used = dict.fromkeys(f.sink for f in whole.flows if f.drives and f.sink)
        # Sources and sinks without any flow are zero, not unknown.
        names = list(whole.sources)
        rows.append(
            (
                table.reindex(index=names, columns=[*whole.sinks, HELD], fill_value=0.0),
                came.reindex(index=names, fill_value=0.0),
                machines.reindex(index=names, columns=list(used), fill_value=0.0),
            )
        )
        gap = state - after.sum(axis=0)
        worst = float(gap[np.abs(gap).argmax()])
        gross = float(came["brought"].sum() + left.sum())
        residuals[name] = (
            float(state.sum()), float(after.sum()), worst, gross, worst / gross if gross else 0.0,
        )  # fmt: skip
    (water, water_sources, _), (heat, heat_sources, kwh) = rows
    return Attribution(
        water, water_sources, heat, heat_sources, kwh,
        sum(result.reheat[chosen]) / J_PER_KWH,
        pd.DataFrame.from_dict(
            residuals, orient="index", columns=["states", "tags", "residual", "gross", "relative"]
        ),
    )  # fmt: skip

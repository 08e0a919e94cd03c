"""A study: several options for one house in one weather, and their comparison."""

from collections.abc import Iterable, Mapping
from concurrent.futures import as_completed
from typing import TYPE_CHECKING, Any, NamedTuple

import attrs
import pandas as pd

from moistsim.controls import Strategy, check_machines
from moistsim.core.abandoning import Threads
from moistsim.core.changes import Change, differences
from moistsim.core.display import Show, Units, units_or_default
from moistsim.core.errors import InputError, Problem, one_of
from moistsim.core.measures import in_trade
from moistsim.core.progress import progress_bar
from moistsim.core.summary import Summarized, Summary
from moistsim.core.whole_numbers import worker_count
from moistsim.engine import column_catalog, infiltration, key, measures_of
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.prices import Bill, Emissions, Tariff, bill
from moistsim.season import AirLeakage, Meter, Season, simulate
from moistsim.study.goal import Goal
from moistsim.weather import Weather

if TYPE_CHECKING:
    from moistsim.study.at_goal import AtGoal
    from moistsim.study.matching import Matched
    from moistsim.study.three_ways import ThreeWays

ALIKE = 0.3
"""Largest difference of mean dew points between options that count as equally dry, K."""


def _options(given: Any) -> dict[str, Any]:
    """Options by name, of which each has a text for a name."""
    if isinstance(given, Weather):
        raise InputError(
            "Study.options",
            Problem("weather in the place of the options"),
            "the order of `simulate`: Study(house, options, weather)",
        )
    if not isinstance(given, Mapping) or not all(isinstance(name, str) for name in given):
        raise InputError("Study.options", given, "a dict of (Equipment, strategy) by name")
    return dict(given)


class Option(NamedTuple):
    """The equipment, the strategy and the house of an option."""

    equipment: Equipment
    strategy: Strategy
    house: House
    """The option's own house, or that of the study."""


@attrs.frozen(eq=False)
class Study(Summarized):
    """Options for one house: each has equipment and a strategy, and may change the house.

    Parameters
    ----------
    house : House
        The house as it is.
    options : dict of str to (Equipment, Strategy) or (Equipment, Strategy, House)
        Options by name, in the order of all tables and figures. A third entry is the house after a
        change, such as sealed ducts, made from `house` with `House.evolve`.
    weather : Weather
        The weather of all options.
    tariff : Tariff
    emissions : Emissions, optional
        Emission factors. With them, tables have a column with the emissions of each option.
    base : str, optional
        The option that the others are compared with; default: the first.
    start, end, step
        As for `simulate`.
    goal : Goal, optional
        How humid the owner lets the house be; `at_goal` brings the options there.

    Examples
    --------
    >>> import moistsim as ms
    >>> unit = ms.Cooling(stages=[ms.Stage(capacity="24000 Btu/h")])
    >>> cooled = ms.Equipment(cooling=unit)
    >>> dried = ms.Equipment(
    ...     cooling=unit, dehumidifier=ms.Dehumidifier(capacity="70 pint/day")
    ... )
    >>> study = ms.Study(
    ...     ms.House(floor_area="1900 ft2"),
    ...     {
    ...         "Thermostat": (cooled, ms.strategies.temperature_only),
    ...         "Dehumidifier": (dried, ms.strategies.with_dehumidifier(target_rh=52)),
    ...     },
    ...     ms.Weather.sample("miami"),
    ...     tariff=ms.Tariff(price="15 cent/kWh"),
    ...     start="07-01",
    ...     end="07-02",
    ... )
    >>> list(study.run(progress=False).table().index)
    ['Thermostat', 'Dehumidifier']

    An option with less air leakage:

    >>> sealed = study.house.evolve(ach50=2)
    >>> options = {**study.options, "Air sealing": (cooled, ms.strategies.temperature_only, sealed)}
    >>> study.evolve(options=options).resolved["Air sealing"].house.ach50
    2.0
    """

    house: House
    options: Mapping[str, tuple[Equipment, Strategy] | tuple[Equipment, Strategy, House]] = (
        attrs.field(converter=_options)
    )
    """Options as given; `resolved` has them with their houses."""
    weather: Weather
    tariff: Tariff = attrs.field(factory=Tariff, kw_only=True)
    emissions: Emissions | None = attrs.field(default=None, kw_only=True)
    base: str | None = attrs.field(default=None, kw_only=True)
    start: str | None = attrs.field(default=None, kw_only=True)
    end: str | None = attrs.field(default=None, kw_only=True)
    step: float | str = attrs.field(default="60 s", kw_only=True)
    goal: Goal = attrs.field(factory=Goal, kw_only=True)

    def __attrs_post_init__(self) -> None:
        if not self.options:
            raise InputError("Study.options", dict(self.options), "one option or more")
        for name, option in self.options.items():
            kinds = (Equipment, Strategy, House)
            accepted = (
                "(Equipment, strategy), or (Equipment, strategy, house) if it changes the house"
            )
            where = f"Study.options[{name!r}]"
            if not isinstance(option, tuple) or len(option) not in (2, 3):
                raise InputError(where, option, accepted)
            for number, (entry, kind) in enumerate(zip(option, kinds, strict=False), 1):
                if not isinstance(entry, kind):
                    found = Problem(f"entry {number} is of the type {type(entry).__name__}")
                    raise InputError(where, found, accepted)
        if self.base is not None and self.base not in list(self.options):
            raise InputError("Study.base", self.base, one_of(str(self.base), self.options))

    def summary(self, show: Show) -> Summary:
        """House, weather, price and options, as a notebook shows them."""
        from moistsim.study.summarizing import study_summary

        return study_summary(self, show)

    def __repr__(self) -> str:
        return f"<Study in {self.weather.name or 'unnamed weather'}: {', '.join(self.options)}>"

    @property
    def resolved(self) -> dict[str, Option]:
        """Options by name, each with its house."""
        return {
            name: Option(option[0], option[1], option[2] if len(option) == 3 else self.house)
            for name, option in self.options.items()
        }

    def evolve(self, changes: Mapping[str, Any] | None = None, /, **fields: Any) -> "Study":
        """Copy this study with other values, checked as when it was made.

        What an option changes in the house stays its change, also in another house.

        Parameters
        ----------
        changes : dict, optional
            Values inside parts, by the names that `Sweep` varies: ``house.ach50``, ``tariff.price``,
            ``equipment.dehumidifier.capacity`` and ``strategy.target_rh`` of all options that have
            it, or ``options.NAME.strategy.target_rh`` of one.
        **fields
            Values of its own fields, such as ``start``.

        Raises
        ------
        InputError
            If a name is unknown or inside a part that is not there, or a value is refused.

        Examples
        --------
        >>> import moistsim as ms
        >>> study = ms.scenario.read_scenario(ms.scenario.DEMO).study
        >>> july = study.evolve({"house.ach50": 4, "tariff.price": 0.2}, start="07-01", end="07-31")
        >>> july.house.ach50, july.tariff.price, july.start
        (4.0, 0.2, '07-01')
        """
        from moistsim.study.evolving import evolved_study

        return evolved_study(self, {**(changes or {}), **fields})

    def changes(self, option: str) -> tuple[Change, ...]:
        """The values that an option changes in the house.

        Raises
        ------
        InputError
            If there is no such option.
        """
        if option not in self.options:
            raise InputError("Study.changes", option, one_of(option, self.options))
        return tuple(differences(self.house, self.resolved[option].house))

    def run(self, *, progress: bool = True, workers: int | None = None) -> "Comparison":
        """Simulate every option, on threads.

        Parameters
        ----------
        progress : bool
            Show a progress bar.
        workers : int, optional
            Number of threads; default: one for each core.

        Raises
        ------
        InputError
            Before the first run, if a strategy calls a machine that its option lacks. Also if a
            control fails within a run.
        """
        options = self.resolved
        for name, (machines, strategy, _) in options.items():
            check_machines(strategy, machines, f"Study.options[{name!r}]")

        # The first run calculates the forcing that the others share, and loads the compiled loop.
        def one(name: str) -> Season:
            machines, strategy, house = options[name]
            return simulate(
                house, machines, strategy, self.weather,
                start=self.start, end=self.end, step=self.step,
            )  # fmt: skip

        first, *others = self.options
        with (
            progress_bar(len(self.options), "options", "season", shown=progress) as bar,
            Threads(worker_count(workers, "Study.run workers")) as pool,
        ):
            seasons = {first: one(first)}
            bar.update()
            tasks = {pool.submit(one, name): name for name in others}
            for task in as_completed(tasks):
                seasons[tasks[task]] = task.result()
                bar.update()
        return Comparison(self, {name: seasons[name] for name in self.options})

    def comparison_of(
        self, as_set: "Comparison | None", *, progress: bool = True, workers: int | None = None
    ) -> "Comparison":
        """This study's comparison: the one that was run, or a new one.

        Tariff, base and goal of the one that was run may differ, because none changes a season.

        Raises
        ------
        InputError
            If `as_set` is of another study.
        """
        if as_set is None:
            return self.run(progress=progress, workers=workers)
        for field in ("house", "weather", "options", "start", "end", "step"):
            if getattr(as_set.study, field) != getattr(self, field):
                raise InputError(
                    "study as_set",
                    Problem(f"a comparison of a study with {field} of its own"),
                    "what this study's `run` returned",
                )
        return Comparison(self, as_set.seasons)

    def at_goal(
        self,
        *,
        as_set: "Comparison | None" = None,
        progress: bool = True,
        workers: int | None = None,
    ) -> "AtGoal":
        """Options at the owner's goal, so that their bills pay for the same benefit.

        Each option's humidity setpoints move to the dampest setting that keeps `goal`, and its
        cooling setpoint to where its room is no colder than the base option's; see
        `at_goal.bring_to_goal`.

        Parameters
        ----------
        as_set : Comparison, optional
            This study's own comparison, if it has been run.
        progress : bool
            Show a progress bar.
        workers : int, optional
            Number of threads; default: one for each core.

        Returns
        -------
        AtGoal
            `comparison` and `table` show the options at the goal. `cannot` has the options that do
            not keep it, each with the reason.
        """
        from moistsim.study.at_goal import at_goal

        return at_goal(self, as_set=as_set, progress=progress, workers=workers)

    def matched(
        self,
        measure: str = "mean dew point",
        within: float | str | None = None,
        *,
        target: float | str | None = None,
        as_set: "Comparison | None" = None,
        progress: bool = True,
        workers: int | None = None,
    ) -> "Matched":
        """Options at the same humidity, so their bills can be compared.

        All humidity setpoints of an option move by one amount, which keeps their order, until the
        option holds the target.

        Parameters
        ----------
        measure : str
            The measure that all options should reach: "mean dew point", "mean RH", or "RH-hours
            above 55 %" (or 60 %), the excess integrated. Hours above a level are not accepted,
            because they stay at zero in a dry house.
        within : float or str, optional
            Tolerance of the target; default: 0.2 K, 0.5 % RH or 20 % h.
        target : str or float, optional
            A humidity such as "54 degF", or the name of an option whose humidity as set is the
            target. Default: the humidity of the driest option with humidity setpoints.
        as_set : Comparison, optional
            This study's own comparison, if it has been run; its tariff and base may differ.
        progress : bool
            Show a progress bar.
        workers : int, optional
            Number of threads; default: one for each core.

        Returns
        -------
        Matched
            `comparison` and `table` show the matched options. `cannot` has the options that cannot
            hold the target, each with the reason.

        Raises
        ------
        InputError
            Before any run, if something cannot be used.
        """
        from moistsim.study.matching import match

        return match(
            self, measure, within, target=target, as_set=as_set, progress=progress, workers=workers
        )

    def three_ways(
        self,
        *,
        as_set: "Comparison | None" = None,
        progress: bool = True,
        workers: int | None = None,
    ) -> "ThreeWays":
        """The options as set, at the owner's goal, and at the dew point of the driest option.

        Parameters
        ----------
        as_set, progress, workers
            As for `at_goal`.
        """
        from moistsim.study.three_ways import ThreeWays

        before = self.comparison_of(as_set, progress=progress, workers=workers)
        how: dict[str, Any] = {"as_set": before, "progress": progress, "workers": workers}
        return ThreeWays(self.at_goal(**how), self.matched(**how))

    def bill(self, season: Season) -> Bill:
        """The bill of a season by this study's tariff."""
        return bill(
            self.tariff,
            season.quarters,
            gas=column_catalog.in_both_systems(season.hourly, column_catalog.GAS.name)
            if season.equipment.burns_gas
            else None,
            utc_offset=season.weather.utc_offset,
        )

    def over(
        self, weathers: Mapping[Any, Weather], *, progress: bool = True, units: Units | None = None
    ) -> pd.DataFrame:
        """Tables of this study in several weathers, such as the years of one place.

        Parameters
        ----------
        weathers : dict of Weather
            By year or name; `Weather.years` gives one.
        progress : bool
            Show a progress bar for each.
        units
            As for `Comparison.table`.

        Returns
        -------
        pandas.DataFrame
            The tables of all weathers, indexed by weather and option. The spread of each option is
            ``table.groupby("option")["total_kWh"].describe()``.

        Raises
        ------
        InputError
            If there is no weather.
        """
        if not weathers:
            raise InputError("Study.over", dict(weathers), "one weather or more")
        tables = {
            name: attrs.evolve(self, weather=weather).run(progress=progress).table(units)
            for name, weather in weathers.items()
        }
        out: pd.DataFrame = pd.concat(tables, names=["weather", "option"])
        return out


@attrs.frozen(eq=False)
class Comparison(Summarized):
    """Comparison of a study's options: the season of each, with tables of all.

    `Study.run` makes it.

    Examples
    --------
    >>> import moistsim as ms
    >>> unit = ms.Cooling(stages=[ms.Stage(capacity="24000 Btu/h")])
    >>> study = ms.Study(
    ...     ms.House(floor_area="1900 ft2"),
    ...     {"Thermostat": (ms.Equipment(cooling=unit), ms.strategies.temperature_only)},
    ...     ms.Weather.sample("miami"),
    ...     start="07-01",
    ...     end="07-02",
    ... )
    >>> comparison = study.run(progress=False)
    >>> comparison.base
    'Thermostat'
    >>> table = comparison.table(units="us")
    >>> "mean_dew_point_F" in table, "coil_water_pint" in table
    (True, True)
    """

    study: Study
    seasons: dict[str, Season]

    def summary(self, show: Show) -> Summary:
        """The measures of each option that decide first, as a notebook shows them."""
        from moistsim.study.summarizing import comparison_summary

        return comparison_summary(self, show)

    def __repr__(self) -> str:
        return f"<Comparison in {self.study.weather.name or 'unnamed weather'}: {', '.join(self.seasons)}>"

    @property
    def base(self) -> str:
        """Name of the option that the others are compared with."""
        return self.study.base or next(iter(self.seasons))

    def table(self, units: Units | None = None) -> pd.DataFrame:
        """Table with one row for each option, with the unit in each column's name.

        Columns hold electricity by end use, gas, and the cost of both before `Bill` rounds its
        lines. Emissions follow if the study has factors for them. Further columns hold peaks,
        runtimes, starts, water by machine, humidity, comfort, each space next to the house (missing
        where an option's house has no such space), and the differences from the base option.
        `humidity_against_base` says in words whether an option's bill may be compared with the base option's. Houses are
        equally dry only if their mean dew points lie within `ALIKE`.

        Parameters
        ----------
        units : {"us", "si"}, optional
            Trade units turn degC into degF and kg of water into pints.
        """
        units = units_or_default(units, "table units")
        rows = {name: self.row(name) for name in self.seasons}
        table = pd.DataFrame.from_dict(rows, orient="index")
        table.index.name = "option"
        measures = [
            *measures_of(
                max(x.meter.stages for x in self.seasons.values()),
                dict.fromkeys(name for x in self.seasons.values() for name in x.spaces),
                max(
                    (n for x in self.seasons.values() if (n := x.meter.second_stages) is not None),
                    default=None,
                ),
            ),
            *column_catalog.DIFFERENCES,
        ]
        for measure in measures:
            if measure.name in table and table[measure.name].isna().any():
                # A missing stage has no runtime. Comfort without a setpoint is unknown, and so is a
                # space that an option's house lacks.
                column = table[measure.name]
                unknown = measure.needs or measure.part in (
                    column_catalog.SPACE_PART, column_catalog.SECOND_PART
                )  # fmt: skip
                table[measure.name] = column.astype("Float64") if unknown else column.fillna(0)
        base = table.loc[self.base]
        for difference, of in (
            (column_catalog.MORE_KWH, column_catalog.TOTAL),
            (column_catalog.MORE_USD, column_catalog.COST),
        ):
            table[difference.name] = table[of.name] - base[of.name]
        water = (
            table[column_catalog.COIL_WATER.name] + table[column_catalog.DEHUMIDIFIER_WATER.name]
        )
        table[column_catalog.MORE_WATER.name] = water - water[self.base]
        dew_point = column_catalog.MEAN_DEW_POINT.name
        gap = table[dew_point] - base[dew_point]
        table[column_catalog.DEW_POINT_GAP.name] = gap
        table[column_catalog.AGAINST_BASE.name] = [
            "base" if name == self.base else _dryness(value, units) for name, value in gap.items()
        ]
        return in_trade(table, measures) if units == "us" else table

    def bills(self) -> dict[str, Bill]:
        """The bill of each option."""
        return {name: self.study.bill(season) for name, season in self.seasons.items()}

    def only(self, *options: str) -> "Comparison":
        """The comparison of some of the options, in the order named, for a figure or a table.

        If the base option is not named, the first one is the base.

        Raises
        ------
        InputError
            If there is no such option, or none is named.
        """
        for option in options:
            if option not in self.seasons:
                raise InputError("Comparison.only", option, one_of(option, self.seasons))
        study = attrs.evolve(
            self.study,
            options={option: self.study.options[option] for option in options},
            base=self.base if self.base in options else None,
        )
        return Comparison(study, {option: self.seasons[option] for option in options})

    def air_leakage(self) -> dict[str, AirLeakage]:
        """Air leakage of each different house, by the first option that has it; the base comes first."""
        found: dict[object, str] = {}
        for name in (self.base, *self.seasons):
            house = self.seasons[name].house
            found.setdefault((infiltration(house), house.flow_coefficient), name)
        return {name: self.seasons[name].air_leakage for name in found.values()}

    def marginal_price(self, option: str) -> float | None:
        """Price of the energy that an option uses beyond the base, USD/kWh.

        The price is the difference of the two electricity bills over the difference of kWh bought.
        It is exact for these two options only. None for the base option, and where both buy the
        same energy.

        Raises
        ------
        InputError
            If there is no such option.
        """
        if option not in self.seasons:
            raise InputError("Comparison.marginal_price", option, one_of(option, self.seasons))
        own, base = (self.study.bill(self.seasons[name]) for name in (option, self.base))
        more = float(own.use["bought_kWh"].sum() - base.use["bought_kWh"].sum())
        return (own.electricity - base.electricity) / more if more else None

    def row(self, option: str) -> dict[str, float | str]:
        """One option's row of `table` in SI, without the differences from the base."""
        season, emissions = self.seasons[option], self.study.emissions
        emitted = None
        if emissions is not None:
            gas = column_catalog.in_both_systems(season.hourly, column_catalog.GAS.name)
            emitted = emissions.of(season.quarters, gas)
        return row_of(season.meter, self.study.bill(season).unrounded, emitted)

    def sources(self, day: str | None = None, units: Units | None = None) -> pd.DataFrame:
        """Sources of the water that each machine removed, and of the heat that its electricity moved.

        Parameters
        ----------
        day : str, optional
            "MM-DD" or "YYYY-MM-DD"; default: the whole season.
        units : {"us", "si"}, optional
            Trade units turn kg of water into pints.

        Returns
        -------
        DataFrame
            Rows are options and, within each, sources (see `Attribution`). A machine's column adds
            up to its total on the meter.

        Raises
        ------
        InputError
            If `units` is neither, or the season has no such day.
        """
        units = units_or_default(units, "sources units")
        tables = {}
        for name, season in self.seasons.items():
            found = season.attribution(day)
            table = pd.DataFrame(
                {
                    column_catalog.COIL_WATER.name: found.liters["coil"],
                    column_catalog.DEHUMIDIFIER_WATER.name: found.liters["dehumidifier"],
                    column_catalog.COMPRESSOR.name: found.compressor_kwh,
                    column_catalog.DEHUMIDIFIER.name: found.kwh["dehumidifier"],
                }
            ).fillna(0.0)  # Some sources carry heat and no water, others water and no heat.
            tables[name] = table.loc[(table != 0.0).any(axis=1)]
        table = pd.concat(tables, names=["option", "source"])
        return in_trade(table, column_catalog.MEASURES) if units == "us" else table

    def per_extra_liter(
        self, days: Iterable[str] | None = None, units: Units | None = None
    ) -> pd.DataFrame:
        """Electricity that each extra liter of water removed costs, by end use, against the base option.

        The extra kWh of every end use, whatever it is for, are divided by the extra water that coil
        and dehumidifier removed. Materials hold liters of water, so a single day says little and the
        whole season says most. Gas is not included. The house may also be colder or warmer than the
        base option's: `table` says so.

        Parameters
        ----------
        days : iterable of str, optional
            "MM-DD" or "YYYY-MM-DD" each; default: the whole season.
        units : {"us", "si"}, optional
            Pints and kWh per pint, or kg and kWh per liter.

        Returns
        -------
        DataFrame
            One row for each option but the base. The columns are extra water; the part of it that
            materials gave to the room; kWh per liter by end use, negative where less is used; their
            sum; and the least work with which any machine could remove this option's water
            (`least_work` in the room of each hour). Electricity is unknown (nan) where less than a
            kilogram more is removed.

        Raises
        ------
        InputError
            If `units` is neither, or the season lacks one of the days.

        Examples
        --------
        >>> comparison.per_extra_liter(units="si")["total_kWh_per_liter"]  # doctest: +SKIP
        """
        from moistsim.study.extra_water import per_extra_liter

        return per_extra_liter(self, days, units)

    def mild_humid_day(self) -> str:
        """The mild humid day of the base option's season (`Season.mild_humid_day`)."""
        return self.seasons[self.base].mild_humid_day()


def row_of(meter: Meter, cost: float, emitted: float | None) -> dict[str, float | str]:
    """One option's row of a table in SI, without the differences from the base.

    Parameters
    ----------
    meter : Meter
    cost : float
        USD.
    emitted : float or None
        kg CO2e, where it is known.
    """
    computed: dict[str, float | str] = {
        column_catalog.TOTAL.name: meter.total_kwh,
        column_catalog.COST.name: cost,
        column_catalog.GAS.name: meter.gas_kwh,
        column_catalog.STRIP_TRIPS.name: int(meter.strips["trips"]),
        column_catalog.REFUSED.name: int(meter.refused.sum()),
    }
    if emitted is not None:
        computed[column_catalog.EMISSIONS.name] = emitted
    for (power, begins), window in zip(column_catalog.PEAKS, meter.peak_kw.index, strict=True):
        computed[power.name] = meter.peak_kw.loc[window, "kW"]
        computed[begins.name] = meter.peak_kw.loc[window, "begins"]
    row: dict[str, float | str] = {}
    for measure in measures_of(meter.stages, meter.beside, meter.second_stages):
        if meter.holds(measure):
            row[measure.name] = getattr(meter, measure.part)[key(measure)]
        elif measure.name in computed:
            row[measure.name] = computed[measure.name]
    return row


def _dryness(gap: float, units: Units) -> str:
    if abs(gap) <= ALIKE:
        return "as dry as the base"
    amount, side = Show(units)(abs(gap), "difference"), "lower" if gap < 0.0 else "higher"
    return f"indoor dew point {amount} {side}; bills are not comparable"

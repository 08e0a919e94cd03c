"""Many cases of a study: other houses, weathers, machines, setpoints and prices."""

import uuid
from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import attrs
import numpy as np
import pandas as pd

from moistsim.core.display import Show, count
from moistsim.core.errors import InputError, one_of
from moistsim.core.summary import Summarized, Summary
from moistsim.equipment import Cooling, SecondSystem
from moistsim.house import SPACES, House
from moistsim.season import Season
from moistsim.sensitivity import Sample, check_sample
from moistsim.study import Study
from moistsim.sweep.cases import Cases, sampled
from moistsim.sweep.digest import digest_of
from moistsim.sweep.executor import Pool
from moistsim.sweep.manifest import drawn_with, manifest_of
from moistsim.sweep.metrics import Metric, read_metrics, value_of
from moistsim.sweep.parts import Parts, SweepError
from moistsim.sweep.paths import varied, varied_study
from moistsim.sweep.reading import attributes, sweep_dataset
from moistsim.sweep.run import run_cases
from moistsim.sweep.store import Store
from moistsim.sweep.summarizing import sweep_summary
from moistsim.sweep.varied import Varied
from moistsim.sweep.worker import Shared, result_columns, simulate_option

if TYPE_CHECKING:
    import pyarrow.dataset


def _plain(number: Any) -> Any:
    """A whole number of numpy as one of Python; anything else as it is."""
    return int(number) if isinstance(number, np.integer) else number


@attrs.frozen(eq=False)
class Sweep(Summarized):
    """Many cases of one study: in each, some of the study's values are replaced by others.

    Parameters
    ----------
    base : Study
        The study with all values that do not vary. All its options run in each case, in the same
        weather. Their houses differ only by what an option changes.
    vary : dict
        Values by dotted name: a list, array or Series of values; `uniform`, `log_uniform`, `triangular` or
        `normal`; a frozen continuous distribution of scipy.stats, whose numbers are in SI; or a
        dict of values by label. Names begin with

        ``house.``, ``tariff.``
            fields, down through parts: ``house.ach50``, ``house.envelope.window_shgc``,
            ``tariff.price``. An option that changes such a field of the house keeps its own value;
        ``equipment.``
            of the options that have the machine: ``equipment.ventilation.airflow``; items of a
            list by their number from 1: ``equipment.cooling.stages.1.capacity``;
        ``strategy.``
            a setpoint of the options that have it;
        ``options.NAME.strategy.``, ``options.NAME.equipment.``, ``options.NAME.house.``
            of one option, which overrides a value for all options;

        and ``weather`` is a list of `Weather`. Numbers are in SI or texts with units. A whole part
        (``equipment.dehumidifier``, ``house.envelope``, ``house``) goes by a dict, whose labels
        stand in the tables: ``{"none": None, "70 pint": ms.Dehumidifier(...)}``.
    sample : {"grid", "sobol", "latin_hypercube", "saltelli"} or DataFrame
        A grid is every combination of lists. The others are `n` points that fill all ranges evenly,
        with values of a list chosen by quantile; see `sampling.points`. A frame has the cases
        themselves, one row for each case number and one column for each dotted name, such as
        `one_at_a_time_cases` and `saltelli_cases` return. `vary` is then needed only for the values
        behind labels. An empty cell keeps the study's value.
    n : int, optional
        Number of points to draw; not for a grid or a frame.
    seed : int
        Seed of the draw.
    dependent : callable, optional
        ``f(case) -> dict`` of values that follow from others, by dotted name. `case` is a dict of
        SI numbers, texts and labels. It changes values or adds further ones.
    keep : callable, optional
        ``f(case) -> bool``, after `dependent`: whether to run the case. Cases keep their numbers.
    metrics : dict of callable, optional
        Further columns of the frame by name, each from ``f(season) -> float``. A function compiled
        by Numba takes columns of `Season.hourly` as arrays, by the names of its parameters. Every
        answer about the sweep takes such a column as its measure. A metric is tried on the base
        study before the sweep runs. A season for which it fails, or is not finite, has no numbers.

    Raises
    ------
    InputError
        If the study has no such name, or a value, a bound or the sample cannot be used.

    Notes
    -----
    A field whose default follows from another one, such as a stage's airflow from its capacity,
    stays as it is in the base study unless it is varied or made `dependent` too. A contradiction
    between values shows only when the case runs. The row of such a case gives the reason.

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
    >>> sweep = ms.Sweep(study, {"house.ach50": [1.0, 3.0, 5.0]})
    >>> len(sweep.cases())
    3
    >>> frame = sweep.run(workers=1, progress=False)
    >>> list(frame["status"].unique()), bool(frame["mean_dew_point_C"].is_monotonic_increasing)
    (['ok'], True)

    A metric of one's own, and a season of one case again:

    >>> peak = {"warmest hour, degC": lambda season: season.hourly["indoor_temperature_C"].max()}
    >>> warm = ms.Sweep(study, {"house.ach50": [1.0, 3.0]}, metrics=peak)
    >>> row = warm.run(workers=1, progress=False).loc[1]
    >>> season = warm.season(row["case"], row["option"])
    >>> bool(season.hourly["indoor_temperature_C"].max() == row["warmest hour, degC"])
    True
    """

    base: Study
    vary: Mapping[str, Any] = attrs.field(converter=dict, factory=dict)
    sample: Sample | pd.DataFrame = attrs.field(default="grid", kw_only=True)
    n: int | None = attrs.field(default=None, kw_only=True, converter=_plain)
    seed: int = attrs.field(default=0, kw_only=True, converter=_plain)
    dependent: Callable[[dict[str, Any]], Mapping[str, Any]] | None = attrs.field(
        default=None, kw_only=True
    )
    keep: Callable[[dict[str, Any]], bool] | None = attrs.field(default=None, kw_only=True)
    metrics: Mapping[str, Metric] = attrs.field(factory=dict, kw_only=True, converter=read_metrics)
    _varied: Varied = attrs.field(init=False, repr=False)

    @_varied.default
    def _read(self) -> Varied:
        if not isinstance(self.base, Study):
            raise InputError("Sweep.base", self.base, "a Study")
        varied = Varied(self.base)
        if isinstance(self.sample, pd.DataFrame):
            if self.n is not None:
                raise InputError("Sweep.n", self.n, "none beside a frame, which has its cases")
            varied.read_cases(self.sample, self.vary)
            return varied
        if not self.vary:
            raise InputError("Sweep.vary", {}, "one name or more with their values")
        for name, values in self.vary.items():
            varied.read(name, values)
        check_sample(self.sample, self.n, self.seed, varied.sides)
        return varied

    def summary(self, show: Show) -> Summary:
        """Number of seasons and what is varied, as a notebook shows them."""
        return sweep_summary(self, self._varied, show)

    def __repr__(self) -> str:
        names = ", ".join(self._varied.parameters)
        return f"<Sweep of {count(len(self.base.options), 'option')} over {names}>"

    @cached_property
    def _shared(self) -> Shared:
        columns = (*self._results, *self.metrics)
        return Shared(self.base, self._varied.labels, columns, dict(self.metrics))

    def _try_metrics(self) -> None:
        """Try the metrics on the base study's first option, so that a mistake costs one season.

        Raises
        ------
        InputError
            If a metric fails or gives no finite number.
        """
        if not self.metrics:
            return
        try:
            season = simulate_option(self.base, next(iter(self.base.options)))
        except Exception:
            return  # The rows of the cases say why.
        for name, metric in self.metrics.items():
            value_of(name, metric, season)

    @cached_property
    def _cases(self) -> Cases:
        numbered = sampled(self._varied, self.sample, self.n, self.seed)
        return Cases(self._varied, numbered, self.dependent, self.keep)

    def cases(self) -> pd.DataFrame:
        """Table of the cases, with one row for each case number, in SI or by label.

        Its ``attrs["drawn"]`` says how the cases were drawn: ``sample``, ``n`` and ``seed``. Its
        ``attrs["varied"]`` has the names that were drawn, without those that only `dependent` gave.

        Raises
        ------
        InputError
            If `dependent` gives an invalid value, or `keep` keeps no case.
        """
        table = self._cases.table.copy()
        table.attrs["drawn"] = drawn_with(self.sample, self.n, self.seed)
        table.attrs["varied"] = [*self._varied.sides]
        return table

    @property
    def units(self) -> dict[str, str]:
        """The SI unit of each varied number."""
        return dict(self._cases.units)

    def study(self, case: int) -> Study:
        """The study of one case, with all of its options.

        Parameters
        ----------
        case : int
            Number of the case, as in the frame.

        Raises
        ------
        InputError
            If there is no such case, or a description refuses its values.
        """
        return varied_study(self.base, self._values(case, "Sweep.study case"))

    def season(self, case: int, option: str) -> Season:
        """Simulate one option of one case again, with the bits of its row in the frame.

        Parameters
        ----------
        case : int
            Number of the case, as in the frame.
        option : str

        Raises
        ------
        InputError
            If there is no such case or option, or a description refuses the case's values.
        """
        if option not in self.base.options:
            raise InputError("Sweep.season option", option, one_of(str(option), self.base.options))
        study = dict(varied(self.base, self._values(case, "Sweep.season case")))[option]
        if isinstance(study, InputError):
            raise study
        return simulate_option(study, option)

    def rerun(self, case: int) -> pd.DataFrame:
        """Rows of one case, simulated again, with the bits that they have in the frame.

        Parameters
        ----------
        case : int
            Number of the case, as in the frame.

        Raises
        ------
        InputError
            If there is no such case.
        """
        self._values(case, "Sweep.rerun case")
        others = {*map(int, self._cases.table.index)} - {int(case)}
        pool, store = Pool("threads", 1), Store(self._schema)
        return self._run(pool, store, others, False, False, "frame")

    def _values(self, case: int, where: str) -> dict[str, Any]:
        return self._shared.behind_labels(self._cases.of(case, where))

    def run(
        self,
        executor: Executor | Literal["threads", "processes"] | None = None,
        folder: str | Path | None = None,
        *,
        workers: int | None = None,
        hourly: bool = False,
        progress: bool = True,
        result: Literal["frame", "dataset"] = "frame",
    ) -> "pd.DataFrame | pyarrow.dataset.Dataset":
        """Simulate all options in all cases.

        Parameters
        ----------
        executor : Executor, "threads" or "processes"
            An executor of `concurrent.futures`, which stays open, or a Dask client's
            ``client.get_executor()``; default: threads of its own. Processes are faster for houses
            that differ, because houses are prepared in Python, where threads wait for each other.
        folder : str or Path, optional
            A new or empty folder that keeps each finished case, for `resume`. Without a folder,
            results are only in memory, and lost if the sweep stops.
        workers : int, optional
            Number of threads or processes; default: one for each core.
        hourly : bool
            Keep the hourly tables as ``hourly/case-NNNNNNNN.parquet`` in the folder.
        progress : bool
            Show a progress bar with the rate and the time left.
        result : {"frame", "dataset"}
            Return a frame, or a PyArrow dataset of the folder's parts (`sweep_dataset`) for results
            larger than memory.

        Returns
        -------
        DataFrame or pyarrow.dataset.Dataset
            One row for each case and option, by case: ``case``; the varied values in SI (`units`)
            or by label; ``option``; the numbers of `Comparison.table`, without differences; and
            ``status``, "ok" or why there are no numbers. On one type of computer, every executor
            gives the same bits. ``attrs["units"]`` has the SI units of the columns, and
            ``attrs["manifest"]`` all that the results depend on.

        Raises
        ------
        InputError
            Before any run.
        SweepError
            If the disk is full, workers die without a case as the cause, or a cluster has no worker
            left. The folder keeps the finished cases.

        Notes
        -----
        If a worker dies, the cases under way run again, one at a time. If a case ends with a dead
        worker twice, its row says so. A user's own pool of processes dies with its worker and ends
        the sweep, which can be resumed.

        A Dask client's executor, ``client.get_executor()``, spreads the cases over a cluster (extra
        ``cluster``). Its workers need the packages of this process, which is checked. Each worker
        receives the study once, also one that joins later. If no worker is left, the sweep waits
        five minutes for one and shows that in the progress bar. Then it ends and can be resumed. To
        wait longer for the first worker, call ``client.wait_for_workers(1)`` before the sweep.
        """
        if hourly and folder is None:
            raise InputError("Sweep.run hourly", True, "a folder beside it, which holds the tables")
        _check_result(result, folder, "Sweep.run result")
        pool = Pool(executor, workers)
        self._try_metrics()
        store = Store(self._schema, None if folder is None else Path(folder))
        try:
            if folder is not None:
                try:
                    store.begin(self.manifest(), hourly)
                except OSError as error:
                    raise SweepError(
                        f"Sweep.run: {folder} cannot be written ({error.strerror or error}), and "
                        "nothing has run"
                    ) from error
            return self._run(pool, store, set(), hourly, progress, result)
        finally:
            store.release()

    def resume(
        self,
        folder: str | Path,
        executor: Executor | Literal["threads", "processes"] | None = None,
        *,
        workers: int | None = None,
        progress: bool = True,
        result: Literal["frame", "dataset"] = "frame",
    ) -> "pd.DataFrame | pyarrow.dataset.Dataset":
        """Run the cases that a folder lacks, and return the frame of all cases.

        The sweep must have the same inputs as the one that began the folder, which is checked:
        everything that a result depends on, down to the constants of a control and the versions of
        Python and of the libraries. On one type of computer, the frame has the same bits as without a
        stop. A part whose bytes have changed on the disk is deleted, its cases run again, and a
        message says so.

        Parameters
        ----------
        folder, executor, workers, progress, result
            As for `run`.

        Raises
        ------
        InputError
            If the folder holds no sweep, or one with other inputs or versions. The error lists the
            differences.
        SweepError
            As `run`.
        """
        _check_result(result, folder, "Sweep.resume result")
        pool = Pool(executor, workers)
        store = Store(self._schema, Path(folder))
        try:
            done, hourly = store.resume(self.manifest())
            return self._run(pool, store, done, hourly, progress, result)
        finally:
            store.release()

    def _run(
        self, pool: Pool, store: Store, before: set[int], hourly: bool, progress: bool, result: str
    ) -> "pd.DataFrame | pyarrow.dataset.Dataset":
        shared = self._shared
        try:
            digest = digest_of(shared._asdict())
        except InputError:
            if store.folder is not None:
                raise
            # Results in memory are never compared with those of another run.
            digest = uuid.uuid4().hex
        parts = Parts(self._cases, shared.columns, store)
        run_cases(
            self._cases, shared, digest, pool, parts, before,
            hourly=hourly, progress=progress,
        )  # fmt: skip
        if result == "dataset":
            assert store.folder is not None
            return sweep_dataset(store.folder)
        try:
            frame = store.frame([*self.base.options])
            frame.attrs = attributes(self._about(), frame.columns)
            return frame
        except OSError as error:
            raise SweepError(
                f"Sweep.run: {error} in {store.folder}; Sweep.resume(folder) runs its cases again"
            ) from error

    @property
    def _schema(self) -> Any:
        return self._cases.schema(self._shared.columns)

    @cached_property
    def _results(self) -> tuple[str, ...]:
        coolings = [option.equipment.cooling for option in self.base.resolved.values()]
        counts = [len(cooling.stages) for cooling in coolings if cooling is not None]
        for name, values in self._varied.labels.items():
            for value in values.values():
                if isinstance(value, Cooling):
                    counts.append(len(value.stages))
                elif name.endswith("cooling.stages"):
                    counts.append(len(value))
        return result_columns(self.base, max(counts, default=0), self._spaces, self._second_stages)

    @property
    def _second_stages(self) -> int | None:
        """Cooling stages of the second system that has the most; None if no option has one."""
        seconds = [option.equipment.second_system for option in self.base.resolved.values()]
        counts = [
            len(system.cooling.stages) if system.cooling is not None else 0
            for system in seconds
            if system is not None
        ]
        for name, values in self._varied.labels.items():
            for value in values.values():
                own = (
                    value
                    if name.endswith("second_system")
                    else getattr(value, "second_system", None)
                )
                if isinstance(own, SecondSystem):
                    counts.append(len(own.cooling.stages) if own.cooling is not None else 0)
        return max(counts, default=None)

    @property
    def _spaces(self) -> list[str]:
        """Names of the spaces that the house of any case has, in the order of the engine."""
        found = {name for option in self.base.resolved.values() for name in option.house.spaces}
        for name, values in self._varied.labels.items():
            for value in values.values():
                found.update(_spaces_with(name, value))
        for path, column in self._cases.table.items():
            if str(path).endswith("ducts.location"):
                for value in column.dropna().unique():
                    found.update(_spaces_with(str(path), value))
        return [name for name in SPACES if name in found]

    def _about(self) -> dict[str, Any]:
        """The manifest, or the units alone if a control cannot be compared between runs."""
        try:
            return self.manifest()
        except InputError:
            return {"units": self.units}

    def manifest(self) -> dict[str, Any]:
        """Manifest of all that the results depend on: versions, sample, seed and input digests."""
        return manifest_of(
            self.base, self._varied, self._cases, self.sample, self.n, self.seed, self.metrics
        )


def _check_result(result: Any, folder: Any, where: str) -> None:
    if result not in ("frame", "dataset"):
        raise InputError(where, result, "'frame' or 'dataset'")
    if result == "dataset" and folder is None:
        raise InputError(where, result, "a folder with it, which holds the dataset")


def _spaces_with(name: str, value: Any) -> tuple[str, ...]:
    """Names of the spaces that a value of a parameter gives a house; ducts bring theirs."""
    if isinstance(value, House):
        return value.spaces
    last = name.rpartition(".")[2]
    if last in SPACES:
        return () if value is None else (last,)
    around = getattr(value, "location", None) if last == "ducts" else value
    around = str(around).replace(" ", "_") if last in ("ducts", "location") else ""
    return (around,) if around in SPACES else ()

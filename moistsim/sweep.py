"""Many cases of a study: other houses, weathers, machines, set-points and prices."""

import atexit
import gc
import hashlib
import json
import math
import multiprocessing
import os
import time
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    CancelledError,
    Executor,
    Future,
    ProcessPoolExecutor,
    ThreadPoolExecutor,
    wait,
)
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import attrs
import pandas as pd

from moistsim.equipment import Cooling
from moistsim.sampling import (
    DISTRIBUTIONS,
    Distribution,
    Sample,
    check_sample,
    in_si,
    points,
)
from moistsim.study import Study
from moistsim.sweep_paths import Parameter, find
from moistsim.sweep_store import Store, versions
from moistsim.sweep_worker import (
    Done,
    Shared,
    begin_process,
    described,
    keep,
    packed,
    result_columns,
    run_case,
    stop,
)
from moistsim.units import InputError, one_of
from moistsim.weather import Weather

if TYPE_CHECKING:
    import pyarrow

PART = 64
"""Finished cases that are written as a part; a few more, where several finish at once."""
PATIENCE = 30.0
"""s after which what is done is written, though it fills no part."""
AHEAD = 4
"""Cases under way for each worker, so that none waits and memory does not grow with the cases."""
DEADLY = 3
"""Cases one after the other that may take their worker with them; more, and it is not the cases."""


class SweepError(RuntimeError):
    """A sweep that ended before its last case: what stopped it and how to go on, in a sentence."""


@attrs.frozen(eq=False)
class Sweep:
    """Cases of a study, each with values of its own in place of some of the study's.

    Parameters
    ----------
    base : Study
        What is not varied. All its options run in each case, in the same house and weather.
    vary : dict
        By dotted name, what is varied: a list of values; `uniform`, `log_uniform`, `triangular` or
        `normal`; or a dict of values by label. Names begin with

        ``house.``, ``tariff.``
            fields, down through parts: ``house.ach50``, ``house.envelope.window_shgc``,
            ``tariff.price``;
        ``equipment.``
            of the options that have the machine: ``equipment.ventilation.airflow``; items of a
            list by their number from 1: ``equipment.cooling.stages.1.capacity``;
        ``strategy.``
            a set-point of the options that have it;
        ``options.NAME.strategy.``, ``options.NAME.equipment.``
            of one option, which counts before what is said of all;

        and ``weather`` is a list of `Weather`. Numbers are in SI or texts with units. A whole part
        (``equipment.dehumidifier``, ``house.envelope``, ``house``) goes by a dict, whose labels
        stand in the tables: ``{"none": None, "70 pint": ms.Dehumidifier(...)}``.
    sample : {"grid", "sobol", "latin_hypercube", "saltelli"} or DataFrame
        Every combination of lists; or `n` points that fill all ranges evenly, where a list is
        chosen from by quantile. See `sampling.points`. Or the cases themselves, one a row by its
        number, a column a dotted name, such as `one_at_a_time_cases` and `saltelli_cases` give;
        `vary` is then needed only for what the labels in a column mean. An empty cell leaves what
        the study has.
    n : int, optional
        Points to draw; not for a grid or a frame.
    seed : int
        Of the draw.
    dependent : callable, optional
        ``f(case) -> dict`` of values that follow from others, by dotted name. `case` is a dict of
        SI numbers, texts and labels. It changes values or adds further ones.
    keep : callable, optional
        ``f(case) -> bool``, after `dependent`: whether to run the case. Cases keep their numbers.

    Raises
    ------
    InputError
        If a name is nothing in the study, or a value, a bound or the sample cannot be used.

    Notes
    -----
    A field whose default follows from another one, such as a stage's air flow from its capacity,
    stays as it is in the base study unless it is varied or made `dependent` too. Only the values
    of a case together can tell whether they contradict: such a case is a row that says why.
    """

    base: Study
    vary: Mapping[str, Any] = attrs.field(converter=dict, factory=dict)
    sample: Sample | pd.DataFrame = attrs.field(default="grid", kw_only=True)
    n: int | None = attrs.field(default=None, kw_only=True)
    seed: int = attrs.field(default=0, kw_only=True)
    dependent: Callable[[dict[str, Any]], Mapping[str, Any]] | None = attrs.field(
        default=None, kw_only=True
    )
    keep: Callable[[dict[str, Any]], bool] | None = attrs.field(default=None, kw_only=True)
    _parameters: dict[str, Parameter] = attrs.field(init=False, factory=dict, repr=False)
    _sides: dict[str, Distribution | tuple[Any, ...]] = attrs.field(
        init=False, factory=dict, repr=False
    )
    _labels: dict[str, dict[str, Any]] = attrs.field(init=False, factory=dict, repr=False)

    def __attrs_post_init__(self) -> None:
        if not isinstance(self.base, Study):
            raise InputError("Sweep.base", self.base, "a Study")
        if isinstance(self.sample, pd.DataFrame):
            self._read_cases(self.sample)
            return
        if not self.vary:
            raise InputError("Sweep.vary", {}, "one name or more with their values")
        for name, values in self.vary.items():
            self._read(name, values)
        ranges = [name for name, side in self._sides.items() if isinstance(side, DISTRIBUTIONS)]
        check_sample(self.sample, self.n, self.seed, ranges)

    def _read(self, name: str, values: Any) -> None:
        parameter = self._parameters[name] = find(self.base, name)
        where = f"Sweep {name!r}"
        if isinstance(values, DISTRIBUTIONS):
            if parameter.kind != "number":
                raise InputError(where, "a range", "a list or a dict of values: it is no number")
            self._sides[name] = in_si(values, parameter.read, parameter.unit, where)
            return
        if name == "weather" and isinstance(values, list | tuple):
            values = _by_name([parameter.read(value) for value in values])
        if isinstance(values, Mapping) and values:
            self._labels[name] = {str(key): parameter.read(v) for key, v in values.items()}
            self._sides[name] = tuple(self._labels[name])
            return
        if not isinstance(values, list | tuple) or not values:
            raise InputError(
                where, values, "a list of values, ms.uniform(low, high) or a dict by label"
            )
        if parameter.kind == "whole":
            raise InputError(where, "a list", "a dict, whose labels stand in the tables")
        if any(value is None for value in values):
            raise InputError(where, None, "values; nothing at all only in a dict, by a label")
        self._sides[name] = tuple(parameter.read(value) for value in values)

    def _read_cases(self, cases: pd.DataFrame) -> None:
        """A frame's cases, each value as one of a list."""
        where = "Sweep.sample"
        if self.n is not None:
            raise InputError("Sweep.n", self.n, "none beside a frame, which has its cases")
        if cases.empty:
            raise InputError(where, "a frame of no case", "a case a row, a dotted name a column")
        for what, labels in (("case", cases.index), ("column", cases.columns)):
            if not labels.is_unique:
                raise InputError(where, f"{what} {labels[labels.duplicated()][0]} twice", "one")
        numbers = cases.index
        if not pd.api.types.is_integer_dtype(numbers) or numbers.min() < 0:
            raise InputError(where, f"cases by {numbers[0]!r}...", "cases by whole numbers from 0")
        for name in self.vary:
            if name not in cases:
                raise InputError(f"Sweep.vary[{name!r}]", "no such column in the frame", "one")
            self._read(name, self.vary[name])
        for label, column in cases.items():
            name = str(label)
            where = f"Sweep.sample[{name!r}]"
            parameter = self._parameters[name] = find(self.base, label)
            if any(isinstance(value, Weather) for value in column):
                raise InputError(where, "weathers", "labels, and vary={'weather': {label: ...}}")
            if parameter.kind == "whole" and name not in self._labels:
                raise InputError(where, column.iat[0], f"labels that vary[{name!r}] has by a dict")
            values = []
            for number, value in column.items():
                try:
                    if pd.isna(value):
                        value = None
                    elif name not in self._labels:
                        value = parameter.read(value)
                    elif value not in self._labels[name]:
                        raise InputError(where, value, one_of(str(value), self._labels[name]))
                except InputError as error:
                    at = f"{where}, case {number}"
                    raise InputError(at, error.found, error.accepted) from None
                values.append(value)
            self._sides[name] = tuple(values)

    # ------------------------------------------------------------------ the cases

    def _points(self) -> Iterator[tuple[int, tuple[Any, ...]]]:
        """Numbers of cases, with a value for each side."""
        sides = [*self._sides.values()]
        if not isinstance(self.sample, pd.DataFrame):
            return enumerate(points(sides, self.sample, self.n, self.seed))
        numbers = [int(number) for number in self.sample.index]
        return zip(numbers, zip(*sides, strict=True), strict=True)

    def cases(self) -> pd.DataFrame:
        """The cases that are run, one a row by their number, in SI and by label.

        Raises
        ------
        InputError
            If `dependent` gives what is no value, or `keep` keeps none.
        """
        return self._cases.copy()

    @cached_property
    def _cases(self) -> pd.DataFrame:
        numbers: list[int] = []
        columns: dict[str, list[Any]] = {name: [] for name in self._sides}
        for number, point in self._points():
            case = dict(zip(self._sides, point, strict=True))
            if self.dependent is not None:
                case |= self._followed(number, self.dependent(dict(case)))
            if self.keep is not None and not self.keep(dict(case)):
                continue
            for name in case:
                if name not in columns:
                    columns[name] = [None] * len(numbers)
            for name, column in columns.items():
                column.append(case.get(name))
            numbers.append(number)
        if not numbers:
            raise InputError("Sweep.keep", "not one case that it keeps", "True for some of them")
        kinds = {"number": float}
        return pd.DataFrame(
            {
                name: pd.Series(
                    column,
                    index=numbers,
                    dtype=kinds.get(
                        "" if name in self._labels else self._parameters[name].kind, object
                    ),
                )
                for name, column in columns.items()
            },
            index=pd.Index(numbers, name="case"),
        )

    def _followed(self, number: int, more: Any) -> dict[str, Any]:
        """What `dependent` gave, read."""
        where = f"Sweep.dependent of case {number}"
        if not isinstance(more, Mapping):
            raise InputError(where, more, "a dict of values by dotted name")
        read = {}
        for name, value in more.items():
            if name in self._labels:
                if value not in self._labels[name]:
                    raise InputError(where, value, one_of(str(value), self._labels[name]))
                read[name] = value
                continue
            if name not in self._parameters:
                self._parameters[name] = find(self.base, name)
            if self._parameters[name].kind == "whole":
                raise InputError(where, name, "the name of a number, a text or a switch")
            try:
                read[name] = self._parameters[name].read(value)
            except InputError as error:
                raise InputError(f"{where}, {name!r}", error.found, error.accepted) from None
        return read

    # ------------------------------------------------------------------ running them

    def run(
        self,
        executor: Executor | Literal["threads", "processes"] | None = None,
        folder: str | Path | None = None,
        *,
        workers: int | None = None,
        hourly: bool = False,
        progress: bool = True,
    ) -> pd.DataFrame:
        """Simulate all options of all cases.

        Parameters
        ----------
        executor : Executor, "threads" or "processes"
            Any of `concurrent.futures`, which is left open, or a Dask client's
            ``client.get_executor()``; by default threads of its own. Houses
            that differ are prepared in Python, where threads wait for each other: for them
            processes are quicker.
        folder : str or Path, optional
            New or empty: where results are kept as they come, so that `resume` can go on. Without
            one they are kept in memory alone, and lost if the sweep is stopped.
        workers : int, optional
            Threads or processes; by default one a core.
        hourly : bool
            Keep the hourly tables as ``hourly/case-NNNNNNNN.parquet`` in the folder.
        progress : bool
            Show a progress bar with the rate and the time left.

        Returns
        -------
        DataFrame
            One row a case and option, by case: ``case``; the varied values in SI (the unit of each
            in `units`) or by label; ``option``; the numbers of `Comparison.table`, without
            differences; ``status``, "ok" or why there are no numbers. It is the same to the last bit
            for any executor on one type of machine.

        Raises
        ------
        InputError
            Before any run.
        SweepError
            If the disk is full, or workers die for no fault of a case; what is done is kept in the
            folder.

        Notes
        -----
        Where a worker dies, the cases that were under way run again, one at a time; one that takes
        its worker with it twice is a row that says so. A pool of processes that was given dies with
        its worker and ends the sweep, which can be resumed.

        A Dask client's executor, ``client.get_executor()``, spreads the cases over a cluster (extra
        ``cluster``). Its workers need the packages of this process, which is checked; each is sent the
        study once, a worker that comes later too.
        """
        if hourly and folder is None:
            raise InputError("Sweep.run hourly", True, "a folder beside it, which holds the tables")
        pool = _Pool(executor, workers)
        store = Store(self._schema, None if folder is None else Path(folder))
        if folder is not None:
            try:
                store.begin(self.manifest(), hourly)
            except OSError as error:
                raise SweepError(
                    f"Sweep.run: {folder} cannot be written ({error.strerror or error}), and "
                    "nothing has run"
                ) from error
        return self._run(pool, store, set(), hourly, progress)

    def resume(
        self,
        folder: str | Path,
        executor: Executor | Literal["threads", "processes"] | None = None,
        *,
        workers: int | None = None,
        progress: bool = True,
    ) -> pd.DataFrame:
        """Run the cases that are missing in a folder, and give the frame of all.

        The sweep must be described as it was when `run` began the folder; both are compared. On one
        type of machine the frame is the same to the last bit as if nothing had stopped it.

        Parameters
        ----------
        folder, executor, workers, progress
            As for `run`.

        Raises
        ------
        InputError
            If the folder holds no sweep, or one that differs: the sentence says in what.
        SweepError
            As `run`.
        """
        pool = _Pool(executor, workers)
        store = Store(self._schema, Path(folder))
        done, hourly = store.resume(self.manifest())
        return self._run(pool, store, done, hourly, progress)

    @property
    def units(self) -> dict[str, str]:
        """The SI unit of each varied number."""
        return {
            name: self._parameters[name].unit or ""
            for name in map(str, self._cases)
            if self._kind(name) == "number"
        }

    def _kind(self, name: str) -> str:
        return "text" if name in self._labels else self._parameters[name].kind

    @cached_property
    def _columns(self) -> tuple[str, ...]:
        coolings = [machines.cooling for machines, _ in self.base.options.values()]
        counts = [len(cooling.stages) for cooling in coolings if cooling is not None]
        for name, values in self._labels.items():
            for value in values.values():
                if isinstance(value, Cooling):
                    counts.append(len(value.stages))
                elif name.endswith("cooling.stages"):
                    counts.append(len(value))
        return result_columns(self.base, max(counts, default=0))

    @property
    def _schema(self) -> "pyarrow.Schema":
        import pyarrow

        kinds = {"number": pyarrow.float64(), "switch": pyarrow.bool_()}
        return pyarrow.schema(
            [
                ("case", pyarrow.int64()),
                *((str(n), kinds.get(self._kind(str(n)), pyarrow.string())) for n in self._cases),
                ("option", pyarrow.string()),
                *((name, pyarrow.float64()) for name in self._columns),
                ("status", pyarrow.string()),
            ]
        )

    def manifest(self) -> dict[str, Any]:
        """What makes the results: versions, the sample and its seed, and digests of all inputs."""

        given = isinstance(self.sample, pd.DataFrame)

        def shown(name: str) -> Any:
            side = self._sides[name]
            if given and name not in self._labels:
                return _digest(side)
            if isinstance(side, DISTRIBUTIONS):
                numbers = [float(number) if math.isfinite(number) else None for number in side]
                return {type(side).__name__.lower(): numbers}
            if name in self._labels:
                return {k: _digest(described(v)) for k, v in self._labels[name].items()}
            return list(side)

        weathers = {"base": self.base.weather, **self._labels.get("weather", {})}
        table = {name: [*column.array] for name, column in self._cases.items()}
        functions = {"dependent": self.dependent, "keep": self.keep}
        return {
            **versions(),
            "sample": "a frame" if given else self.sample,
            "n": self.n,
            "seed": self.seed,
            "vary": {name: shown(name) for name in self._sides},
            "units": self.units,
            **{k: None if f is None else _digest(described(f)) for k, f in functions.items()},
            "cases": {"count": len(self._cases), "digest": _digest([[*self._cases.index], table])},
            "base": {
                **{
                    name: _digest(described(getattr(self.base, name)))
                    for name in ("house", "options", "tariff", "emissions")
                },
                **{name: getattr(self.base, name) for name in ("start", "end", "step")},
            },
            "weathers": {
                name: weather.checksum
                for name, weather in weathers.items()
                if isinstance(weather, Weather)
            },
        }

    def _ordered(self, done: set[int]) -> list[int]:
        """Positions of the cases to run, those of one house and weather beside each other."""
        shared = [c for c in map(str, self._cases) if c == "weather" or c.startswith("house")]
        order = self._cases[shared].reset_index(drop=True)
        order = order.sort_values(shared, kind="stable") if shared else order
        numbers = self._cases.index.to_numpy()
        return [int(k) for k in order.index if int(numbers[k]) not in done]

    def _values(self, position: int) -> dict[str, Any]:
        """A case's values; what it does not give is the base study's."""
        row: dict[str, Any] = {
            str(name): column.iat[position] for name, column in self._cases.items()
        }
        return {
            name: float(value) if self._kind(name) == "number" else value
            for name, value in row.items()
            if value is not None and value == value
        }

    def _run(
        self, pool: "_Pool", store: Store, before: set[int], hourly: bool, progress: bool
    ) -> pd.DataFrame:
        from tqdm import tqdm

        shared = Shared(self.base, self._labels, self._columns)
        digest = _digest(described(shared._asdict()))
        keep(digest, shared)
        total = len(self._cases)
        with tqdm(
            total=total, initial=len(before), desc="sweep", unit="case", disable=not progress
        ) as bar:
            run = _Run(self, pool, store, digest, shared, hourly, bar)
            try:
                run.through(iter(self._ordered(before)))
            except BaseException as error:
                if isinstance(error, KeyboardInterrupt):
                    # A process that ends now need not look for garbage first: half a second.
                    atexit.register(gc.freeze)
                run.write()
                if store.folder is not None and not isinstance(error, SweepError):
                    error.add_note(run.kept())
                raise
            finally:
                run.end()
        return store.frame([*self.base.options])


class _Pool:
    """The executor that was given, or one that the sweep makes, and makes again if it breaks."""

    def __init__(self, executor: Any, workers: Any) -> None:
        if workers is not None and (
            isinstance(workers, bool) or not isinstance(workers, int) or workers < 1
        ):
            raise InputError("Sweep.run workers", workers, "a number of workers, 1 or more")
        kinds = ("threads", "processes")
        if executor is not None and executor not in kinds and not isinstance(executor, Executor):
            raise InputError(
                "Sweep.run executor", executor, "'threads', 'processes' or an Executor of "
                "concurrent.futures",
            )  # fmt: skip
        self.own = not isinstance(executor, Executor)
        self.kind = "given" if not self.own else executor or "threads"
        self.executor: Executor | None = None if self.own else executor
        self.lost: tuple[type[Exception], ...] = (BrokenExecutor, CancelledError)
        """What says that a worker has died, or the whole of the executor."""
        self.how: dict[str, Any] = {}
        """What the executor is told with each case."""
        self._cluster: Any = None
        self._given_to = ""
        # Who has a Dask client has Dask; others need not.
        if type(executor).__module__.startswith("distributed."):
            from moistsim.sweep_cluster import Cluster

            self._cluster = Cluster(executor)
            self.lost += self._cluster.lost
            self.how = self._cluster.how
        own = getattr(executor, "_max_workers", None) if not self.own else None
        self._workers = workers or own
        self._event: Any = None

    @property
    def workers(self) -> int:
        """How many cases run at once."""
        return int(
            self._workers or (self._cluster and self._cluster.threads) or os.cpu_count() or 1
        )

    def make(self, digest: str, shared: Shared) -> Executor:
        """The executor, ready for a sweep."""
        if self._cluster is not None and self._given_to != digest:
            self._given_to = digest
            self._cluster.begin(digest, packed(shared))
        if self.executor is None and self.kind == "threads":
            self.executor = ThreadPoolExecutor(self.workers)
        elif self.executor is None:
            self._event = multiprocessing.Event()
            self.executor = ProcessPoolExecutor(
                self.workers,
                initializer=begin_process,
                initargs=(self._event, digest, packed(shared)),
            )
        return self.executor

    def outlives(self, died: Exception) -> bool:
        """Whether the other cases under way run on: a cluster has more workers."""
        return self._cluster is not None and isinstance(died, self._cluster.lost)

    def end(self) -> None:
        """Let cases under way end after their present option, and go of an executor of our own."""
        if self._cluster is not None:
            self._cluster.end()
        if self._event is not None:
            self._event.set()
        if self.own and self.executor is not None:
            self.executor.shutdown(wait=False, cancel_futures=True)
            self.executor = None


class _Run:
    """One pass through the cases of a sweep that are missing."""

    def __init__(
        self, sweep: Sweep, pool: _Pool, store: Store, digest: str, shared: Shared,
        hourly: bool, bar: Any,
    ) -> None:  # fmt: skip
        self.sweep, self.pool, self.store, self.digest = sweep, pool, store, digest
        self.shared, self.hourly, self.bar = shared, hourly, bar
        self.under_way: dict[Future[Done | None], int] = {}
        self.finished: list[tuple[int, Done]] = []
        self.suspects: list[int] = []
        """Positions of cases that were under way as a worker died: each runs again, alone."""
        self.tried: int | None = None
        """The suspect that runs."""
        self.deadly: list[int] = []
        """Suspects that took their worker with them, since a case last came to its end."""
        self.sent: bytes | None = None
        self.written = time.monotonic()
        self.numbers = sweep._cases.index.to_numpy()

    def through(self, waiting: Iterator[int]) -> None:
        """Run the cases at these positions, and write the results."""
        # In threads the first one alone, which loads the loop for the others.
        first = self.pool.kind == "threads"
        while True:
            alone = first or self.suspects or self.tried is not None
            most = 1 if alone else AHEAD * self.pool.workers
            died: Exception | None = None
            while len(self.under_way) < most:
                position = self.suspects.pop() if self.suspects else next(waiting, None)
                if position is None:
                    break
                self.tried = position if alone and not first else None
                try:
                    self._submit(position)
                except self.pool.lost as error:
                    self.suspects.append(position)
                    died = error
                    break
            if not self.under_way and not self.suspects:
                self.write()
                return
            # A waiting main thread does not see Ctrl-C on every system.
            ended, _ = wait(self.under_way, timeout=0.5, return_when=FIRST_COMPLETED)
            for future in ended:
                try:
                    self._take(self.under_way[future], future)
                except self.pool.lost as error:
                    died = error
                    continue
                del self.under_way[future]
                first = False
            if died is not None:
                self._bury(died)
            if len(self.finished) >= PART or time.monotonic() - self.written > PATIENCE:
                self.write()

    def _submit(self, position: int, sent: bytes | None = None) -> None:
        executor = self.pool.make(self.digest, self.shared)
        case, values = int(self.numbers[position]), self.sweep._values(position)
        try:
            future = executor.submit(
                run_case, self.digest, case, values, self.hourly, sent, **self.pool.how
            )
        except self.pool.lost:
            raise
        except Exception as error:
            self.write()
            raise SweepError(
                f"Sweep.run: the executor took no more cases ({type(error).__name__}: {error}); "
                + self.kept()
            ) from error
        self.under_way[future] = position

    def _take(self, position: int, future: "Future[Done | None]") -> None:
        try:
            done = future.result()
        except self.pool.lost:
            raise
        except (InputError, KeyboardInterrupt):
            raise
        except Exception as error:
            self.write()
            raise SweepError(
                f"Sweep.run: a worker failed ({type(error).__name__}: {error}); {self.kept()}"
            ) from error
        if done is None:
            # A process that does not have the study yet is sent it.
            self.sent = self.sent or packed(self.shared)
            self._submit(position, self.sent)
            return
        if done.hourly is not None:
            table = done.hourly
            self._on_disk(lambda: self.store.add_hourly(done.case, table))
        self.deadly, self.tried = [], None
        self._finish(position, done._replace(hourly=None))

    def _finish(self, position: int, done: Done) -> None:
        self.finished.append((position, done))
        self.bar.update()

    def _bury(self, died: Exception) -> None:
        """After a worker has died: keep what ended, and suspect the cases that did not.

        Raises
        ------
        SweepError
            If the executor that was given has died with it, or worker after worker dies.
        """
        lost = []
        for future, position in [*self.under_way.items()]:
            if future.done() and not future.cancelled() and future.exception() is None:
                self._take(position, future)
            elif future.done() or not self.pool.outlives(died):
                lost.append(position)
            else:
                continue
            del self.under_way[future]
        tried, self.tried = self.tried, None
        if tried in lost and self.deadly[-1:] == [tried]:
            # Twice alone: it is the case, which is a row as any case that fails.
            lost = []
            status = "the process that ran it died, twice and with no other case under way"
            nothing = [float("nan")] * len(self.shared.columns)
            rows = [(option, status, nothing) for option in self.sweep.base.options]
            self._finish(tried, Done(int(self.numbers[tried]), rows, None))
        elif tried in lost:
            self.deadly.append(tried)
        if not (self.pool.own or self.pool.outlives(died)) or len(self.deadly) > DEADLY:
            self.write()
            raise SweepError(
                f"Sweep.run: {'worker after worker' if self.deadly else 'a worker'} died "
                f"with {len(lost)} cases under way; {self.kept()}"
            ) from died
        self.suspects += lost[::-1]
        if self.pool.own:
            self.pool.end()

    def write(self) -> None:
        """Write what is finished as a part.

        Raises
        ------
        SweepError
            If the disk does not take it.
        """
        self.written = time.monotonic()
        if not self.finished:
            return
        columns: dict[str, list[Any]] = {name: [] for name in self.store.schema.names}
        for position, done in self.finished:
            values = self.sweep._values(position)
            for option, status, results in done.rows:
                row = {"case": done.case, **values, "option": option, "status": status}
                row |= zip(self.shared.columns, results, strict=True)
                for name, column in columns.items():
                    column.append(row.get(name))
        self._on_disk(lambda: self.store.add(columns))
        self.finished = []

    def _on_disk(self, write: Callable[[], None]) -> None:
        try:
            write()
        except OSError as error:
            self.finished = []
            raise SweepError(
                f"Sweep.run: {self.store.folder} took no more ({error.strerror or error}); "
                + self.kept()
            ) from error

    def kept(self) -> str:
        """How to go on."""
        if self.store.folder is None:
            return "without a folder nothing is kept"
        return (
            f"all that was written in {self.store.folder} is whole, and Sweep.resume(folder) runs "
            "the rest"
        )

    def end(self) -> None:
        """Let go of what is still under way."""
        if self.under_way:
            stop(self.digest)
        for future in self.under_way:
            future.cancel()
        self.pool.end()


def _by_name(weathers: list[Weather]) -> dict[str, Weather]:
    """Weathers by their names, with the checksum where names repeat."""
    names = [weather.name or weather.checksum for weather in weathers]
    return {
        name if names.count(name) == 1 else f"{name} ({weather.checksum})": weather
        for name, weather in zip(names, weathers, strict=True)
    }


def _digest(value: Any) -> str:
    text = json.dumps(value, sort_keys=True, default=repr)
    return hashlib.sha256(text.encode()).hexdigest()[:16]

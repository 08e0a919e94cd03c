"""Rule tables: a strategy written as rows, each one sentence about one output."""

from collections.abc import Callable
from typing import Any, cast

import attrs
import numpy as np
from numpy.typing import NDArray

from moistsim.controls.interface import CallSet, Strategy
from moistsim.controls.rules.interpreter import STATES, compiled_interpreter, interpret
from moistsim.controls.rules.packing import packed
from moistsim.controls.rules.rows import DECLARED, SETPOINTS, Row, check_share
from moistsim.controls.rules.sentences import read_rows
from moistsim.controls.settings import Documented, Setting, check_limits, doc_of, read
from moistsim.core.errors import InputError


@attrs.frozen(repr=False)
class RuleTable(Strategy):
    """A strategy of rows; `rule_table` makes one.

    Its settings are the thresholds, times and shares of the rows. They have readable names, such as
    "row 2 when", "drying release", "row 3 release 2", "row 1 for", "row 1 at most" and "row 4 at".
    `cooling_setpoint` and `heating_setpoint` are settings too, if they are given.
    """

    rows: tuple[Row, ...] = ()

    __doc__ = Documented(__doc__, doc_of)

    @property
    def about(self) -> str:
        """Rows of the table, as they may be given to `rule_table`."""
        said = [", ".join(f"{k}: {v}" for k, v in row.items()) for row in self.sentences]
        rows = [f"{number}. {row}" for number, row in enumerate(said, 1)]
        return "\n".join([f"A rule table of {len(rows)} rows.", "", *rows])

    def __call__(self, **changes: Any) -> "RuleTable":
        """A copy with changed settings, each a number or a text with its unit."""
        changed = cast(RuleTable, super().__call__(**changes))
        _check(changed)
        return changed

    @property
    def sentences(self) -> list[dict[str, Any]]:
        """The rows as `rule_table` takes them, with the present settings, in SI."""
        return [row.sentence(self.settings) for row in self.rows]

    @property
    def description(self) -> dict[str, Any]:
        """Record of the table in a result: its setpoints and its rows."""
        return {**self.settings, "rules": self.sentences}

    @property
    def memory_size(self) -> int:
        """Number of floats of memory that a run keeps for the table."""
        return STATES + 2 * len(self.rows)

    @property
    def packed_settings(self) -> NDArray[np.float64]:
        """The rows and their settings as the interpreter reads them."""
        return np.array(packed(self.rows, self.settings))

    @property
    def compiled(self) -> Callable[..., CallSet]:
        """The interpreter, compiled once for all tables."""
        return compiled_interpreter()


def rule_table(
    rows: Any,
    *,
    name: str = "rules",
    cooling_setpoint: float | str | None = None,
    heating_setpoint: float | str | None = None,
) -> RuleTable:
    """Make a strategy of rows, each one sentence about one output.

    Parameters
    ----------
    rows : list of dict, or DataFrame
        Each row has

        ``do``
            "cooling stage 1", "strips stage 2", "heating", "heating with strips", "dehumidifier",
            "blower", "blower at 60 %" (its speed while it runs; it does not start it), "slow the
            blower by 20 %" (in cooling), "ventilation at 30 %", "hot gas", "hot gas at 50 %".
        ``when``
            A comparison of a reading with a quantity, or of two, with an offset or not: "humidity
            > 54 %", "temperature below 73 degF", "outdoor dew point > dew point", "temperature >
            outdoor temperature + 2 K", "temperature > cooling setpoint + 1 degF". Readings are
            the fields of `Readings` in plain words. A number without a unit is in SI; for
            "cooling minutes" and "message age" it is in minutes. "occupied" and "not occupied" are
            comparisons too. A list of comparisons must hold all at the same time for the call to
            begin. After that, only `release_when` ends it.
        ``release_when``
            One such comparison or a list, any of which ends the call.
        ``for``
            Time for which `when` must hold before the call, such as "5 min" or a number of seconds.
        ``within``
            One or a list, all of which must be true: hours ("22:00 to 06:00"), months ("May to
            October", both included), and "while cooling stage 1 is on", "while heating is off",
            "while NAME is on".
        ``at_most``
            The maximum duration of a call.
        ``name``
            Name of the row in other rows and in the settings.

        None and NaN count as missing. `do`, `when` and `release_when` are required.
    name : str
        Name of the strategy.
    cooling_setpoint, heating_setpoint : float or str, optional
        Room temperatures that comfort is measured against, degC. A row may compare a reading with
        them, as in "temperature > cooling setpoint". While the thermostat is set back, the row
        sees the setpoint with the set-back.

    Returns
    -------
    RuleTable
        A strategy, ready to run. Its settings are described at `RuleTable`.

    Raises
    ------
    InputError
        One sentence: the row, its field, what was found, what is accepted.

    Notes
    -----
    Every step of the simulation evaluates the rows from top to bottom.

    1. A row is made when its `when` has held, all of it, without a break for `for`. A row that first holds at
       8:00 "for 5 min" is made at 8:05. It stays on until a `release_when` holds. The gap between
       the two is the deadband.
    2. Release wins: while a `release_when` holds the row is off, and the time of `for` begins
       anew after it.
    3. While a row's `within` is not true, the row is off, and must then be made again.
    4. A row that has been on for `at_most` is off until its `when` has been false once.
    5. A `while` sees the rows above as they are in this step and those below as they were in the
       last one. An output means the rows that call it ("cooling" those of any stage, "cooling
       stage 1" those of that stage alone), the row itself excepted.
    6. An output is called at the highest level among its rows that are on, ventilation and
       "blower at" at the lowest. Ventilation runs at its own rate if no row for it is on.

    Examples
    --------
    >>> table = rule_table([
    ...     {"do": "cooling stage 1", "when": "temperature > 77 degF",
    ...      "release_when": "temperature < 75 degF"},
    ...     {"do": "dehumidifier", "when": "humidity > 54 %", "for": "5 min", "name": "drying",
    ...      "release_when": ["humidity < 50 %", "message age > 15 min"]},
    ... ])
    >>> table.settings["drying when"], table.settings["drying for"]
    (54.0, 300.0)
    >>> table(**{"drying when": "57 %"}).sentences[1]["when"]
    'relative humidity > 57.0 percent'
    """
    settings: dict[str, float] = {}
    declared: dict[str, Setting] = {}
    for key, value in (
        ("cooling_setpoint", cooling_setpoint),
        ("heating_setpoint", heating_setpoint),
    ):
        if value is not None:
            settings[key] = read(f"rule_table {key}", value, DECLARED[key])
            declared[key] = DECLARED[key]
    rows_read = read_rows(rows, settings, declared)
    table = RuleTable(name, interpret, settings, declared, rows=rows_read)
    _check(table)
    return table


def _check(table: RuleTable) -> None:
    """Refuse settings that no control could have."""
    settings, name = table.settings, table.name
    for row in table.rows:
        if row.share:
            value = settings[row.share]
            check_share(row.output, value, f"strategy {name}.{row.share}", value)
        if row.delay and settings[row.delay] < 0.0:
            raise InputError(f"strategy {name}.{row.delay}", settings[row.delay], "0 s or more")
        if row.limit and settings[row.limit] <= 0.0:
            raise InputError(f"strategy {name}.{row.limit}", settings[row.limit], "more than 0 s")
    check_limits(f"strategy {name}", settings, table.declared)
    cooling, heating = (settings.get(key) for key in SETPOINTS)
    if cooling is not None and heating is not None and cooling <= heating:
        raise InputError(
            f"strategy {name}.cooling_setpoint", f"{cooling:.1f} °C",
            f"a value above heating_setpoint, which is {heating:.1f} °C",
        )  # fmt: skip

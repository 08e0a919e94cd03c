"""The table ``[log]`` of a scenario file: how the file of the house's loggers is read."""

from pathlib import Path
from typing import Any

from moistsim.core.errors import InputError, Problem, one_of
from moistsim.loggers import HouseLog
from moistsim.scenario.places import Place, ScenarioError, check_keys
from moistsim.scenario.reading import read_scenario
from moistsim.scenario.record import Scenario
from moistsim.scenario.toml_file import read_toml

_PLACE = ("latitude", "longitude", "elevation")
_KEYS = (
    "option", "columns", "units", *_PLACE, "label", "timezone", "utc_offset", "gaps", "rooms", "wind_speed",
    "volts", "power_factor", "missing", "time_format",
)  # fmt: skip


def read_log(path: str | Path, log_file: str | Path) -> tuple[Scenario, str, HouseLog]:
    """Read a scenario and the log of its house, by the scenario's table ``[log]``.

    ``[log]`` has the arguments of `HouseLog.read` under their names, with ``[log.columns]`` and
    ``[log.units]`` as inner tables. ``latitude``, ``longitude`` and ``elevation`` default to those of
    the scenario's weather. ``option`` names the option that was installed while the log was taken;
    default: the scenario's base, or its first option.

    Parameters
    ----------
    path : str or Path
        The scenario file.
    log_file : str or Path
        A CSV file, which may be gzipped.

    Returns
    -------
    scenario : Scenario
    option : str
        The option that was installed.
    log : HouseLog

    Raises
    ------
    ScenarioError, InputError
        If a file cannot be used. The message names file, table and key, or file, row and column.

    Examples
    --------
    >>> import tempfile
    >>> from moistsim.scenario import DEMO
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     house, rows = Path(folder) / "house.toml", Path(folder) / "log.csv"
    ...     _ = house.write_text(DEMO.read_text() + '''
    ... [log]
    ... utc_offset = -5
    ... label = "start"
    ... columns = { time = "t", "indoor_temperature.hall" = "F", "indoor_rh.hall" = "RH" }
    ... units = { indoor_temperature = "degF", indoor_rh = "%" }
    ... ''')
    ...     _ = rows.write_text("t,F,RH\\n2025-06-01 00:00,75,50\\n2025-06-01 00:10,75,51\\n2025-06-01 00:20,75,51\\n")
    ...     scenario, option, log = read_log(house, rows)
    >>> option, len(log), log.rooms
    ('Cooling by temperature only', 3, ('hall',))
    """
    path = Path(path)
    table = read_toml(path).get("log")
    place = Place(path.name, folder=path.parent).inside("log")
    if table is None:
        raise place.error(
            "",
            Problem("no [log]"),
            "a table [log] with columns, units, label, and timezone or utc_offset",
        )
    check_keys(table, _KEYS, place)
    for key in ("columns", "units", "label"):
        if key not in table:
            raise place.error(
                key, Problem("missing"), f"the {key} of the log, as for HouseLog.read"
            )
    for key in ("columns", "units", "volts", "power_factor"):
        if not isinstance(table.get(key, {}), dict):
            raise place.error(key, table[key], f"a table [log.{key}]")
    scenario = read_scenario(path)
    weather = scenario.study.weather
    given: dict[str, Any] = {key: getattr(weather, key) for key in _PLACE}
    given |= {key: value for key, value in table.items() if key != "option"}
    # A key with a dot that stands without quotes is a table within a table.
    for key in ("columns", "units"):
        given[key] = _joined(given[key])
    try:
        log = HouseLog.read(log_file, given.pop("columns"), name=scenario.name, **given)
    except InputError as error:
        raise ScenarioError(error.where, error.found, error.accepted, error.problem) from None
    except TypeError as error:
        raise place.error(
            "", Problem(f"a value of another kind ({error})"), "values as for HouseLog.read"
        ) from None
    option = table.get("option", scenario.study.base or next(iter(scenario.study.options)))
    if option not in scenario.study.options:
        raise place.error("option", option, one_of(str(option), scenario.study.options))
    return scenario, option, log


def _joined(table: dict[str, Any]) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for key, value in table.items():
        if isinstance(value, dict):
            out |= {f"{key}.{part}": inner for part, inner in value.items()}
        else:
            out[key] = value
    return out

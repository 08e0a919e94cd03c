"""Scenarios written as run, so that a run can be repeated, and their checksums."""

import hashlib
from pathlib import Path
from typing import Any

from moistsim.controls import ADDITIONS, BUILT_IN, RuleTable, Strategy
from moistsim.core.errors import InputError
from moistsim.core.files import write_whole
from moistsim.scenario.controls import control_as_table
from moistsim.scenario.descriptions import as_table
from moistsim.scenario.house_changes import changes_as_table
from moistsim.scenario.inputs import inputs
from moistsim.scenario.origins import digests
from moistsim.scenario.ranges import put_in
from moistsim.scenario.record import Scenario
from moistsim.scenario.weather import seen_from, weather_as_table
from moistsim.season import package_version
from moistsim.sensitivity import DISTRIBUTIONS
from moistsim.uncertainty import uncertain_inputs


def write_scenario(scenario: Scenario, path: str | Path, head: str = "") -> None:
    """Write a scenario with every default made explicit, so that its run can be repeated.

    The file reads back as equal descriptions. Quantities have SI units.

    Parameters
    ----------
    scenario : Scenario
        The scenario to write.
    path : str or Path
        The file. The path of a weather file is written relative to its folder.
    head : str
        First comment of the file; default: that it is a scenario as run.

    Raises
    ------
    InputError
        If the strategy of an option is neither built in nor a rule table, so no file can name it.

    Examples
    --------
    >>> import tempfile
    >>> from moistsim.scenario import DEMO, checksum, read_scenario
    >>> demo = read_scenario(DEMO)
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     write_scenario(demo, Path(folder) / "as_run.toml")
    ...     checksum(read_scenario(Path(folder) / "as_run.toml")) == checksum(demo)
    True
    """
    import tomli_w

    path = Path(path)
    head = head or (
        f"# {scenario.path.name} as run, with every default made explicit: run this file to repeat "
        "it.\n# [provenance], at the end, says what made it: its stated names the values that were given. Change "
        "any value\n# here and it counts as stated; the others stay assumed. List at the top as measured = "
        '["house.ach50"] what was measured.\n\n'
    )
    write_whole(path, (head + tomli_w.dumps(_as_run(scenario, path.parent))).encode())


def checksum(scenario: Scenario) -> str:
    """Checksum of all inputs of a scenario: 16 hexadecimal digits (SHA-256), for any folder."""
    import tomli_w

    table = _as_run(scenario, scenario.path.parent)
    del table["provenance"]
    table["weather"] = scenario.study.weather.checksum
    return hashlib.sha256(tomli_w.dumps(table).encode()).hexdigest()[:16]


def _as_run(scenario: Scenario, folder: Path) -> dict[str, Any]:
    """The tables of a scenario as run, for a file in a folder."""
    study, weather = scenario.study, scenario.study.weather
    for name, option in study.resolved.items():
        _check_known(name, option.strategy)
    season = {key: getattr(study, key) for key in ("start", "end", "step")}
    stamps = weather.frame.index[weather.between(study.start, study.end)]
    machines = {name: as_table(option.equipment) for name, option in study.resolved.items()}
    first = next(iter(machines.values()))
    shared = {
        key: value
        for key, value in first.items()
        if all(other.get(key) == value for other in machines.values())
    }
    weathers: Any = scenario.ranges.get("weather", {})
    years = [weather_as_table(folder, scenario.years[k], one) for k, one in weathers.items()]
    options = {}
    for name, option in study.resolved.items():
        own = {key: value for key, value in machines[name].items() if key not in shared}
        bought = scenario.purchases.get(name)
        house = changes_as_table(study.house, option.house)
        options[name] = {
            **control_as_table(option.strategy),
            **({"equipment": own} if own else {}),
            **({"house": house} if house else {}),
            **({"purchase": as_table(bought)} if bought is not None else {}),
        }
    said = {
        "name": scenario.name,
        "note": scenario.note,
        **({"complaint": scenario.complaint} if scenario.complaint else {}),
        **({"draws": seen_from(folder, scenario.draws_file)} if scenario.draws_file else {}),
        "base": study.base or next(iter(options)),
        "weather": {
            **weather_as_table(folder, scenario.weather, weather),
            **({"years": years} if years else {}),
        },
        "season": {key: value for key, value in season.items() if value is not None},
        "house": as_table(study.house),
        "tariff": as_table(study.tariff),
        **({"economics": as_table(scenario.terms)} if scenario.terms is not None else {}),
        **({} if study.emissions is None else {"emissions": as_table(study.emissions)}),
        "goal": as_table(study.goal),
        **({"cures": prices} if (prices := as_table(scenario.cure_prices)) else {}),
        "risk": as_table(scenario.risk_basis),
        "equipment": shared,
        "options": options,
        **({"log": scenario.log} if scenario.log else {}),
    }
    for name, of in scenario.ranges.items():
        if isinstance(of, DISTRIBUTIONS):
            it = (study, scenario.purchases, scenario.terms, {name: of})
            put_in(said, name, of, uncertain_inputs(*it, "write_scenario").units[name])
    found = [*inputs(scenario)]
    return {
        **said,
        "provenance": {
            "moistsim": package_version("moistsim"),
            "scenario": scenario.path.name,
            "weather": weather.name,
            "weather_source": weather.source,
            "season": f"{stamps[0]:%Y-%m-%d} to {stamps[-1]:%Y-%m-%d}",
            "measured": [i.key for i in found if i.origin == "measured"],
            "stated": [i.key for i in found if i.origin == "stated"],
            **({"labels": scenario.labels} if scenario.labels else {}),
            "as_run": digests(said),
        },
    }


def _check_known(option: str, strategy: Strategy) -> None:
    """Refuse a strategy that no file can name."""
    parts: list[tuple[Any, dict[str, Any]]] = []
    for control in (strategy.main, strategy.second):
        parts.append((control.base, BUILT_IN))
        parts += [(addition, ADDITIONS) for addition in control.additions]
    for part, known in parts:
        if isinstance(part, RuleTable):
            continue
        if part.name not in known or known[part.name].function is not part.function:
            raise InputError(
                f"write_scenario option {option!r}", part.name, "one of " + ", ".join(known)
            )

"""The machines of a study in a line or two, so that a wrong size is seen."""

from collections.abc import Iterator

from moistsim.core.display import Show, count, significant
from moistsim.core.units import from_si, to_si
from moistsim.equipment import Cooling, Dehumidifier, Equipment
from moistsim.study.study import Study


def machine_words(study: Study, show: Show) -> Iterator[str]:
    """The machines that all options share, then those of each option alone.

    Parameters
    ----------
    study : Study
    show : Show
        The reader's units.

    Yields
    ------
    str
        A line of text without a period.

    Examples
    --------
    >>> from moistsim.scenario import DEMO, read_scenario
    >>> print(next(machine_words(read_scenario(DEMO).study, Show("us"))))
    air conditioner 2 tons (7.03 kW), 2 stages, 720 cfm, SHR 0.72; strips 5 kW; heat pump 23,000 Btu/h; supply ventilation 80 cfm
    """
    of = {name: [*_parts(option.equipment, show)] for name, option in study.resolved.items()}
    shared = [
        part for part in next(iter(of.values())) if all(part in other for other in of.values())
    ]
    if shared:
        yield "; ".join(shared)
    for name, parts in of.items():
        if own := [part for part in parts if part not in shared]:
            yield f"{name}: {'; '.join(own)}"


def _parts(machines: Equipment, show: Show) -> Iterator[str]:
    """A phrase for each machine of an option."""
    if machines.cooling is not None:
        yield _cooling(machines.cooling, show)
    # Strips heat a house that has nothing else. Nobody asked for that, so it is said.
    alone = machines.heating is None and machines.furnace is None and machines.room_heater is None
    if machines.strips is not None:
        sizes = " + ".join(_kw(watts) for watts in machines.strips.stages)
        yield f"strips {sizes}" + (" (the only heating)" if alone else "")
    elif alone:
        yield "no heating"
    for name in ("", "crawl_space_", "basement_", "attic_"):
        box = getattr(machines, f"{name}dehumidifier")
        if box is not None:
            yield f"{name.replace('_', ' ')}{_dehumidifier(box, show)}"
    if machines.heating is not None:
        yield f"heat pump {show(machines.heating.capacity, 'capacity')}"
    if machines.furnace is not None:
        yield f"furnace {show(machines.furnace.capacity, 'capacity')}"
    if machines.room_heater is not None:
        yield f"room heater {show(machines.room_heater.capacity, 'capacity')}"
    if machines.ventilation is not None and machines.ventilation.airflow is not None:
        fan = machines.ventilation
        yield f"{fan.kind} ventilation {show(fan.airflow, 'airflow')}"
    if machines.second_system is not None and machines.second_system.cooling is not None:
        yield f"second system: {_cooling(machines.second_system.cooling, show)}"


def _cooling(unit: Cooling, show: Show) -> str:
    full = unit.stages[-1]
    tons = significant(full.capacity / to_si("1 ton", "W", "capacity"))
    size = f"{tons} {'ton' if tons == '1' else 'tons'} ({_kw(full.capacity)})"
    words = f"air conditioner {size if show.us else _kw(full.capacity)}"
    stages = f"{count(len(unit.stages), 'stage')}, " if len(unit.stages) > 1 else ""
    return f"{words}, {stages}{show(full.airflow, 'airflow')}, SHR {full.shr:.2f}"


def _dehumidifier(box: Dehumidifier, show: Show) -> str:
    size = f"{significant(show.value(box.capacity, 'removal'))} {show.unit('removal')}"
    factor = box.energy_factor or box.integrated_energy_factor
    unit = "pints/kWh" if show.us else "L/kWh"
    rated = "" if factor is None else f", {significant(from_si(factor, 'kg/J', unit))} {unit}"
    return f"dehumidifier {size}{rated}"


def _kw(watts: float) -> str:
    return f"{significant(watts / 1000.0)} kW"

"""The machines of a house in a phrase each, the same on screen, page and in a notebook."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from moistsim.core.display import Show, count, significant
from moistsim.core.units import from_si, to_si
from moistsim.equipment.cooling import Cooling
from moistsim.equipment.dehumidifier import Dehumidifier

if TYPE_CHECKING:
    from moistsim.equipment.equipment import Equipment


def machine_phrases(machines: "Equipment", show: Show) -> Iterator[tuple[str, str]]:
    """A phrase for each machine, with what it is.

    Yields
    ------
    what : str
        Name of the field, as a label: "Cooling".
    phrase : str

    Examples
    --------
    >>> from moistsim.equipment import Equipment, RoomHeater
    >>> [*machine_phrases(Equipment(room_heater=RoomHeater(capacity="4 kW")), Show("si"))]
    [('Room heater', 'room heater 4.00 kW')]
    """
    if machines.cooling is not None:
        yield "Cooling", _cooling(machines.cooling, show)
    # Strips heat a house that has nothing else. Nobody asked for that, so it is said.
    alone = machines.heating is None and machines.furnace is None and machines.room_heater is None
    if machines.strips is not None:
        sizes = " + ".join(_kw(watts) for watts in machines.strips.stages)
        yield "Strips", f"strips {sizes}" + (" (the only heating)" if alone else "")
    elif alone:
        yield "Heating", "no heating"
    for name in ("", "crawl_space_", "basement_", "attic_"):
        box = getattr(machines, f"{name}dehumidifier")
        if box is not None:
            where = name.replace("_", " ")
            yield f"{where}dehumidifier".capitalize(), f"{where}{_dehumidifier(box, show)}"
    if machines.heating is not None:
        yield "Heat pump", f"heat pump {show(machines.heating.capacity, 'capacity')}"
    if machines.furnace is not None:
        yield "Furnace", f"furnace {show(machines.furnace.capacity, 'capacity')}"
    if machines.room_heater is not None:
        yield "Room heater", f"room heater {show(machines.room_heater.capacity, 'capacity')}"
    if machines.ventilation is not None and machines.ventilation.airflow is not None:
        fan = machines.ventilation
        yield "Ventilation", f"{fan.kind} ventilation {show(fan.airflow, 'airflow')}"
    if machines.second_system is not None and machines.second_system.cooling is not None:
        yield "Second system", f"second system: {_cooling(machines.second_system.cooling, show)}"


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

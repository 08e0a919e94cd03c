"""The proof of winter heat in words."""

from collections.abc import Iterator

from moistsim.controls import Strategy
from moistsim.core.units import Role
from moistsim.engine import COLD_RATING, FROST_END
from moistsim.equipment import Equipment
from moistsim.figures import style
from moistsim.sheet.probing import Probe
from moistsim.sheet.records import WinterRow
from moistsim.sheet.showing import Show
from moistsim.sheet.winter import Winter
from moistsim.study import Study


def winter_rows(winter: Winter, machines: Equipment, show: Show) -> Iterator[WinterRow]:
    """The coldest week with this control, with the plain thermostat, and between."""
    table = winter.table()
    names = {
        "heat_pump_h": ("Heat pump, h", machines.heating is not None),
        "frost_h": (
            f"of them with frost outdoors ({show.number(COLD_RATING)} to "
            f"{show.temperature(FROST_END)}), h",
            machines.heating is not None,
        ),
        "furnace_h": ("Furnace, h", machines.furnace is not None),
        "gas_kWh": ("Gas, kWh", machines.furnace is not None),
        "strips_h": ("Strips as heat, h", machines.strips is not None),
        "heat_kWh": ("Heat pump and strips as heat, kWh", machines.furnace is None),
        "reheat_h": ("Strips as reheat, h", machines.strips is not None),
        "total_kWh": ("All machines, kWh", True),
        "coldest_C": (f"Coldest hour of the room, {show.degree}", True),
    }
    for key, (name, there) in names.items():
        if not there:
            continue
        a, b = table[key]
        scale = 1.8 if key == "coldest_C" and show.us else 1.0
        text = show.number if key == "coldest_C" else "{:.1f}".format
        difference = f"{scale * (a - b):+.1f}"
        if float(difference) == 0.0:
            difference = "0.0" if a != b else "none"
        yield WinterRow(name, text(a), text(b), show.minus(difference))


def winter_words(winter: Winter | None, study: Study, strategy: Strategy, show: Show) -> str:
    """What was run, and what it shows."""
    if winter is None:
        return (
            "These machines have no heating: there is no winter heat and no defrost that this "
            "control could disturb. Whatever heats the house stands apart; see that it still does."
        )
    weather = study.weather.name or "this weather"
    days = f"{style.date(winter.first)} to {style.date(winter.last)}"
    colder = ""
    if winter.colder_by > 0.0:
        colder = (
            f" made {show.difference(winter.colder_by)} {show.degree} colder (as it is it brings "
            "the heat pump no frost),"
        )
    heat = winter.table()["heat_pump_h"][1] + winter.table()["furnace_h"][1]
    heat += winter.table()["strips_h"][1]
    if heat == 0.0:
        verdict = "The house called for no heat in it, so that this shows nothing about heating."
    elif winter.same:
        verdict = "Heating ran the same in every hour."
    else:
        verdict = (
            "Heat is not the same in every hour: see the differences, and in which hours this "
            "control dries while it is cold outdoors."
        )
    bare = "" if strategy.setpoint(Role.HEATING) is not None else (
        " This control names no heating setpoint; the thermostat has its default."
    )  # fmt: skip
    return (
        f"The coldest week of {weather}, {days},{colder} down to "
        f"{show.temperature(winter.coldest_outdoors)} outdoors, run with this control and with a "
        f"plain thermostat of the same machines and setpoints. {verdict}{bare}"
    )


def winter_steps(machines: Equipment, found: Probe) -> Iterator[str]:
    """How the installer proves it on site."""
    source = (
        "heat pump" if machines.heating else "furnace" if machines.furnace else "strips as heat"
    )
    dries = bool(found.of("cooling", "relative_humidity") or found.of("dehumidifier"))
    yield (
        f"Open the humidity enable (the humidity call's circuit) and call for heat: the {source} "
        "must start as before, after no more than the waits above."
        if dries
        else f"Call for heat: the {source} must start as before, after no more than the waits above."
    )
    if found.together or found.hot_gas:
        yield (
            "With heat called, make the humidity call: the compressor must not change to cooling, "
            "and reheat must not answer."
        )
    if machines.heating is not None:
        if machines.strips is not None:
            yield (
                "Force a defrost by the machine's own test: the outdoor fan stops, the strips must "
                "temper the supply air, and no humidity call may hold them off."
            )
        else:
            yield "Force a defrost by the machine's own test: it must end by itself, as before."
        yield "When the defrost is over, heating must go on by itself; then end the call: all stops."
    if machines.strips is not None:
        yield (
            "Call for heat with the blower's circuit open: no strip may carry current. Close it, "
            "and end the call: the blower must outlast the strips."
        )
    if dries:
        yield "Close the humidity enable again, and see that heat still wins over the humidity call."

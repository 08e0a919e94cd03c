"""The comparison of winter heating in words."""

from collections.abc import Iterator

from moistsim.controls import Strategy
from moistsim.core.display import Show, number
from moistsim.core.units import Role
from moistsim.engine import COLD_RATING, FROST_END
from moistsim.equipment import Equipment
from moistsim.sheet.probing import Probe, strip_heat
from moistsim.sheet.records import WinterRow
from moistsim.sheet.winter import Winter
from moistsim.study import Study


def winter_rows(winter: Winter, machines: Equipment, show: Show) -> Iterator[WinterRow]:
    """The coldest week with this control and with the plain thermostat, and the differences."""
    table = winter.table()
    names = {
        "heat_pump_h": ("Heat pump, h", machines.heating is not None),
        "frost_h": (
            "Heat pump in frost weather "
            f"({show.number(COLD_RATING, 'temperature')} to {show(FROST_END, 'temperature', 0)}), h",
            machines.heating is not None,
        ),
        "furnace_h": ("Furnace, h", machines.furnace is not None),
        "room_heater_h": ("Room heater, h", machines.room_heater is not None),
        "gas_kWh": (f"Gas, {show.unit('gas')}", machines.burns_gas),
        "strips_h": (f"{strip_heat(machines).capitalize()}, h", machines.strips is not None),
        "heat_kWh": ("Heating, kWh", not machines.burns_gas),
        "reheat_h": ("Electric reheat, h", machines.strips is not None),
        "total_kWh": ("All machines, kWh", True),
        "coldest_C": (f"Coldest indoor hour, {show.unit('temperature')}", True),
    }
    for key, (name, there) in names.items():
        if not there:
            continue
        a, b = table[key]
        if a == b == 0.0:
            continue
        of = {"coldest_C": "temperature", "gas_kWh": "gas"}.get(key)
        a, b = (value if of is None else float(show.value(value, of)) for value in (a, b))
        difference = "none" if a == b else number(a - b, 1, sign=True)
        yield WinterRow(name, number(a, 1), number(b, 1), difference)


def winter_words(winter: Winter | None, study: Study, strategy: Strategy, show: Show) -> str:
    """The comparison and its result, in sentences."""
    if winter is None:
        return (
            "These machines have no heating, so this control cannot disturb winter heat or defrost. "
            "Check that the house's own heating still works."
        )
    weather = study.weather.name or "this weather"
    days = show.days(winter.first, winter.last)
    colder = ""
    if winter.colder_by > 0.0:
        colder = (
            f" It was made {show(winter.colder_by, 'difference')} colder, because the heat pump had "
            "no frost in it."
        )
    heat = winter.table()["heat_pump_h"][1] + winter.table()["furnace_h"][1]
    heat += winter.table()["strips_h"][1] + winter.table()["room_heater_h"][1]
    if heat == 0.0:
        verdict = "The house called for no heat, so this shows nothing about heating."
    elif winter.same:
        verdict = f"Heating ran the same in every hour ({number(heat)} h of heat)."
    else:
        verdict = (
            "Heating did not run the same in every hour. See the differences, and check when this "
            "control dries in cold weather."
        )
    bare = "" if strategy.setpoint(Role.HEATING) is not None else (
        " This control has no heating setpoint; the thermostat uses its default."
    )  # fmt: skip
    return (
        f"The coldest week of {weather} ({days}, down to "
        f"{show(winter.coldest_outdoors, 'temperature', 1)} outdoors) was run twice: with this control, "
        f"and with a plain thermostat on the same machines and setpoints.{colder} {verdict}{bare}"
    )


def winter_steps(machines: Equipment, found: Probe) -> Iterator[str]:
    """List the steps with which the installer checks winter heat on site."""
    source = (
        "heat pump"
        if machines.heating
        else "furnace"
        if machines.furnace
        else "room heater"
        if machines.room_heater
        else strip_heat(machines)
    )
    dries = bool(found.of("cooling", "relative_humidity") or found.of("dehumidifier"))
    yield (
        f"Open the humidity enable (the circuit of the humidity call) and call for heat. The {source} "
        "must start as before, after no more than the delays above."
        if dries
        else f"Call for heat. The {source} must start as before, after no more than the delays above."
    )
    if found.together or found.hot_gas:
        yield (
            "During the heat call, make the humidity call. The compressor must not change to "
            "cooling, and reheat must not start."
        )
    if machines.heating is not None:
        if machines.strips is not None:
            yield (
                "Force a defrost with the machine's own test. The outdoor fan stops, the strips must "
                "temper the supply air, and no humidity call may block them."
            )
        else:
            yield "Force a defrost with the machine's own test. It must end by itself, as before."
        yield "After the defrost, heating must continue by itself. End the call: everything must stop."
    if machines.strips is not None:
        yield (
            "Call for heat with the blower circuit open. No strip may carry current. Close the "
            "circuit and end the call. The blower must run longer than the strips."
        )
    if dries:
        yield "Close the humidity enable again. Heat must still take priority over the humidity call."

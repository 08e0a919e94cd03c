"""Checks that a technician records on the sheet, and the machines whose nameplates belong on it.

Each check belongs to a machine of the option, and a check of an absent machine is not on the sheet.
Targets that only a maker or a code can give are fields to fill in.
"""

from collections.abc import Iterator

from moistsim.core.display import Show, duration
from moistsim.equipment import Dehumidifier, Equipment
from moistsim.machine_checks import (
    DEHUMIDIFIER_VOLTAGE,
    HUMIDITY_BAND,
    Refused,
    Rig,
    Today,
)
from moistsim.sheet.control_words import own_dehumidifiers
from moistsim.sheet.gauge_words import condensate_unit, dried_cells
from moistsim.sheet.probing import Probe
from moistsim.sheet.records import Check, Installed


def installed_rows(machines: Equipment, show: Show) -> Iterator[Installed]:
    """List each machine of the option with its size, for its model and serial number."""
    cooling, heating, furnace = machines.cooling, machines.heating, machines.furnace
    sizes = []
    if cooling is not None:
        sizes.append(" and ".join(show(stage.capacity, "capacity") for stage in cooling.stages))
    if heating is not None:
        sizes.append(f"heating {show(heating.capacity, 'capacity')}")
    if sizes:
        unit = "air conditioner" if heating is None else "heat pump"
        yield Installed(f"Outdoor unit ({unit})", "; ".join(sizes))
        yield Installed("Indoor coil" if furnace else "Air handler with coil", "")
    if furnace is not None:
        yield Installed("Gas furnace", show(furnace.capacity, "capacity"))
    if machines.room_heater is not None:
        yield Installed("Room heater", show(machines.room_heater.capacity, "capacity"))
    if machines.strips is not None:
        powers = " + ".join(f"{watts / 1000.0:.3g}" for watts in machines.strips.powers)
        yield Installed("Strips (heater kit)", f"{powers} kW at {machines.strips.voltage:.0f} V")
    if machines.hot_gas is not None:
        yield Installed("Hot-gas reheat coil", "")
    if machines.dehumidifier is not None:
        yield Installed("Dehumidifier", show(machines.dehumidifier.capacity, "removal", 0))
    for place, own in own_dehumidifiers(machines):
        yield Installed(f"Dehumidifier, {place}", show(own.capacity, "removal", 0))
    vent = machines.ventilation
    if vent is not None:
        name = "Outdoor-air duct and damper" if vent.kind == "central" else "Ventilation fan"
        flow = "" if vent.airflow is None else f", {show(vent.airflow, 'airflow')}"
        yield Installed(name, f"{vent.kind}{flow}")
    if machines.zoning is not None:
        yield Installed("Zone panel and dampers", "")
    yield Installed("Thermostat or control", "")


def check_rows(
    machines: Equipment, rig: Rig, found: Probe, air_now: Today, show: Show
) -> Iterator[Check]:
    """List the checks to record, machine by machine."""
    if machines.cooling is not None:
        yield from _air_handler(machines, show)
    yield from _humidity_sensors(machines, found)
    if machines.cooling is not None:
        yield Check(
            "Coil drain and overflow",
            "Fill the trap, pour water into the pan, and see it run off. Raise the float switch: the "
            "compressor must stop. Test the pump, if there is one.",
            ("Trap", "Float switch", "Pump"),
        )
    if machines.dehumidifier is not None:
        yield _dried(rig, air_now, show)
        yield from _dehumidifier("Dehumidifier", machines.dehumidifier)
    for place, own in own_dehumidifiers(machines):
        yield from _dehumidifier(f"Dehumidifier, {place}", own)
    if machines.ventilation is not None:
        going = rig.ventilating(air_now)
        flow = max(going.supply, going.exhaust)
        often = ""
        if flow > 0.0 and machines.ventilation.kind != "central":
            often = f"Expected now: {show(flow, 'airflow')}. "
        yield Check(
            "Outdoor air",
            f"{often}Measure what the fan really delivers. It must meet the local code.",
            (f"Measured, {show.unit('airflow')}", f"Code rate, {show.unit('airflow')}"),
        )
    if machines.burns_gas:
        yield Check(
            "Combustion safety",
            "With blower, exhaust fans and clothes dryer on: draft of every fuel-burning appliance, "
            "and carbon monoxide in the room.",
            ("Draft", "CO in the room, ppm"),
        )


def _air_handler(machines: Equipment, show: Show) -> Iterator[Check]:
    """Checks of static pressure, refrigerant charge and fan-off delay."""
    pressure = "in. w.c." if show.us else "Pa"
    yield Check(
        "External static pressure",
        "At the highest airflow, filter clean. The total must stay below the nameplate's maximum.",
        (f"Supply, {pressure}", f"Return, {pressure}", f"Total, {pressure}", "Maximum"),
    )
    d = show.unit("difference")
    yield Check(
        "Refrigerant charge",
        "After the airflow is right. The targets come from the maker's chart for this equipment and "
        "today's air: superheat for a fixed orifice, subcooling for an expansion valve.",
        (
            f"Superheat target, {d}",
            f"Superheat, {d}",
            f"Subcooling target, {d}",
            f"Subcooling, {d}",
        ),
    )
    cooling, furnace = machines.cooling, machines.furnace
    assert cooling is not None
    delay = cooling.fan_off_delay
    text = f"As set here: {duration(delay)}."
    boxes: tuple[str, ...] = ("Measured, s",)
    if furnace is not None and furnace.fan_off_delay != delay:
        text = f"As set here: {duration(delay)} after cooling, {duration(furnace.fan_off_delay)} after heating."
        boxes = ("After cooling, s", "After heating, s")
    if machines.strips is not None:
        text += " Strips need a delay: the blower must run on until the elements are cool, as their maker says."
    yield Check("Fan-off delay", text, boxes)


def _humidity_sensors(machines: Equipment, found: Probe) -> Iterator[Check]:
    """One check for each humidity sensor that something obeys."""
    names = []
    if any(point.reading == "relative_humidity" for point in found.setpoints):
        names.append("Humidity sensor of the control")
    if machines.dehumidifier is not None and machines.dehumidifier.humidistat is not None:
        names.append("Humidistat of the dehumidifier")
    names += [f"Humidistat, {place}" for place, _ in own_dehumidifiers(machines)]
    if machines.enable is not None:
        names.append("Humidistat of the enable")
    for name in names:
        yield Check(
            name,
            f"Hold a reference next to it for 15 min. Pass: within ± {HUMIDITY_BAND:.0f} % RH (a stand-in "
            "for the tolerance of its maker).",
            ("Reference, % RH", "Sensor, % RH", "Difference, % RH", "Pass"),
        )


def _dried(rig: Rig, air_now: Today, show: Show) -> Check:
    """The check of a dehumidifier's condensate, power and current."""
    dried, name = rig.expect_drying(air_now), "Dehumidifier: readings"
    if isinstance(dried, Refused):
        return Check(name, f"It does not run today: {dried.why}.", ())
    water, power, amps = dried_cells(dried, show)
    unit = condensate_unit(show)
    return Check(
        name,
        f"Expected in inlet air of {show(dried.inlet, 'temperature', 0)}: {water.value} {unit} "
        f"({water.band}), {power.value} W ({power.band}), {amps.value} A at "
        f"{DEHUMIDIFIER_VOLTAGE:.0f} V ({amps.band}).",
        (f"Condensate, {unit}", "Power, W", "Current, A"),
    )


def _dehumidifier(name: str, of: Dehumidifier) -> Iterator[Check]:
    """Checks of a dehumidifier's circuit and of its drain."""
    yield Check(
        f"{name}: circuit",
        f"Outlet of its own on a circuit of its own, {DEHUMIDIFIER_VOLTAGE:.0f} V, grounded, no extension "
        "cord. Local codes decide breaker and ground-fault protection.",
        ("Nameplate, A", "Breaker, A", "Own outlet"),
    )
    text = (
        "Pour water in, and see it run off downhill with no kink. A full pan must stop the machine."
    )
    boxes: tuple[str, ...] = ("Runs off", "Overflow stop")
    if of.bucket is not None:
        text, boxes = "A full bucket must stop the machine.", ("Full bucket stops it",)
    elif of.pump_power > 0.0:
        text = (
            "Pour water in: the pump must lift it. The pump's float switch must stop the machine."
        )
        boxes = ("Pump lifts", "Float switch")
    yield Check(f"{name}: {'bucket' if of.bucket is not None else 'drain'}", text, boxes)

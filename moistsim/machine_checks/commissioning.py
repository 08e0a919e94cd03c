"""Expected gauge readings today: each machine in steady state at the readings entered."""

import math
from typing import NamedTuple

import attrs
import numpy as np

from moistsim import air
from moistsim.controls import Calls, CallSet, Strategy
from moistsim.core.errors import InputError
from moistsim.core.units import celsius, fahrenheit, to_si
from moistsim.engine import (
    COIL_FROST,
    DEHUMIDIFIER_COLD,
    NOT_INSTALLED,
    OUTDOOR_COLD,
    REHEAT_ALONE,
    STRIPS_LOCKED_OUT,
    Conditions,
    Entering,
    Inlet,
    Plant,
    Running,
    State,
    Stream,
    Ventilating,
    dry,
    inlet_air,
    locked_out,
    obey,
    parameters,
    run_air_handler,
    strip_power,
    through_central_duct,
    ventilate,
    with_central_air,
)
from moistsim.equipment import Equipment
from moistsim.house import House

VOLTAGE = 240.0
"""Default voltage of machines without strips, V."""
DEHUMIDIFIER_VOLTAGE = 120.0
"""Voltage of the dehumidifier, V."""
COMPRESSOR_POWER_FACTOR, BLOWER_POWER_FACTOR = 0.95, 0.6
"""Power factors of a compressor with its outdoor fan, and of a blower.
They are our own round figures: a compressor with its run capacitor, and an electronically
commutated blower without correction."""
DEHUMIDIFIER_POWER_FACTOR = 0.95
"""Power factor of a dehumidifier, our own round figure."""
SUPPLY_BAND, WET_BULB_BAND = 1.5, 1.5
"""Pass bands above and below the supply dry bulb and wet bulb, K.
They are our own round figures. They are wide enough for a thermometer in a duct, and narrow
enough to show half the air or a lost charge."""
RISE_BAND, AMPS_BAND, CONDENSATE_BAND, BLOWER_BAND = 0.10, 0.10, 0.15, 0.25
"""Pass bands above and below the value, as a share of it (our own round figures)."""
AIRFLOW_BAND = 0.15
"""Pass band of measured airflow, as a share of it (ANSI/ACCA 5 QI, from memory)."""
HUMIDITY_BAND = 3.0
"""Pass band of a humidity sensor against a reference, % RH.
It stands in for the tolerance of the sensor's maker (common practice, no source)."""
HEATING_RATING = celsius(47.0)
"""Outdoor dry bulb for expected heating readings on a day too warm to heat, degC."""
HEATING_BELOW = 18.0
"""Outdoor dry bulb from which a day is too warm to heat, degC."""
HEATING_ROOM = celsius(70.0)
"""Return air for expected heating readings on a day too warm to heat, degC.
It is that of the rating."""
STEP = 60.0
"""Step of the machines, s."""
REASONS = {
    OUTDOOR_COLD: "outdoors below the compressor's limit",
    COIL_FROST: "the coil would frost",
    REHEAT_ALONE: "reheat waits for the compressor",
    STRIPS_LOCKED_OUT: "strips locked out",
    DEHUMIDIFIER_COLD: "its air below the limit of frost",
    NOT_INSTALLED: "not installed",
}
"""Refusals that a machine may meet after a long off time, in the words of a sheet."""


@attrs.frozen
class Today:
    """Outdoor and return air that the installer reads."""

    outdoor: float = celsius(95.0)
    """Outdoor dry bulb, degC."""
    outdoor_rh: float = 45.0
    """Outdoor relative humidity, percent."""
    indoor: float = celsius(75.0)
    """Dry bulb of the return air at the air handler, degC."""
    indoor_rh: float = 50.0
    """Relative humidity of the return air at the air handler, percent."""


LIMITS = {
    "outdoor": (-30.0, 50.0, "degC"),
    "outdoor-rh": (5.0, 100.0, "percent"),
    "indoor": (15.0, 35.0, "degC"),
    "indoor-rh": (20.0, 90.0, "percent"),
}
"""Limits of the readings: outdoors where people live, indoors where machines are tested."""


def today(**given: str | float | None) -> Today:
    """Check the readings entered.

    Parameters
    ----------
    **given
        `outdoor`, `outdoor_rh`, `indoor`, `indoor_rh`: numbers in SI or texts with a unit; None
        for the default.

    Raises
    ------
    InputError
        If a reading has the wrong unit or is out of range.
    """
    values = {}
    for name, value in given.items():
        if value is None:
            continue
        option = name.replace("_", "-")
        low, high, unit = LIMITS[option]
        number = to_si(value, unit, f"--{option}")
        if not low <= number <= high:
            accepted = (
                f"from {low:g} to {high:g} %"
                if unit == "percent"
                else f"from {low:g} to {high:g} °C ({fahrenheit(low):g} to {fahrenheit(high):g} °F)"
            )
            raise InputError(f"--{option}", value, accepted)
        values[name] = number
    return Today(**values)


class Amps(NamedTuple):
    """Currents of the parts of an air handler and its outdoor unit, A."""

    compressor: float
    """Current of the compressor and the outdoor fan, A."""
    blower: float
    """Current of the blower, A."""
    strips: float
    """Current of the strips, A."""

    @property
    def together(self) -> float:
        """Sum of the currents, A."""
        return self.compressor + self.blower + self.strips


@attrs.frozen
class Expected:
    """Expected readings of one machine or combination in operation."""

    name: str
    """Name of the machine or combination."""
    kind: str
    """Kind of operation: fan, cooling, reheat or heating."""
    airflow: float
    """Airflow, m3/s of standard air."""
    return_temperature: float
    """Dry bulb of the return air, degC."""
    return_wet_bulb: float
    """Wet bulb of the return air, degC."""
    supply_temperature: float
    """Dry bulb of the supply air, degC."""
    supply_wet_bulb: float
    """Wet bulb of the supply air, degC."""
    strip_rise: float
    """Temperature rise of the air across the strips, K."""
    compressor: float
    """Compressor and outdoor fan input, W."""
    blower: float
    """Power of the blower, W."""
    strips: float
    """Power of the strips, W."""
    condensate: float
    """Condensate to the drain once the coil holds all the water that it can, kg/s."""
    outdoor: float
    """Outdoor dry bulb, degC."""
    amps: Amps
    """Currents of the parts."""
    held: bool
    """Whether a performance curve is held at its limit, beyond which it is not known."""

    @property
    def split(self) -> float:
        """Return less supply dry bulb, K: above 0 in cooling, below 0 in heating."""
        return self.return_temperature - self.supply_temperature


@attrs.frozen
class Refused:
    """Machine or combination that would not run today, with the reason."""

    name: str
    """Name of the machine or combination."""
    why: str
    """Reason of the refusal."""


@attrs.frozen
class ExpectedDrying:
    """Expected readings of the dehumidifier in its inlet air today."""

    inlet: float
    """Dry bulb of the inlet air, degC."""
    condensate: float
    """Condensate to the drain, kg/s."""
    power: float
    """Power, W."""
    amps: float
    """Current, A."""


class Rig:
    """Steady state of the engine's own machines at chosen conditions.

    Parameters
    ----------
    house, machines, strategy
        House, machines and strategy, as for `simulate`.
    pressure : float
        Air pressure, Pa.
    hour, month : float
        Hour of the day and month for a lockout by the clock.
    """

    def __init__(
        self,
        house: House,
        machines: Equipment,
        strategy: Strategy,
        pressure: float,
        hour: float = 12.5,
        month: float = 7.0,
    ) -> None:
        self.machines, self.pressure, self.hour, self.month = machines, pressure, hour, month
        self.plant: Plant = parameters.plant(house, machines, strategy, STEP)
        self.stages = parameters.stage_table(machines.cooling)
        self.powers = np.array(machines.strips.powers if machines.strips else (), dtype=float)
        self.voltage = machines.strips.voltage if machines.strips else VOLTAGE

    def resting(self, t: float, rh: float) -> State:
        """State with every machine long off in this room (degC, percent)."""
        start = parameters.initial_state(self.plant, t, 0.01 * rh, self.pressure)
        return State(*(float(x) for x in start))

    def running(self, calls: CallSet, air_now: Today) -> Running:
        """Machines that run after calls that follow a long off time."""
        return self._obeyed(calls, self.resting(air_now.indoor, air_now.indoor_rh), air_now)

    def _obeyed(self, calls: CallSet, state: State, air_now: Today) -> Running:
        """Machines that run after calls from a given state."""
        closed = bool(locked_out(self.plant.unit, self.hour, self.month))
        running: Running = obey(
            calls, state, self.plant.unit, self.plant.dehumidifier, self.stages,
            Conditions(air_now.outdoor, self.inlet(air_now).temperature, locked_out=closed), STEP,
        )  # fmt: skip
        return running

    def ventilating(self, air_now: Today, factor: float = 1.0) -> Ventilating:
        """Operation of the ventilation's fans in the first minute of an hour.

        A fan with a minimum runtime in each hour runs in that minute.
        """
        first_minute = math.floor(self.hour) + 0.5 * STEP / 3600.0
        going: Ventilating = ventilate(
            self.plant.ventilation, factor, air_now.indoor, self._humidity_ratio(air_now),
            air_now.outdoor, self._outdoor_ratio(air_now), self.pressure, first_minute, STEP,
        )  # fmt: skip
        return going

    def inlet(self, air_now: Today) -> Inlet:
        """Inlet air of the dehumidifier."""
        going = self.ventilating(air_now)
        w_out = self._outdoor_ratio(air_now)
        density = air.dry_air_density(air_now.outdoor, w_out, self.pressure)
        taken: Inlet = inlet_air(
            self.plant.dehumidifier, air_now.indoor, self._humidity_ratio(air_now), air_now.outdoor,
            w_out, going.supply * density, going.temperature, going.humidity_ratio,
        )  # fmt: skip
        return taken

    def wet_bulb(self, air_now: Today) -> float:
        """Wet bulb of the return air, degC."""
        t = air_now.indoor
        return float(air.wet_bulb(t, self._humidity_ratio(air_now), self.pressure, t - 5.0))

    def _humidity_ratio(self, air_now: Today) -> float:
        """Humidity ratio of the return air, kg/kg."""
        rh = 0.01 * air_now.indoor_rh
        return float(air.humidity_ratio_at(air_now.indoor, rh, self.pressure))

    def _outdoor_ratio(self, air_now: Today) -> float:
        """Humidity ratio of the outdoor air, kg/kg."""
        rh = 0.01 * air_now.outdoor_rh
        return float(air.humidity_ratio_at(air_now.outdoor, rh, self.pressure))

    def expect(self, name: str, kind: str, calls: CallSet, air_now: Today) -> Expected | Refused:
        """Expected readings after machines have followed calls to a steady state.

        The compressor is at full capacity, the coil holds all the water that it can, and every
        strip stage that is called for is on. The return air is that at the air handler, after all
        return leaks.

        Parameters
        ----------
        name, kind
            Name and kind, as in `Expected`.
        calls : CallSet
        air_now : Today
        """
        unit, t = self.plant.unit, air_now.indoor
        wet_bulb = self.wet_bulb(air_now)
        steady = self.steady(
            calls, air_now, Entering(t, self._humidity_ratio(air_now), wet_bulb, self.pressure)
        )
        if isinstance(steady, str):
            return Refused(name, steady)
        running, stream = steady
        supply = float(air.temperature_at_enthalpy(stream.h_supply, stream.w_supply))
        compressor = float(stream.compressor + stream.heat_pump_input)
        return Expected(
            name=name,
            kind=kind,
            airflow=running.airflow * unit.full_flow / air.STANDARD_DENSITY,
            return_temperature=t,
            return_wet_bulb=float(wet_bulb),
            supply_temperature=supply,
            supply_wet_bulb=float(air.wet_bulb(supply, stream.w_supply, self.pressure, supply)),
            strip_rise=float(stream.strip_rise),
            compressor=compressor,
            blower=float(stream.fan),
            strips=float(stream.strips),
            condensate=float(stream.drained),
            outdoor=air_now.outdoor,
            amps=Amps(
                compressor / (self.voltage * COMPRESSOR_POWER_FACTOR),
                float(stream.fan) / (self.voltage * BLOWER_POWER_FACTOR),
                float(stream.strips) / self.voltage,
            ),
            held=bool(stream.off_curve > 0.0),
        )

    def steady(
        self, calls: CallSet, air_now: Today, entering: Entering
    ) -> tuple[Running, Stream] | str:
        """Machines that run, and their air stream, after calls have led to a steady state.

        Parameters
        ----------
        calls : CallSet
        air_now : Today
        entering : Entering
            Air at the air handler.

        Returns
        -------
        tuple of (Running, Stream), or str
            The reason, where a machine refuses its call.
        """
        unit = self.plant.unit
        rest = self.resting(air_now.indoor, air_now.indoor_rh)
        running = self._obeyed(calls, rest, air_now)
        for bit, why in REASONS.items():
            if running.refused & bit:
                return why
        settled = rest._replace(
            cooling_stage=running.cooling,
            coil_ramp=1.0,
            coil_water=unit.water_held if running.cooling > 0.0 else 0.0,
        )
        strips = running.backup * len(self.powers) + running.reheat
        power = float(strip_power(self.powers, strips)) if strips else 0.0
        stream: Stream = run_air_handler(
            running, settled, entering, unit, self.stages, power, air_now.outdoor,
            unit.full_flow * (self.pressure / air.STANDARD_PRESSURE), STEP,
        )  # fmt: skip
        return REASONS[COIL_FROST] if stream.frost > 0.0 else (running, stream)

    def at_air_handler(self, calls: CallSet, air_now: Today) -> Entering:
        """Air at the air handler: room air, with the outdoor air of a central duct mixed into it."""
        t, w = air_now.indoor, self._humidity_ratio(air_now)
        vent = self.plant.ventilation
        if vent.central > 0.0:
            running = self.running(calls, air_now)
            w_out = self._outdoor_ratio(air_now)
            drawn = self.plant.unit.full_flow * (self.pressure / air.STANDARD_PRESSURE)
            t, w = with_central_air(
                through_central_duct(vent, self.ventilating(air_now), running.airflow),
                air.dry_air_density(air_now.outdoor, w_out, self.pressure),
                running.airflow * drawn, t, w,
            )  # fmt: skip
        return Entering(t, w, float(air.wet_bulb(t, w, self.pressure, t - 5.0)), self.pressure)

    def expect_drying(self, air_now: Today) -> ExpectedDrying | Refused:
        """Expected readings of the dehumidifier in steady state."""
        inlet = self.inlet(air_now)
        if inlet.temperature < self.plant.dehumidifier.low_inlet_limit:
            return Refused("dehumidifier", REASONS[DEHUMIDIFIER_COLD])
        dried = dry(self.plant.dehumidifier, 1.0, inlet, self.pressure)
        power = float(dried.power)
        return ExpectedDrying(
            inlet=float(inlet.temperature),
            condensate=float(dried.water),
            power=power,
            amps=power / (DEHUMIDIFIER_VOLTAGE * DEHUMIDIFIER_POWER_FACTOR),
        )


def cases(
    machines: Equipment, together: dict[tuple[int, int], CallSet], hot_gas: bool, air_now: Today
) -> list[tuple[str, str, CallSet, Today]]:
    """Operations to try: name, kind, calls, and the air of the expected readings.

    They are the blower alone, each cooling stage alone, and with each strip stage or with hot gas if the control ever
    runs them together. Heating follows, or the strips as heat. On a day too warm to heat, heating
    is expected at the rating point.

    Parameters
    ----------
    together : dict
        Calls of a control by cooling stage and strip stages, as `Probe.together`. They give the
        speed of the blower.
    """
    rows: list[tuple[str, str, CallSet, Today]] = []
    if machines.cooling is not None:
        rows.append(("Blower alone, fan ON", "fan", Calls(fan=1.0), air_now))
    count = len(machines.cooling.stages) if machines.cooling else 0
    strips = len(machines.strips.stages) if machines.strips else 0
    most = max((j for _, j in together), default=0)

    def staged(k: int) -> str:
        return f"Cooling, stage {k}" if count > 1 else "Cooling"

    for k in range(1, count + 1):
        rows.append((staged(k), "cooling", Calls(cooling=float(k)), air_now))
    for k in range(1, count + 1):
        for j in range(1, most + 1):
            calls = together.get((k, j)) or next(
                (calls for (_, other), calls in together.items() if other == j), None
            )
            if calls is None:
                continue
            name = f"{staged(k)} + {_strips(j, strips)}"
            speed = {"airflow": calls.airflow, "slow_down": calls.slow_down}
            rows.append(
                (name, "reheat", Calls(cooling=float(k), reheat=float(j), **speed), air_now)
            )
        if hot_gas:
            calls = Calls(cooling=float(k), hot_gas=1.0)
            rows.append((f"{staged(k)} + all hot gas", "reheat", calls, air_now))
    cold = air_now if air_now.outdoor < HEATING_BELOW else attrs.evolve(
        air_now, outdoor=HEATING_RATING, indoor=HEATING_ROOM
    )  # fmt: skip
    if machines.heating is not None:
        rows.append(("Heat pump", "heating", Calls(heating=1.0), cold))
        if strips:
            rows.append(("Heat pump + all strips", "heating", Calls(heating=2.0), cold))
    elif machines.furnace is not None:
        rows.append(("Furnace", "heating", Calls(heating=1.0), cold))
    elif strips:
        rows.append(("Strips as heat", "heating", Calls(heating=1.0), cold))
    return rows


def _strips(j: int, count: int) -> str:
    """Words for the first `j` of `count` strip stages."""
    if count == 1:
        return "strips"
    return "strip stage 1" if j == 1 else f"strip stages 1–{j}"

"""Source: 10 CFR 430 subpart B appendix X1, dehumidifier ratings, from memory.

Dehumidifier ratings of 10 CFR 430 subpart B appendix X1: test points, energy factor and
integrated energy factor. From memory: none of the points, hours or formulas was read in it.

    EF  = water / energy of drying
    IEF = water / (energy of drying + E_TLP x hours of the test / 1095 h)
    E_TLP = P_off-cycle x 1840.5 h + P_off x 1840.5 h      (a year)
"""

import attrs
import pytest
from support.machines_at_a_point import one_step

from moistsim import Dehumidifier, Equipment, InputError, Ventilation, air
from moistsim.equipment.dehumidifier import liters_per_kwh, low_power_energy

PINT = 0.473176473
"""L."""
DENSITY = 0.9982
"""kg/L."""
POINTS = {
    "26.7 degC": (80.0 - 32.0) / 1.8,
    "18.3 degC portable": (65.0 - 32.0) / 1.8,
    "22.8 degC whole-home": (73.0 - 32.0) / 1.8,
}
DRY_OUTDOORS = (10.0, 0.5)


def run_at(dryer: Dehumidifier, t: float, *, on: bool = True) -> tuple[float, float, float]:
    """kg/s, W while it dries, W of the house's standby, in a room at `t`, 60 %."""
    _, step = one_step(
        Equipment(dehumidifier=dryer, standby_power=0.0),
        room=(t, 0.60), outdoors=DRY_OUTDOORS, dehumidifier=float(on),
    )  # fmt: skip
    return -step.water_dehumidifier, step.dehumidifier, step.standby


@pytest.mark.parametrize("rating", POINTS)
@pytest.mark.parametrize(("pints", "liters"), [(22.0, 1.3), (50.0, 1.8), (95.0, 2.4)])
def test_energy_factor_comes_back(rating: str, pints: float, liters: float) -> None:
    dryer = Dehumidifier(
        capacity=f"{pints} pint/day", energy_factor=f"{liters} L/kWh", rating=rating,
        airflow="250 cfm",
    )  # fmt: skip
    water, watts, standby = run_at(dryer, POINTS[rating])
    print(rating, water * 86400.0 / DENSITY / PINT, liters_per_kwh(water / watts))
    assert water * 86400.0 / DENSITY / PINT == pytest.approx(pints, rel=1e-6)
    assert liters_per_kwh(water / watts) == pytest.approx(liters, rel=1e-6)
    assert standby == 0.0


@pytest.mark.parametrize("rating", POINTS)
@pytest.mark.parametrize(("pints", "liters"), [(22.0, 1.3), (50.0, 1.8), (95.0, 2.4)])
@pytest.mark.parametrize("fan", [0.0, 25.0])
def test_integrated_energy_factor_comes_back(
    rating: str, pints: float, liters: float, fan: float
) -> None:
    """A year as the appendix counts it, made of what the engine draws in each mode."""
    dryer = Dehumidifier(
        capacity=f"{pints} pint/day", integrated_energy_factor=f"{liters} L/kWh", rating=rating,
        airflow="250 cfm", standby_power=1.5, off_cycle_fan_power=fan,
    )  # fmt: skip
    water, watts, _ = run_at(dryer, POINTS[rating])
    _, none, waiting = run_at(dryer, POINTS[rating], on=False)
    _, _, off = run_at(attrs.evolve(dryer, off_cycle_fan_power=0.0), POINTS[rating], on=False)
    assert none == 0.0 and off == 1.5 and waiting == 1.5 + fan
    year = watts * 1095.0 + waiting * 1840.5 + off * 1840.5
    integrated = liters_per_kwh(water * 1095.0 / year)
    print(f"{rating}: IEF {integrated:.6f}, EF {liters_per_kwh(water / watts):.4f}")
    assert integrated == pytest.approx(liters, rel=1e-6)
    assert water * 86400.0 / DENSITY / PINT == pytest.approx(pints, rel=1e-6)
    assert liters_per_kwh(water / watts) > liters


def test_integrated_energy_factor_by_hand() -> None:
    """50 pints a day are 50 x 0.473176 / 24 = 0.985785 L/h. At an IEF of 1.8 L/kWh that is 547.66 W.
    Low power: 2 W x 3681 h / 1095 h = 6.7233 W. Left for drying: 540.93 W, EF 1.8224 L/kWh."""
    dryer = Dehumidifier(capacity="50 pint/day", integrated_energy_factor="1.8 L/kWh")
    assert low_power_energy(2.0, 0.0) == pytest.approx(2.0 * 3681.0 / 1095.0)
    assert dryer.drying_power() == pytest.approx(540.93, abs=0.02)
    assert liters_per_kwh(dryer.capacity / dryer.drying_power()) == pytest.approx(1.8224, abs=1e-4)


def test_the_two_factors_differ_by_the_low_power_hours() -> None:
    """The same number on either label is another machine, by E_TLP / 1095 h exactly."""
    common = {"capacity": "50 pint/day", "standby_power": 2.0, "off_cycle_fan_power": 20.0}
    by_ef = Dehumidifier(**common, energy_factor="1.8 L/kWh")
    by_ief = Dehumidifier(**common, integrated_energy_factor="1.8 L/kWh")
    watts, watts_integrated = (run_at(d, POINTS["26.7 degC"])[1] for d in (by_ef, by_ief))
    low_power = (22.0 * 1840.5 + 2.0 * 1840.5) / 1095.0
    assert watts - watts_integrated == pytest.approx(low_power, rel=1e-9)
    # Without low power they are one.
    nothing = {"capacity": "50 pint/day", "standby_power": 0.0}
    assert (
        Dehumidifier(**nothing, energy_factor="1.8 L/kWh").drying_power()
        == Dehumidifier(**nothing, integrated_energy_factor="1.8 L/kWh").drying_power()
    )


def test_one_machine_on_three_labels() -> None:
    """One machine has three capacities at the three rating points.

    What the curves make of 90 pints a day at 26.7 degC: 0.659 of it at 18.3 degC, 0.843 at 22.8
    (check values from running the remembered polynomials elsewhere); the machine is the same.
    """
    one = Dehumidifier(capacity="90 pint/day", energy_factor="2.4 L/kWh")
    for rating, water, factor in (
        ("18.3 degC portable", 0.659, 0.790), ("22.8 degC whole-home", 0.843, 0.913),
    ):  # fmt: skip
        removed, watts, _ = run_at(one, POINTS[rating])
        assert removed / one.capacity == pytest.approx(water, abs=0.0007)
        assert liters_per_kwh(removed / watts) / 2.4 == pytest.approx(factor, abs=0.0007)
        other = Dehumidifier(capacity=removed, energy_factor=removed / watts, rating=rating)
        assert run_at(other, 21.0)[:2] == pytest.approx(run_at(one, 21.0)[:2], rel=1e-6)


def test_a_label_that_its_air_cannot_hold_is_refused() -> None:
    """A rated capacity that the air cannot hold is refused.

    At 65 degF, 60 % air holds 7.9 g/kg, 3.8 of them still at freezing: 95 pints a day, 0.519 g/s,
    need 0.128 kg/s or some 226 cfm. (At 80 degF the same machine has more water and far more
    room for it.)
    """
    with pytest.raises(
        InputError, match=r"0.094 m3/s \(200 cfm\)'. Use a value of at least 0.106 m3/s"
    ):
        Dehumidifier(capacity="95 pint/day", rating="18.3 degC portable", airflow="200 cfm")


@pytest.mark.parametrize("rating", POINTS)
@pytest.mark.parametrize("inlet", ["return", "outdoors", "ventilation"])
def test_the_label_holds_wherever_the_air_comes_from(rating: str, inlet: str) -> None:
    """The inlet's air at the rating point, the room (where it is not the inlet) at another."""
    t = POINTS[rating]
    dryer = Dehumidifier(
        capacity="70 pint/day", energy_factor="2.2 L/kWh", rating=rating, inlet=inlet
    )
    machines = Equipment(
        dehumidifier=dryer, standby_power=0.0,
        ventilation=Ventilation(kind="supply", airflow="300 cfm"),
    )  # fmt: skip
    point, elsewhere = (t, 0.6), (t + 3.0, 0.45)
    room, outdoors = (point, elsewhere) if inlet == "return" else (elsewhere, point)
    _, step = one_step(machines, room=room, outdoors=outdoors, dehumidifier=1.0)
    assert -step.water_dehumidifier == pytest.approx(dryer.capacity, rel=1e-6)
    assert -step.water_dehumidifier / step.dehumidifier == pytest.approx(
        dryer.energy_factor, rel=1e-6
    )


def test_air_that_ventilation_does_not_bring_is_room_air() -> None:
    """The inlet mixes ventilation air with room air.

    Of 0.1 m3/s of standard air 0.04 come in at 30 degC/60 %, 0.06 from a room at 24 degC/50 %:
    mixed by hand in enthalpy and humidity ratio, and the curves at that point.
    """
    from moistsim.engine.drying import dehumidifier_factors

    room, outdoors = (24.0, 0.5), (30.0, 0.6)
    w, w_out = (air.humidity_ratio_at(*x, air.STANDARD_PRESSURE) for x in (room, outdoors))
    density = air.dry_air_density(30.0, w_out, air.STANDARD_PRESSURE)
    dryer = Dehumidifier(capacity="70 pint/day", airflow=0.1, inlet="ventilation")
    machines = Equipment(
        dehumidifier=dryer, standby_power=0.0,
        ventilation=Ventilation(kind="supply", airflow=0.04 * 1.204 / density),
    )  # fmt: skip
    _, step = one_step(machines, room=room, outdoors=outdoors, dehumidifier=1.0)
    w_in = 0.4 * w_out + 0.6 * w
    h_in = 0.4 * air.enthalpy(30.0, w_out) + 0.6 * air.enthalpy(24.0, w)
    t_in = air.temperature_at_enthalpy(h_in, w_in)
    rh_in = air.relative_humidity(t_in, w_in, air.STANDARD_PRESSURE)
    water, power, _ = dehumidifier_factors(t_in, rh_in)
    assert -step.water_dehumidifier == pytest.approx(dryer.capacity * water, rel=1e-9)
    assert step.dehumidifier == pytest.approx(dryer.drying_power() * power, rel=1e-9)


def test_an_integrated_energy_factor_that_low_power_leaves_no_room_for() -> None:
    """20 W of standby take 67 W of every drying watt-hour: 10 pints a day cannot have 2.5 L/kWh."""
    with pytest.raises(InputError) as refusal:
        Dehumidifier(
            capacity="10 pint/day", standby_power=20.0, integrated_energy_factor="2.5 L/kWh"
        )
    assert str(refusal.value) == (
        "Dehumidifier.integrated_energy_factor: cannot use '2.5 L/kWh'. Use a value of at most 2.15 L/kWh, "
        "which this standby and off-cycle fan power leave to a machine of 8 L/kWh."
    )

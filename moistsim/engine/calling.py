"""All calls of a step: the control's, and those of machines that call on their own."""

from typing import NamedTuple

from moistsim.controls import CallSet
from moistsim.core.compiled import piece
from moistsim.engine.drying import Inlet, inlet_air, own_humidistat
from moistsim.engine.outset import Outset
from moistsim.engine.records import Minute, Plant, State
from moistsim.engine.ventilating import Ventilating, blower_before, ventilate, with_least_run


class Called(NamedTuple):
    """Calls to the machines, and the air on which they would act."""

    calls: CallSet
    """Calls to the machines."""
    going: Ventilating
    """Operation of the ventilation's own fans; a central duct as at full blower flow."""
    inlet: Inlet
    """Inlet air of the dehumidifier, if it runs."""
    blower_this_hour: float
    """Time that the blower ran in this clock hour before the step, s."""


@piece
def call(
    plant: Plant, state: State, begins: Outset, calls: CallSet, minute: Minute, dt: float
) -> Called:
    """Add the machines' own calls to those of the control.

    A dehumidifier's own humidistat and a fan with a minimum runtime in each hour call as a control
    does. Machines can refuse their calls too.
    """
    t, w = begins.air.temperature, begins.air.humidity_ratio
    going = ventilate(
        plant.ventilation, calls.ventilation, t, w, minute.t_out, minute.w_out, minute.pressure,
        minute.hour, dt,
    )  # fmt: skip
    ran = blower_before(state, minute.hour, dt)
    drying = own_humidistat(plant.dehumidifier, state, calls.dehumidifier, begins.sensed_rh)
    fan = with_least_run(plant.unit, plant.ventilation, calls.fan, going, ran, minute.hour, dt)
    inlet = inlet_air(
        plant.dehumidifier, t, w, minute.t_out, minute.w_out, going.supply * minute.density,
        going.temperature, going.humidity_ratio,
    )  # fmt: skip
    whole = CallSet(
        cooling=calls.cooling,
        reheat=calls.reheat,
        heating=calls.heating,
        dehumidifier=drying,
        fan=fan,
        airflow=calls.airflow,
        ventilation=calls.ventilation,
        hot_gas=calls.hot_gas,
        slow_down=calls.slow_down,
    )
    return Called(whole, going, inlet, ran)

"""Values that a space next to the house is metered by in a step."""

from typing import NamedTuple


class SpaceMeter(NamedTuple):
    """Meter of a space in a step: air and water in kg/s, heat and power in W.

    A flow into the space is positive, except for those to and from a conditioned zone: they are
    positive into that zone, as in its own meter.
    """

    temperature: float
    humidity_ratio: float
    rh: float
    """Relative humidity, 0 to 1."""
    fast_temperature: float
    """Temperature of joists, roof deck or the surfaces of a second zone, degC."""
    surface_rh: float
    """Relative humidity in balance with the surface of its wood, 0 to 1."""
    deep_rh: float
    """Relative humidity in balance with the depth of its wood, 0 to 1."""
    above_60: float
    above_80: float
    """1 while the RH at the surface of its wood is above 80 %."""
    warm: float
    """1 while a conditioned zone is warmer than its limit, as in the house's own meter."""
    cool: float
    cold: float
    air_outdoors: float
    """Dry air from outdoors through vents and leaks, kg/s."""
    air_out: float
    air_to_house: float
    """Dry air to the house's zone, through leaks and the return, kg/s."""
    air_from_house: float
    """Dry air from the house's zone, through leaks and the supply, kg/s (negative)."""
    air_to_second: float
    air_from_second: float
    air_ducts: float
    """Dry air from the leaks of ducts that run through it, kg/s."""
    water_outdoors: float
    water_out: float
    water_to_house: float
    water_from_house: float
    water_to_second: float
    water_from_second: float
    water_ducts: float
    """Water from leaks of ducts, less the water that drips off cold ducts, kg/s."""
    water_soil: float
    water_gains: float
    water_stored: float
    """Water from the surface of its wood to the air, kg/s."""
    water_stored_deep: float
    water_surfaces: float
    """Water that condenses on its surfaces, kg/s (negative)."""
    water_fog: float
    """Water that its air could not hold and that settles, kg/s (negative)."""
    water_film: float
    """Water that evaporates from its surfaces, kg/s."""
    water_run_off: float
    """Water that its surfaces cannot hold, kg/s (negative)."""
    water_dehumidifier: float
    water_sweat: float
    """Water that drips off cold ducts, kg/s; `water_ducts` holds it too."""
    heat_outdoors: float
    heat_out: float
    heat_to_house: float
    heat_from_house: float
    heat_to_second: float
    heat_from_second: float
    heat_ducts: float
    """Enthalpy of the leaks of ducts and heat from their walls, W."""
    heat_partition: float
    """Heat through ceiling, floor or wall to the house's zone, W."""
    heat_partition_second: float
    heat_opaque: float
    heat_windows: float
    heat_sun: float
    heat_ground: float
    heat_soil: float
    heat_gains: float
    heat_moisture: float
    heat_run_off: float
    heat_pressure: float
    heat_dehumidifier_drain: float
    dehumidifier: float
    dehumidifier_on: float
    dehumidifier_start: float


SPACE_FIELDS = SpaceMeter._fields
"""Names of all values of a space in a step, in the order in which tables hold them."""

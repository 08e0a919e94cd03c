"""A room of 130 m3 at 20 degC with vapor from 9 to 17 h, for checks of moisture storage."""

from support.houses import bare_house, with_envelope

from moistsim import House, MoistureStore, air

PRESSURE = 101_325.0
TEMPERATURE = 20.0
VOLUME = 8.0 * 6.0 * 2.7
AIRFLOW = 0.5 * VOLUME / 3600.0
SOURCE = 0.5 / 3600.0
"""kg/s while it is on."""
ON, OFF = 9, 17
"""Hours of the day."""
W_OUT = float(air.humidity_ratio_at(TEMPERATURE, 0.30, PRESSURE))
INFLOW = AIRFLOW * float(air.dry_air_density(TEMPERATURE, W_OUT, PRESSURE))
"""Dry air, kg/s."""
SATURATION = float(air.saturation_pressure(TEMPERATURE))


def room(store: MoistureStore | None = None, *, constant: bool = False) -> House:
    """The room, tied to the ground at the outdoor 20 degC so firmly that it stays there."""
    wave = [1.0 if constant or ON <= hour < OFF else 0.0 for hour in range(24)]
    mean = SOURCE * sum(wave) / 24.0
    tied = bare_house(
        floor_area=48.0,
        ceiling_height=2.7,
        envelope={
            "fast_mass": 0.0,
            "slow_mass": 0.0,
        },
        gains={"moisture": mean, "moisture_profile": wave},
        moisture_store=store,
    )
    return with_envelope(tied, surface_film=1e7, mass_coupling=1e7, floor_u=1e7)

"""Source: ASHRAE 55 through pythermalcomfort, from memory.

ASHRAE 55 through pythermalcomfort: rows of the standard's table of computer-program validation
(PMV of +-0.5 at its corners of the comfort zone: 1.1 met, 0.10 m/s, 0.5 and 1.0 clo), from memory.
"""

import pandas as pd
import pytest

from moistsim.risk.comfort import comfort_hours

# Air and mean radiant temperature, degC; RH, percent; clo; PMV.
ROWS = [
    (19.6, 86.0, 1.0, -0.5),
    (23.9, 66.0, 1.0, 0.5),
    (25.7, 15.0, 1.0, 0.5),
    (21.2, 20.0, 1.0, -0.5),
    (23.6, 67.0, 0.5, -0.5),
    (26.8, 56.0, 0.5, 0.5),
]


def room(t: float, rh: float, outdoors: float = 30.0) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "indoor_temperature_C": t,
            "fast_mass_temperature_C": t,
            "indoor_rh_pct": rh,
            "outdoor_temperature_C": outdoors,
        },
        index=pd.date_range("2001-06-01", periods=24, freq="h"),
    )


@pytest.mark.parametrize(("t", "rh", "clo", "pmv"), ROWS)
def test_the_corners_of_the_comfort_zone(t: float, rh: float, clo: float, pmv: float) -> None:
    """0.07 m/s in the room is 0.10 m/s past a body at 1.1 met."""
    found = comfort_hours(room(t, rh), metabolic_rate=1.1, air_speed=0.07, clothing=clo)
    assert found["pmv"].to_numpy() == pytest.approx(pmv, abs=0.05)
    # Fanger: ten percent dissatisfied at a vote of half a point either way.
    assert found["ppd_pct"].to_numpy() == pytest.approx(10.0, abs=1.0)


@pytest.mark.parametrize(("outdoors", "clo"), [(30.0, 0.46), (26.0, 0.46), (-5.0, 1.0)])
def test_clothing_by_the_morning(outdoors: float, clo: float) -> None:
    """Clothing follows the outdoor temperature at 6 in the morning, not the afternoon's.

    The ends of the standard's line of clothing by the temperature outdoors at 6 in the morning;
    what the afternoon brings is of no matter.
    """
    frame = room(23.0, 50.0, outdoors)
    frame.loc[frame.index.hour > 8, "outdoor_temperature_C"] = 12.0
    found = comfort_hours(frame, metabolic_rate=1.2, air_speed=0.1)
    assert found["clothing_clo"].to_numpy() == pytest.approx(clo, abs=0.006)


def test_radiation_and_humidity_are_felt() -> None:
    base = comfort_hours(room(25.0, 50.0), metabolic_rate=1.2, air_speed=0.1, clothing=0.5)
    cool_walls = room(25.0, 50.0).assign(fast_mass_temperature_C=23.0)
    damp = room(25.0, 70.0)
    for frame, sign in ((cool_walls, -1.0), (damp, 1.0)):
        found = comfort_hours(frame, metabolic_rate=1.2, air_speed=0.1, clothing=0.5)
        assert (sign * (found["pmv"] - base["pmv"]) > 0.05).all()

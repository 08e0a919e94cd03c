"""Comfort by ASHRAE 55, hour by hour, through the open library pythermalcomfort."""

import warnings

import numpy as np
import pandas as pd

COMFORTABLE = 0.5
"""Predicted mean votes within this of 0 comply with ASHRAE 55."""


def comfort_hours(
    hourly: pd.DataFrame,
    *,
    metabolic_rate: float,
    air_speed: float,
    clothing: float | None = None,
) -> pd.DataFrame:
    """Predicted mean vote and share of dissatisfied people, for somebody awake in the room.

    The air is the hour's mean; what surrounds it radiates at the temperature of board and contents
    (glass and sun are not seen apart). Body movement adds to the air speed, and movement takes from
    the clothing, as the standard has it. Hours beyond the standard's range (10 to 40 degC) have the
    value that its equation gives there.

    Parameters
    ----------
    hourly : DataFrame
        As `Season.hourly`.
    metabolic_rate : float
        met.
    air_speed : float
        Of the room, m/s.
    clothing : float, optional
        clo; left out, what people put on by the outdoor temperature at 6 in the morning, ASHRAE
        55's own rule (0.46 clo on a warm day, 1 in frost).

    Returns
    -------
    DataFrame
        By hour: `pmv`, `ppd_pct` and `clothing_clo`.
    """
    # The import takes a second and more.
    from pythermalcomfort.clothing import clo_dynamic_ashrae
    from pythermalcomfort.environment import v_relative
    from pythermalcomfort.models import clo_tout, pmv_ppd_ashrae

    index = pd.DatetimeIndex(hourly.index)
    if clothing is None:
        outdoors = hourly["outdoor_temperature_C"]
        at_six = outdoors[index.hour == 6]
        days = index.normalize()
        mornings = pd.Series(at_six.to_numpy(float), index=days[index.hour == 6])
        if mornings.empty:
            # Less than a morning of weather: its own mean.
            mornings = pd.Series([float(outdoors.mean())], index=days[:1])
        mornings = mornings.reindex(days.unique()).ffill().bfill()
        worn = np.asarray(clo_tout(mornings.to_numpy(float)).clo_tout, float)
        clo = pd.Series(worn, index=mornings.index).loc[days].to_numpy(float)
    else:
        clo = np.full(len(hourly), float(clothing))
    mass = hourly["fast_mass_temperature_C"].to_numpy(float)
    # The table has the hour's end; the first hour's start is not in it.
    radiant = 0.5 * (mass + np.concatenate([mass[:1], mass[:-1]]))
    with warnings.catch_warnings():
        # Air that hardly moves cools by nothing: the library takes 0 and says so, each time.
        warnings.filterwarnings("ignore", message="Cooling effect could not be calculated")
        found = pmv_ppd_ashrae(
            tdb=hourly["indoor_temperature_C"].to_numpy(float),
            tr=radiant,
            vr=float(v_relative(air_speed, metabolic_rate)),
            rh=hourly["indoor_rh_pct"].to_numpy(float),
            met=metabolic_rate,
            clo=np.asarray(clo_dynamic_ashrae(clo, metabolic_rate), float),
            limit_inputs=False,
            round_output=False,
        )
    return pd.DataFrame(
        {"pmv": found.pmv, "ppd_pct": found.ppd, "clothing_clo": clo}, index=hourly.index
    )

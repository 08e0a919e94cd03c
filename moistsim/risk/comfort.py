"""Comfort by ASHRAE 55 and hour, through the open library pythermalcomfort."""

import warnings

import numpy as np
import pandas as pd

COMFORTABLE = 0.5
"""Largest predicted mean vote, positive or negative, that complies with ASHRAE 55."""


def comfort_hours(
    hourly: pd.DataFrame,
    *,
    metabolic_rate: float,
    air_speed: float,
    clothing: float | None = None,
) -> pd.DataFrame:
    """Return predicted mean vote and percentage dissatisfied of people awake in the room, by hour.

    Air temperature is the hour's mean. The radiant temperature is that of board and contents,
    without glass and sun. As in the standard, body movement adds to the air speed and lowers the
    insulation of clothing. Outside the standard's range (10 to 40 degC) its equation still applies.

    Parameters
    ----------
    hourly : DataFrame
        Hourly table, as `Season.hourly`.
    metabolic_rate : float
        Metabolic rate of the people, met.
    air_speed : float
        Air speed in the room, m/s.
    clothing : float, optional
        Insulation of clothing, clo. Default: by the outdoor temperature at 6 am, as in ASHRAE 55
        (0.46 clo on a warm day, 1 clo in frost).

    Returns
    -------
    DataFrame
        By hour: `pmv`, `ppd_pct` and `clothing_clo`.
    """
    # The import takes more than a second.
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
            # Weather without a morning: its mean.
            mornings = pd.Series([float(outdoors.mean())], index=days[:1])
        mornings = mornings.reindex(days.unique()).ffill().bfill()
        worn = np.asarray(clo_tout(mornings.to_numpy(float)).clo_tout, float)
        clo = pd.Series(worn, index=mornings.index).loc[days].to_numpy(float)
    else:
        clo = np.full(len(hourly), float(clothing))
    mass = hourly["fast_mass_temperature_C"].to_numpy(float)
    # The table has temperatures at the end of each hour; the first start is missing.
    radiant = 0.5 * (mass + np.concatenate([mass[:1], mass[:-1]]))
    with warnings.catch_warnings():
        # Still air has no cooling effect; the library then warns each time and uses 0.
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

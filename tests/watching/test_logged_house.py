"""The watch of the logged house in ../shared, as it is and with a fault put into its log. Skipped without it.

L. M. Candanedo, V. Feldheim, D. Deramaix, "Data driven prediction models of energy use of appliances in
a low-energy house", Energy and Buildings 140 (2017) 81-97; data under CC BY 4.0. Only the part kept in
../shared, the first 70 percent, is read.
"""

from pathlib import Path

import attrs
import numpy as np
import pandas as pd
import pytest

import moistsim as ms

FILE = "shared/loggers/house_2016_first_70_percent.csv.gz"
PLACES = [parent / FILE for parent in Path(__file__).resolve().parents]
ROOMS = (1, 2, 3, 4, 7, 8, 9)
COLUMNS = {
    "time": "date", "pressure": "Press_mm_hg", "wind_speed": "Windspeed", "outdoor_temperature": "T_out",
    "outdoor_dew_point": "Tdewpoint",
    **{f"indoor_temperature.room {n}": f"T{n}" for n in ROOMS},
    **{f"indoor_rh.room {n}": f"RH_{n}" for n in ROOMS},
}  # fmt: skip
UNITS = {
    "pressure": "mmHg", "wind_speed": "m/s", "outdoor_temperature": "degC", "outdoor_dew_point": "degC",
    "indoor_temperature": "degC", "indoor_rh": "%",
}  # fmt: skip
FITTED_DAYS = 45


@pytest.mark.slow
def test_no_change_as_it_is_and_an_offset_is_found() -> None:
    file = next((place for place in PLACES if place.exists()), None)
    if file is None:
        pytest.skip("the logged house is not in ../shared/loggers")
    # Position, height and zone of south Belgium; the file states none. The house is a round guess.
    place = {
        "latitude": 50.5,
        "longitude": 4.0,
        "elevation": 90.0,
        "utc_offset": 1.0,
        "label": "start",
    }
    log = ms.HouseLog.read(file, COLUMNS, units=UNITS, **place)
    rows = log.frame.index
    part = log.between(str(rows[0]), str(rows[144 * FITTED_DAYS]))
    house = ms.House(floor_area="280 m2", ach50=1.0)
    fit = ms.calibrate(house, ms.Equipment(), part, impose=True, blind=0.0)
    watch = ms.watch(fit, log)
    errors = 1000.0 * (watch.days["measured"] - watch.days["predicted"])
    rms = float(np.sqrt((errors**2).mean()))
    print(
        f"{len(errors)} days: {rms:.2f} g/kg (rms), {watch.days['outside'].mean():.0%} of days outside the 90 % band"
    )
    assert watch.alarm is None and not watch.days["alarm"].any()
    assert rms < 0.25 and watch.days["outside"].mean() <= 0.2
    change = pd.Timestamp("2016-03-20")
    frame = log.frame.copy()
    humidity = [name for name in frame if name.startswith("indoor_rh")]
    frame.loc[change:, humidity] += 6.0
    found = ms.watch(fit, attrs.evolve(log, frame=frame)).alarm
    assert found is not None
    print(
        f"6 points more from {change:%B %d}: alarm on {found.raised:%B %d}, dated {found.since:%B %d}"
    )
    print(found.suspects.round(2))
    assert (found.raised - change) / pd.Timedelta(days=1) <= 7
    assert "humidity sensor" in found.suspects.index[0]

"""Releases on the wrong side of their condition, and deadbands that the sensor cannot keep."""

from collections.abc import Iterator

from moistsim.controls.review.finding import Finding
from moistsim.controls.review.table import Table
from moistsim.controls.review.words import number, said, title, unit_of
from moistsim.controls.rules.rows import Condition

TEMPERATURE_RATE = 0.1 / 60.0
"""Rate at which strips or a compressor change a room's temperature, K/s.

Our own round figure: 1 K in 10 min.
"""
HUMIDITY_RATE = 0.3 / 60.0
"""Rate at which strips or a compressor change a room's relative humidity, percent RH per second.

Our own round figure: 3 % in 10 min.
"""


def release_side(table: Table) -> Iterator[Finding]:
    """Releases that hold at readings where their condition holds, or only beyond those readings."""
    for k, row in enumerate(table.rows):
        for also in row.also:
            for release, opposite, gap in table.band(also, row.releases):
                if opposite and gap < 0.0:
                    table.unfit.add(k)
                    yield _wrong_side(
                        table,
                        k,
                        release,
                        also,
                        "holds already where the condition begins, and wins",
                    )
        pairs = list(table.bands(k))
        others = len(row.releases) > len(pairs)
        for release, opposite, gap in pairs:
            if opposite and gap < 0.0:
                text = "holds already where the condition begins, and wins"
            elif not opposite and gap >= 0.0:
                text = "holds wherever the condition does, and wins: the row is never on"
            elif not opposite and not others and not any(way for _, way, _ in pairs):
                text = "lies beyond the condition, so that the call stays on when the reading goes back"
            else:
                continue
            table.unfit.add(k)
            yield _wrong_side(table, k, release, row.when, text)


def _wrong_side(table: Table, k: int, release: Condition, begin: Condition, text: str) -> Finding:
    return Finding(
        k + 1, "release side",
        f"{title(table, k)}: its release, {said(table, release)}, is on the wrong side of its "
        f"condition, {said(table, begin)}: it {text}.",
    )  # fmt: skip


def _carried(table: Table, reading: str) -> tuple[float, float]:
    """Resolution of a room reading, and its change during the sensor's lag, in its SI unit."""
    sensor = table.sensor
    # Two lags in a row trail a steady change by their sum.
    mixing = sensor.mixing_time if sensor.place == "room" else 0.0
    warm, moist = mixing + sensor.temperature_lag, mixing + sensor.humidity_lag
    if reading == "temperature":
        return sensor.temperature_resolution, TEMPERATURE_RATE * warm
    if reading == "relative_humidity":
        return sensor.humidity_resolution, HUMIDITY_RATE * max(warm, moist)
    if reading == "dew_point":
        return sensor.temperature_resolution, TEMPERATURE_RATE * moist
    return 0.0, 0.0


def deadband(table: Table) -> Iterator[Finding]:
    """Deadbands within the sensor's resolution, or within the change during its lag."""
    begins = ((k, row, it) for k, row in enumerate(table.rows) for it in (row.when, *row.also))
    for k, row, begin in begins:
        unit = unit_of(begin.left)
        if unit not in ("degC", "percent"):
            continue
        unit = "delta_degC" if unit == "degC" else unit
        resolution, carried = _carried(table, begin.left)
        for _, opposite, gap in table.band(begin, row.releases):
            if not opposite or gap < 0.0:
                continue
            band = f"{title(table, k)}: its deadband of {number(gap, unit)}"
            if gap < resolution:
                text = f"is narrower than the sensor's resolution of {number(resolution, unit)}"
            elif gap < carried:
                rate = TEMPERATURE_RATE if unit == "delta_degC" else HUMIDITY_RATE
                text = (
                    f"is narrower than the {number(carried, unit)} that the room moves within the "
                    f"sensor's lag, at {number(60.0 * rate, unit)} a minute (a round figure)"
                )
            elif gap == 0.0:
                text = "lets the call switch on and off in each step"
            else:
                continue
            yield Finding(k + 1, "deadband", f"{band} {text}.")

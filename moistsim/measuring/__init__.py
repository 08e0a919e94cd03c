"""What a measurement is worth, against what it costs."""

from moistsim.measuring.measurements import Measurement, measurements
from moistsim.measuring.next_measurement import NextMeasurement, next_measurement

__all__ = [
    "Measurement",
    "NextMeasurement",
    "measurements",
    "next_measurement",
]

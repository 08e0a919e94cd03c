"""Numbers of the sheet in the units of its reader."""

from moistsim.core.units import from_si
from moistsim.figures import style
from moistsim.study import Units


class Show:
    """Numbers in the reader's units."""

    def __init__(self, units: Units) -> None:
        self.us = units == "us"
        self.degree = "°F" if self.us else "°C"
        self.flow_unit = "cfm" if self.us else "L/s"

    def number(self, celsius: float) -> str:
        return self.minus(f"{style.temperature(celsius, 'us' if self.us else 'si'):.1f}")

    @staticmethod
    def minus(text: str) -> str:
        """With the sign that is as wide as a plus."""
        return text.replace("-", "\N{MINUS SIGN}")

    def temperature(self, celsius: float) -> str:
        return f"{self.number(celsius)} {self.degree}"

    def difference(self, kelvin: float) -> str:
        return f"{kelvin * 1.8 if self.us else kelvin:.1f}"

    def flow(self, m3_s: float) -> str:
        return f"{from_si(m3_s, 'm3/s', 'cfm') if self.us else 1000.0 * m3_s:.0f} {self.flow_unit}"

    def power(self, watts: float) -> str:
        if self.us:
            return f"{from_si(watts, 'W', 'kBtu/h'):.3g} kBtu/h"
        return f"{watts / 1000.0:.3g} kW"

    def time(self, seconds: float) -> str:
        if seconds <= 0.0:
            return "none"
        return f"{seconds:.0f} s" if seconds < 120.0 else f"{seconds / 60.0:.3g} min"

    def read(self, value: float, reading: str) -> str:
        """A reading of the control with its unit."""
        if reading == "relative_humidity":
            return f"{value:.1f} % RH"
        return self.temperature(value)

"""Weather: an hour by hour description of one year at one place."""

from moistsim.weather.checks import WeatherError
from moistsim.weather.service import fetch_typical_year
from moistsim.weather.weather import Weather

__all__ = [
    "Weather",
    "WeatherError",
    "fetch_typical_year",
]

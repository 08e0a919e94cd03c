"""Weather: an hour by hour description of one year at one place."""

from moistsim.weather.actual_years import fetch_actual_years
from moistsim.weather.checks import WeatherError
from moistsim.weather.typical_year import fetch_typical_year
from moistsim.weather.weather import Weather

__all__ = [
    "Weather",
    "WeatherError",
    "fetch_actual_years",
    "fetch_typical_year",
]

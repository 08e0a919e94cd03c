"""Abbreviations and trade terms that the page needs, each explained in plain words."""

import re

GLOSSARY = {
    "kWh": "kilowatt-hour: the unit of electricity on the bill",
    "kW": "kilowatt, 1,000 watts: the electric power at one moment",
    "USD": "United States dollar",
    "discounted": "interest is counted: money saved later is worth less than money saved today",
    "dew point": "the temperature at which water condenses from the air: how much water is in the air",
    "RH": "relative humidity: how full of water the air is, in percent of the most it can hold",
    "RH-hours": "percent above a level, times the hours for which it lasts",
    "moisture content": "water in wood, in percent of the weight of the dry wood",
    "AUTO": "the blower runs only while the machine cools or heats",
    "circulation": "the blower runs for some minutes of each hour, even without cooling or heating",
    "fan-off delay": "how long the blower runs on after cooling or heating stops",
    "ACH": "air changes an hour",
    "ACH50": "air changes an hour in a blower-door test at 50 pascals: how leaky the house is",
    "CFM50": "cubic feet per minute through the leaks in a blower-door test at 50 pascals",
    "ASHRAE": "the society whose standards the trade uses for comfort, mold and fresh air",
    "Btu": "British thermal unit: a small amount of heat",
    "Btu/h": "British thermal units an hour: heating or cooling capacity; 12,000 Btu/h is one ton",
    "cfm": "cubic feet per minute: airflow",
    "COP": "coefficient of performance: heat moved for each unit of electricity",
    "EER": "energy efficiency ratio: British thermal units moved for each watt-hour",
    "CO2e": "greenhouse gases, counted as the carbon dioxide with the same effect",
    "HVAC": "heating, ventilation and air conditioning",
    "IANA": "the list of the world's time zones",
    "US": "United States",
    "SI": "the metric system of units",
    "ISO": "the international body for standards",
    "CSV": "a table as plain text, which any spreadsheet opens",
    "HTML": "a page for a browser",
    "TOML": "plain text with names and values",
    "SHR": "sensible heat ratio: the share of cooling that lowers the temperature; the rest dries",
    "SEER": "seasonal energy efficiency ratio, from an air conditioner's label",
    "U-value": "how much heat a wall or window lets through for each degree of difference",
    "Pa": "pascal: a unit of pressure",
    "MWh": "megawatt-hour: 1,000 kilowatt-hours",
    "mph": "miles per hour",
}
"""Meanings by abbreviation or term."""


def used(text: str) -> dict[str, str]:
    """The entries that a text uses."""
    return {
        word: meaning
        for word, meaning in GLOSSARY.items()
        if re.search(rf"(?<![\w-]){re.escape(word)}(?![\w-])", text)
    }

"""Short forms that cannot be helped, each in plain words."""

import re

GLOSSARY = {
    "kWh": "kilowatt-hour, the unit in which electricity is billed",
    "kW": "kilowatt, 1,000 watts: how much is drawn at a moment",
    "USD": "United States dollar",
    "RH": "relative humidity: how full of water the air is, in percent of the most that it can hold "
    "at its temperature",
    "RH-hours": "percent above a level, times the hours for which it lasts",
    "ASHRAE": "the society whose standards the trade uses for comfort, mold and fresh air",
    "Btu": "British thermal unit, a small amount of heat; 12,000 Btu/h is a ton of cooling",
    "Btu/h": "British thermal units an hour, in which the trade gives capacity; 12,000 of them are a ton",
    "ACH50": "air changes an hour at a pressure of 50 pascals, from a blower-door test",
    "cfm": "cubic feet a minute, an airflow",
    "COP": "coefficient of performance: heat moved for each unit of electricity",
    "EER": "energy efficiency ratio: British thermal units moved for each watt-hour",
    "CO2e": "greenhouse gases, counted as the carbon dioxide that would warm as much",
    "HVAC": "heating, ventilation and air conditioning",
    "IANA": "the list of the world's time zones",
    "US": "United States",
    "SI": "the metric system of units",
    "ISO": "the international body for standards",
    "CSV": "a table as plain text, which any spreadsheet opens",
    "HTML": "a page for a browser",
    "TOML": "plain text with names and values",
    "SHR": "sensible heat ratio: the share of cooling that lowers the temperature, the rest dries",
    "SEER": "seasonal energy efficiency ratio, from an air conditioner's label",
    "U-value": "how much heat a wall or window lets by, for each degree between its two sides",
    "Pa": "pascal, a unit of pressure",
    "MWh": "megawatt-hour, 1,000 kilowatt-hours",
    "mph": "miles an hour",
}
"""By short form."""


def used(text: str) -> dict[str, str]:
    """Those that a text uses."""
    return {
        word: meaning
        for word, meaning in GLOSSARY.items()
        if re.search(rf"(?<![\w-]){re.escape(word)}(?![\w-])", text)
    }

"""The file of a new house: the shortest useful one, with everything optional behind comments."""

import re
from pathlib import Path

from moistsim.core.display import Units, units_or_default

_TEMPLATE = Path(__file__).with_name("new_house.toml")


def new_house(file: str, units: Units | None = None) -> str:
    """Text of a scenario file for a house with invented numbers, which runs as written.

    Lines that begin with ``#`` and a letter or a bracket are keys to uncomment.

    Parameters
    ----------
    file : str
        Name of the file, as the text has it in its command.
    units : {"us", "si"}, optional
        Units of the numbers.

    Examples
    --------
    >>> 'floor_area = "1,800 ft2"' in new_house("my-house.toml")
    True
    """
    units = units_or_default(units, "new_house units")
    text = _TEMPLATE.read_text(encoding="utf-8").replace("{{file}}", file)
    side = 1 if units == "us" else 2
    return re.sub(r"\{\{(.*?)\|(.*?)\}\}", lambda pair: str(pair[side]), text)

"""Texts that were damaged by a slip of the hand, a wrong unit or an editor."""

import re
from typing import Any

from hypothesis import strategies as st

NONSENSE = (
    "", " ", "nan", "inf", "-inf", "1e999", "1.5.2", "1,5", "1 000", "٣", "１２", "²", "five", "12 parsecs",
    "12 %", "5 ± 1", "2 ± -1", "5 ± nan", "75 F", "3 tons", "80 cfm", "R-30", "$0.15/kWh", "$", "#", "\\frac{1}{2}",
    "{}", "{0}", "%s", "None", "true", "💧", "é" * 40, "9" * 5000, "x" * 400, "(" * 3000, "[" * 50, "-", "--5", "0x10",
    "1e5 Btu/h", "1/0", "1/150", "1 ft2 ft2", "ft2", "% %", "1 %%", "1;2", "tab\tline", "two\nlines", "nul\x00", "\u202e5",
    "5 kW kW", "__import__('os')", "m2" * 200, "1 " + "m" * 300, "1e400 W", "9" * 400 + " W", "5 W/0", "5 **", "5 **9**9**9",
    "1 ft**999999", "1 m^-1", "5 degC degC", "5 delta_degF/degF", "1990-02-30", "24:00 to 24:00", "02-29", "02-30",
)  # fmt: skip
"""Texts that mean nothing, or not here."""

UNITS = (
    "F", "C", "K", "%", "cfm", "L/s", "m3/s", "m3/h", "ft2", "m2", "ft", "m", "in", "ton", "tons", "kW", "W", "Btu/h", "kBtu/h",
    "pint/day", "pints", "kg/day", "L/kWh", "cent/kWh", "USD/kWh", "USD", "year", "min", "h", "s", "day", "degF", "grains/lb",
)  # fmt: skip
STRAYS = "[]{}()\"'=#.,:;%±°$\\/*-+_ \t\n0aZé💧\x00\ufeff\u202e\xa0"
_TOKEN = re.compile(r"[^\W\d]+|\d[\d.,]*|\s+|.", re.DOTALL)


@st.composite
def damaged(draw: st.DrawFn, text: str) -> Any:
    """A text with a token or a letter dropped, repeated, swapped or replaced."""
    tokens = _TOKEN.findall(text)
    if not tokens:
        return draw(st.sampled_from(NONSENSE))
    k = draw(st.integers(0, len(tokens) - 1))
    token = tokens[k]
    how = draw(st.integers(0, 9))
    if how == 0:
        tokens[k] = ""
    elif how == 1:
        tokens[k] = token + token
    elif how == 2:
        other = draw(st.integers(0, len(tokens) - 1))
        tokens[k], tokens[other] = tokens[other], token
    elif how == 3:
        at = draw(st.integers(0, len(token)))
        tokens[k] = token[:at] + draw(st.sampled_from(STRAYS)) + token[at:]
    elif how == 4:
        at = draw(st.integers(0, len(token) - 1))
        tokens[k] = token[:at] + token[at + 1 :]
    elif how == 5:
        tokens[k] = draw(st.sampled_from(UNITS))
    elif how == 6:
        tokens[k] = draw(st.sampled_from(NONSENSE))
    elif how == 7:
        return draw(
            st.sampled_from([text.upper(), text + text, text[::-1], text[: len(text) // 2]])
        )
    elif how == 8:
        tokens[k] = draw(
            st.sampled_from(["0", "-1", "1e9", "0.0001", "999", "32", "1e400", "1e-400"])
        )
    return "".join(tokens)

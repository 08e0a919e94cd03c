"""What a log tells of a house, what only as a ratio, and what not at all, in plain words."""

from typing import TYPE_CHECKING, Any, NamedTuple

import attrs
import numpy as np
import pandas as pd

from moistsim.calibration.adjusted import COSINE, DEEP, DRIFT, PEAKS, SINE
from moistsim.calibration.words import words_of
from moistsim.core.display import Show, Units, number, significant, units_or_default

if TYPE_CHECKING:
    from moistsim.calibration.fit import Fit

LEVEL = (0.05, 0.95)
TOLD = 1.25
"""Factor either way of a 90 % band up to which a quantity counts as known; about the accuracy of a flow
hood or a careful count."""
LEARNED = 0.75
"""Part of its prior's width that the band of a value may have at most to count as learned."""
ALIKE = 0.75
"""Correlation of two quantities' logarithms from which they are told as a ratio."""
KNOWN, RATIO, PARTLY, UNKNOWN = "known", "only as a ratio", "partly", "not told"
LEAST_SHARE = 0.2
"""Share of the draws that must have a value for a sentence on it."""
QUIET = (PEAKS, COSINE, SINE, DRIFT, DEEP, "house.moisture_store.coating")
"""Values of `Identified.table` without a sentence: no decision hangs on them."""
PLAIN = {
    "excess_g_kg": "household moisture over outdoor air",
    "air_flow_m3h": "outdoor air",
    "moisture_kg_day": "household moisture",
}
"""Quantities that all structures share."""


class Told(NamedTuple):
    """One quantity: what the log says of it."""

    name: str
    words: str
    verdict: str
    low: float
    middle: float
    high: float
    narrowed: float
    """Width of the band over that of the prior."""


@attrs.frozen
class Identified:
    """What the log tells, as `Fit.identified` returns it; `str` gives the sentences."""

    told: tuple[Told, ...]
    ratio: str
    """The sentence on what is known only together; empty if nothing is."""
    units: Units

    @property
    def table(self) -> pd.DataFrame:
        """Quantities with their 90 % bands, in the unit of each name, and the verdict."""
        rows = {one.name: one._asdict() for one in self.told}
        table = pd.DataFrame.from_dict(rows, orient="index").drop(columns="name")
        table.index.name = "quantity"
        return table

    def __str__(self) -> str:
        show = Show(self.units)
        lines = []
        for one in self.told:
            if one.verdict == RATIO or one.name in QUIET:
                continue
            lines.append(f"{one.words[0].upper()}{one.words[1:]}: {_sentence(one, show)}")
        return "\n".join([*([self.ratio] if self.ratio else []), *lines])


def identified(fit: "Fit", units: Units | None = None) -> Identified:
    """What the log of a fit tells.

    Parameters
    ----------
    units : {"us", "si"}, optional
        Units of the sentences.
    """
    units = units_or_default(units, "identified units")
    now, before = fit.quantities, fit.prior_quantities
    logs = np.log(now.clip(lower=1e-9))
    bound = float(np.corrcoef(logs["air_flow_m3h"], logs["moisture_kg_day"])[0, 1])
    told = []
    for name, words in PLAIN.items():
        one = _told(name, words, now[name].to_numpy(), before[name].to_numpy(), even=True)
        if name != "excess_g_kg" and one.verdict != KNOWN and bound > ALIKE:
            one = one._replace(verdict=RATIO)
        told.append(one)
    shared = ("house.gains.moisture", "equipment.ventilation.airflow")
    for name in fit.names:
        if name in shared:
            continue  # Told above, for all structures together.
        has = fit.draws[name].notna()
        if has.mean() < LEAST_SHARE:
            continue  # A structure that the log all but rules out.
        own, prior = (
            fit.draws.loc[has, name].to_numpy(float),
            fit.priors[name].dropna().to_numpy(float),
        )
        told.append(_told(name, words_of(name), own, prior, even=bool((prior > 0.0).all())))
    ratio = ""
    if any(one.verdict == RATIO for one in told):
        ratio = _ratio(dict(zip(PLAIN, told, strict=False)), Show(units))
    return Identified(tuple(told), ratio, units)


def _told(name: str, words: str, now: Any, before: Any, *, even: bool) -> Told:
    """Compare the draws of a quantity with its prior; `even` on the logarithmic scale."""
    low, middle, high = (float(x) for x in np.quantile(now, [LEVEL[0], 0.5, LEVEL[1]]))
    first, last = (float(x) for x in np.quantile(before, LEVEL))
    if even:
        width, prior = np.log(high / low), np.log(last / first)
        known = high / low <= TOLD**2
    else:
        width, prior = high - low, last - first
        known = False
    narrowed = float(width / prior) if prior > 0.0 else 1.0
    verdict = KNOWN if known else PARTLY if narrowed <= LEARNED else UNKNOWN
    return Told(name, words, verdict, low, middle, high, narrowed)


def _ratio(told: dict[str, Told], show: Show) -> str:
    excess, air, moisture = (told[name] for name in PLAIN)
    way = np.sqrt(excess.high / excess.low)
    return (
        f"Outdoor air and household moisture are known only as a ratio: the house lies "
        f"{_excess(excess.middle, show)} above the outdoors (x/÷ {way:.2f}), but "
        f"{show(air.low / 3600.0, 'airflow')} with {show(moisture.low / 86400.0, 'removal')} to "
        f"{show(air.high / 3600.0, 'airflow')} with {show(moisture.high / 86400.0, 'removal')} fit "
        "about equally well and cannot be told apart. A flow hood, weighed condensate or a humidifier of "
        "known output would tell them apart."
    )


def _excess(value: float, show: Show) -> str:
    if show.units == "us":
        return f"{number(7.0 * value, 1)} grains/lb"
    return f"{number(value, 2)} g/kg"


def _sentence(one: Told, show: Show) -> str:
    band = _band(one, show)
    if one.verdict == KNOWN:
        return f"known, {band}."
    if one.verdict == PARTLY:
        return f"partly known, {band}."
    return f"not told by this log ({band} is about what was assumed)."


def _band(one: Told, show: Show) -> str:
    if one.name == "air_flow_m3h":
        return f"{show(one.low / 3600.0, 'airflow')} to {show(one.high / 3600.0, 'airflow')}"
    if one.name == "moisture_kg_day":
        return f"{show(one.low / 86400.0, 'removal')} to {show(one.high / 86400.0, 'removal')}"
    if one.name == "excess_g_kg":
        return f"{_excess(one.low, show)} to {_excess(one.high, show)}"
    if one.name.endswith(".low"):
        return f"{show(one.low, 'temperature')} to {show(one.high, 'temperature')}"
    return f"{significant(one.low, 2)} to {significant(one.high, 2)}{_unit(one.name)}"


def _unit(name: str) -> str:
    return {
        "logger.humidity_offset": " % RH",
        "house.window_opening.area": " m²",
        "house.ach50": " ACH50",
    }.get(name, "")

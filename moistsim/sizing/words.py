"""A sizing as lines on a screen."""

import textwrap
from collections.abc import Iterator, Sequence
from typing import Any

import pandas as pd

from moistsim.core.display import Show, Units, number, units_or_default
from moistsim.engine import column_catalog
from moistsim.sizing.answer import Sizing
from moistsim.sizing.columns import rated
from moistsim.sizing.conditions import HOT, MILD
from moistsim.sizing.machines import CONTINUOUS
from moistsim.sizing.sweeps import ENOUGH

WIDTH, LABEL, CELL = 100, 40, 15
RATINGS = {
    "26.7 degC": (26.7, "old labels"),
    "18.3 degC portable": (18.3, "portable, new labels"),
    "22.8 degC whole-home": (22.8, "whole-home, new labels"),
}
"""Rating points: inlet air, degC, and the labels that use them. All are at 60 % RH."""
CAUTIONS = (
    "These sizes help to choose options. They are not a load calculation for a permit: a typical "
    "year leaves out extremes, and a house description is an estimate until it is measured.",
    "The circuit current is a sum of running currents with our own power factors. It is not a wire "
    "size or a breaker size. An electrician must check it against the nameplates (minimum circuit "
    "ampacity, maximum fuse). Local codes and licensed trades come first.",
    "Strips need airflow proof and their own limit switches. The cooling stage that runs with them "
    "must deliver their minimum airflow.",
)


def rating_words(rating: str, show: Show) -> str:
    """A rating point for a reader.

    Examples
    --------
    >>> rating_words("26.7 degC", Show("us")), rating_words("26.7 degC", Show("si"))
    ('80 °F, 60 % (old labels)', '26.7 °C, 60 % (old labels)')
    """
    inlet, labels = RATINGS[rating]
    return f"{show(inlet, 'temperature')}, 60 % ({labels})"


def lines(sizing: Sizing, units: Units | None) -> Iterator[str]:
    """The whole answer without the cautions, in trade units or SI.

    Raises
    ------
    InputError
        If `units` is neither.
    """
    units = units_or_default(units, "tables units")
    say = _Say(sizing, Show(units))
    for part in (say.loads, say.second, say.alone, say.need, say.sizes, say.oversizing, say.strips):
        yield from part()


class _Say:
    def __init__(self, sizing: Sizing, show: Show) -> None:
        self.it, self.show = sizing, show
        self.power, self.degree = show.unit("load"), show.unit("temperature")
        self.a_day, self.water_digits = show.unit("removal"), show.digits("removal")
        self.rating = {rating: rating_words(rating, show) for rating in RATINGS}
        self.names = {name: at.label(show) for name, at in sizing.conditions.items()}

    # ------------------------------------------------------------------ pieces

    def water(self, kg_day: Any) -> Any:
        """Water a day in the reader's unit."""
        return self.show.value(kg_day, "water")

    def amount(self, kg_day: float) -> str:
        return f"{number(self.water(kg_day), self.water_digits)} {self.a_day}"

    def row(self, label: str, values: Any, digits: int) -> str:
        cells = (number(value, digits) for value in values)
        return (f"{label:{LABEL}}" + "".join(f"{x:>{CELL}}" for x in cells)).rstrip()

    def head(self, title: str, names: Sequence[str]) -> Iterator[str]:
        yield ""
        heads = [textwrap.wrap(name, CELL - 2) for name in names]
        height = max(1, *(len(head) for head in heads))
        for k in range(height):
            cells = "".join(f"{([''] * (height - len(h)) + h)[k]:>{CELL}}" for h in heads)
            yield f"{title if k == height - 1 else '':{LABEL}}{cells}".rstrip()
        yield "-" * (LABEL + CELL * len(names))

    def text(self, words: str) -> Iterator[str]:
        yield from textwrap.wrap(words, WIDTH)

    def grid(
        self, columns: Sequence[tuple[str, "pd.Series[float] | pd.Index[float]", int]]
    ) -> Iterator[str]:
        """A table of few rows and narrow columns."""
        widths = [max(8, max(len(w) for w in head.split()) + 2) for head, _, _ in columns]
        heads = [
            textwrap.wrap(head, width - 1)
            for (head, _, _), width in zip(columns, widths, strict=True)
        ]
        height = max(len(head) for head in heads)
        for k in range(height):
            yield "".join(
                f"{(([''] * (height - len(h))) + h)[k]:>{w}}"
                for h, w in zip(heads, widths, strict=True)
            ).rstrip()
        yield "-" * sum(widths)
        for k in range(len(columns[0][1])):
            cells = []
            for (_, column, digits), width in zip(columns, widths, strict=True):
                value = float(list(column)[k])
                cells.append(f"{number(value, digits):>{width}}")
            yield "".join(cells)

    # ------------------------------------------------------------------ parts

    def loads(self) -> Iterator[str]:
        it, room, show = self.it, self.it.room, self.show
        chosen, cooled, table = it.conditions, it.air_conditioner, it.loads
        yield f"House held at {show(room.temperature, 'temperature')} and {room.rh:.0f} % RH"
        yield from self.head("", [*self.names.values()])
        for label, column, quantity, digits in (
            (f"Outdoor temperature, {self.degree}", "outdoor_C", "temperature", 1),
            (f"Outdoor dew point, {self.degree}", "outdoor_dew_point_C", "temperature", 1),
            ("Hours of the season near this condition", "hours", None, 0),
            (f"Indoor temperature, {self.degree}", "room_C", "temperature", 1),
            ("Indoor RH, %", "room_rh_pct", None, 0),
        ):
            values = cooled[column] if quantity is None else show.value(cooled[column], quantity)
            yield self.row(label, values, digits)
        yield from self.by_source(table, "" if it.second_loads is None else "main zone, ")
        total = table["water_kg_day"].unstack("condition").loc["total", [*chosen]]
        yield self.row(f"Total moisture load, {self.a_day}", self.water(total), self.water_digits)
        if MILD not in chosen:
            yield from self.text("The season has no mild day, on which cooling hardly runs.")

    def by_source(self, table: pd.DataFrame, whose: str) -> Iterator[str]:
        """Loads by condition and source, sensible and latent."""
        chosen, show = self.it.conditions, self.show
        for kind in ("sensible", "latent"):
            title = f"{kind.capitalize()} load, {whose}{self.power}"
            yield from self.head(title, [""] * len(chosen))
            by_source = show.value(table[f"{kind}_W"].unstack("condition")[[*chosen]], "load")
            order = table.loc[next(iter(chosen))].index
            for source in order:
                values = by_source.loc[source]
                if source == "total" or (values.abs() >= (5.0 if show.us else 1.5)).any():
                    yield self.row(source[0].upper() + source[1:], values, 0)

    def second(self) -> Iterator[str]:
        """Loads of a second zone with a system of its own, and the size of that system."""
        it = self.it
        if it.second_loads is None or it.second_oversizing is None:
            return
        yield from self.by_source(it.second_loads, "second zone, ")
        over = it.second_oversizing
        if over.notna().all():
            yield from self.text(
                f"The second system delivers {over['sensible']:.2f} times its zone's sensible load, and "
                f"{over['total']:.2f} times the total load, at the hot condition."
            )
        yield from self.text(
            "All that follows is the main zone's and the first system's. The ideal dehumidifier that holds "
            "the humidity is in the main zone."
        )

    def alone(self) -> Iterator[str]:
        cooled, show = self.it.air_conditioner, self.show
        yield from self.head("Air conditioner alone", [*self.names.values()])
        yield self.row("Stage that meets the sensible load", cooled["stage"], 0)
        for label, column in (
            ("Its sensible capacity", "stage_sensible_W"),
            ("Its latent capacity", "stage_latent_W"),
        ):
            yield self.row(f"{label}, {self.power}", show.value(cooled[column], "load"), 0)
        yield self.row("Runtime fraction", cooled["runtime_fraction"], 2)
        steady, simulated = cooled["steady_water_kg_day"], cooled["alone_water_kg_day"]
        yield self.row(f"Steady removal, {self.a_day}", self.water(steady), self.water_digits)
        yield self.row("Simulated runtime, h/day", cooled["alone_runtime_h_day"], 1)
        yield self.row(f"Simulated removal, {self.a_day}", self.water(simulated), self.water_digits)
        yield self.row("Simulated indoor RH, %", cooled["alone_rh_pct"], 0)

    def need(self) -> Iterator[str]:
        it, need = self.it, self.it.need
        yield from self.head(
            f"Remaining moisture load, {self.a_day}",
            [self.names.get(x, x) for x in map(str, need.index)],
        )
        yield self.row("At the setpoints", self.water(need["still_kg_day"]), self.water_digits)
        room = self.show.value(need["room_C"], "temperature")
        yield self.row(f"Indoor temperature then, {self.degree}", room, 1)
        yield ""
        yield "Rated size that removes this load, by label"
        for rating, words in self.rating.items():
            yield self.row(words, self.water(need[rated(rating)]), self.water_digits)
        yield from self.text(
            f"At the setpoints, a dehumidifier removes {100.0 * it.derating[it.rating]:.0f} % of its "
            f"rated water ({self.rating[it.rating]}). The largest need takes a rated size of "
            f"{self.amount(it.rated)}, without a margin."
        )

    def sizes(self) -> Iterator[str]:
        it, table = self.it, self.it.dehumidifier_sizes
        dew_point = self.show.value(table[column_catalog.MEAN_DEW_POINT.name], "temperature")
        yield ""
        yield f"Dehumidifier sizes over the season, rated at {self.rating[it.rating]}"
        yield from self.grid(
            (
                (f"rated {self.a_day}", self.water(table.index), self.water_digits),
                *self.humid_hours(table),
                (f"dew point {self.degree}", dew_point, 1),
                (f"% h above {it.control.upper_edge:g} %", table["excess_pct_h"], 0),
                ("runtime, h", table[column_catalog.DEHUMIDIFIER_H.name], 0),
                ("starts", table[column_catalog.DEHUMIDIFIER_STARTS.name], 0),
                ("total kWh", table[column_catalog.TOTAL.name], 0),
            )
        )
        if it.enough is None:
            yield from self.text("No size lowers the humidity: no dehumidifier is needed here.")
            return
        smallest = it.enough == it.dehumidifier_sizes.index[1]
        yield from self.text(
            f"Largest useful size: {self.amount(it.enough)}{' or less' if smallest else ''}. It removes "
            f"{100.0 * ENOUGH:.0f} % of the excess humidity (above {it.control.upper_edge:g} % RH) that "
            "the largest size removes."
        )

    def humid_hours(self, table: pd.DataFrame) -> Iterator[tuple[str, "pd.Series[float]", int]]:
        for level, hours in (
            (55, column_catalog.HOURS_OVER_55),
            (60, column_catalog.HOURS_OVER_60),
            (65, column_catalog.HOURS_OVER_65),
        ):
            yield f"h above {level} %", table[hours.name], 0

    def oversizing(self) -> Iterator[str]:
        it, table = self.it, self.it.cooling_sizes
        yield ""
        over = it.oversizing
        at = f"Air conditioner at the {self.names[HOT]}: "
        yield from self.text(
            at
            + (
                f"sensible capacity {over['sensible']:.2f} times the load, total capacity "
                f"{over['total']:.2f} times the load."
                if over.notna().all()
                else "it has no load, or would not run."
            )
            + " Smaller and larger units with the thermostat alone:"
        )
        dew_point = self.show.value(table[column_catalog.MEAN_DEW_POINT.name], "temperature")
        yield from self.grid(
            (
                ("relative size", table.index, 2),
                ("capacity over load", table["over_load"], 2),
                *self.humid_hours(table),
                (f"dew point {self.degree}", dew_point, 1),
                ("compressor starts", table["compressor_starts"], 0),
                ("h too warm", table["warm_h"], 0),
                ("total kWh", table[column_catalog.TOTAL.name], 0),
            )
        )

    def strips(self) -> Iterator[str]:
        table = self.it.reheat
        if table.empty:
            return
        yield ""
        yield from self.text(
            f"Electric reheat: strips that hold the temperature while a cooling stage runs "
            f"continuously on the {self.names[MILD]}, and currents at {table.attrs['voltage']:g} V"
        )
        yield from self.grid(
            (
                ("stage", table.index, 0),
                (f"sensible {self.power}", self.show.value(table["sensible_W"], "load"), 0),
                (f"removal {self.a_day}", self.water(table["water_kg_day"]), self.water_digits),
                ("kW at mean load", table["strips_mean_W"] / 1000.0, 1),
                ("kW at lowest load", table["strips_most_W"] / 1000.0, 1),
                ("strips, A", table["strips_A"], 1),
                ("compressor, A", table["compressor_A"], 1),
                ("blower, A", table["blower_A"], 1),
                ("total, A", table["together_A"], 1),
                ("circuit, A", table["circuit_A"], 1),
            )
        )
        yield from self.text(
            f"The circuit current is {CONTINUOUS:g} times the total running current (continuous load, "
            "common practice). It is a number for an electrician, not a wire size."
        )
        if table["described_circuit_A"].notna().any():
            yield from self.text(
                "With all strips of the scenario, the circuit current is "
                f"{table['described_circuit_A'].max():.1f} A."
            )

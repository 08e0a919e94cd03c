"""A sizing as lines on a screen."""

import textwrap
from collections.abc import Iterator, Sequence
from typing import Any

import pandas as pd

from moistsim.core.display import Units
from moistsim.core.units import from_si
from moistsim.engine import catalog
from moistsim.sizing.answer import Sizing
from moistsim.sizing.columns import named, rated
from moistsim.sizing.conditions import HOT, MILD
from moistsim.sizing.machines import CONTINUOUS
from moistsim.sizing.sweeps import ENOUGH

WIDTH, LABEL, CELL = 100, 40, 15
RATINGS = {
    "26.7 degC": ("80 °F, 60 % (older labels)", "26.7 °C, 60 % (older labels)"),
    "18.3 degC portable": ("65 °F, 60 % (portable, now)", "18.3 °C, 60 % (portable, now)"),
    "22.8 degC whole-home": (
        "73 °F, 60 % (whole-home, now)",
        "22.8 °C, 60 % (whole-home, now)",
    ),
}
"""Rating points as labels have them, in trade units and SI."""
CAUTIONS = (
    "A typical year leaves out extremes on purpose, and a description of a house is a guess until it "
    "is measured: these sizes are for choosing what to look at, not a load calculation for a permit.",
    "The circuit is a sum of running currents by our own power factors, for an electrician to check "
    "against the nameplates (minimum circuit ampacity, maximum fuse). It is no wire and no breaker "
    "size. Local codes and licensed trades come first.",
    "Strips need proof of airflow and limit switches of their own; their least airflow must be "
    "there at the stage that runs with them.",
)


def lines(sizing: Sizing, units: Units) -> Iterator[str]:
    """The whole answer but for the cautions, in trade units or SI.

    Raises
    ------
    InputError
        If `units` is neither.
    """
    say = _Say(sizing, units)
    for part in (say.loads, say.alone, say.dryer, say.sizes, say.oversizing, say.strips):
        yield from part()


class _Say:
    def __init__(self, sizing: Sizing, units: Units) -> None:
        self.it, self.units, self.us = sizing, units, units == "us"
        self.frames = sizing.tables(units)
        self.water = "pint" if self.us else "kg"
        self.a_day = f"{self.water}s a day" if self.us else "kg a day"
        self.rating = {x: words[0 if self.us else 1] for x, words in RATINGS.items()}
        self.power, self.degree = ("Btu/h", "°F") if self.us else ("W", "°C")

    # ------------------------------------------------------------------ pieces

    def name(self, in_si: str) -> str:
        """A column by its name in SI."""
        return named(in_si, self.units)

    def t(self, celsius: float) -> str:
        return f"{celsius * 1.8 + 32.0:.0f} °F" if self.us else f"{celsius:.1f} °C"

    def amount(self, kg_day: float) -> str:
        value = from_si(kg_day, "kg", "pint") if self.us else kg_day
        return f"{value:.0f} {self.a_day}" if self.us else f"{value:.1f} {self.a_day}"

    def row(self, label: str, values: Any, spec: str) -> str:
        cells = ("-" if value != value else format(value, spec) for value in values)
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
        self, columns: Sequence[tuple[str, "pd.Series[float] | pd.Index[float]", str]]
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
            for (_, column, spec), width in zip(columns, widths, strict=True):
                value = float(list(column)[k])
                cells.append(f"{'-' if value != value else format(value, spec):>{width}}")
            yield "".join(cells)

    # ------------------------------------------------------------------ parts

    def loads(self) -> Iterator[str]:
        it, room = self.it, self.it.room
        chosen = it.conditions
        yield f"The room held at {self.t(room.temperature)} and {room.rh:.0f} % RH"
        yield from self.head("", [x.words for x in chosen.values()])
        cooled = self.frames["air_conditioner"]
        for label, stem, spec in (
            (f"outdoors, {self.degree}", "outdoor_C", ".1f"),
            (f"outdoor dew point, {self.degree}", "outdoor_dew_point_C", ".1f"),
            ("hours of the season near it", "hours", ".0f"),
            (f"room in these hours, {self.degree}", "room_C", ".1f"),
            ("room in these hours, % RH", "room_rh_pct", ".0f"),
        ):
            yield self.row(label, cooled[self.name(stem)], spec)
        table = self.frames["loads"]
        for kind in ("sensible", "latent"):
            yield from self.head(f"{kind.capitalize()} load, {self.power}", [""] * len(chosen))
            column = table[self.name(f"{kind}_W")].unstack("condition")[[*chosen]]
            order = table.loc[next(iter(chosen))].index
            for source in order:
                values = column.loc[source]
                if source == "total" or (values.abs() >= (5.0 if self.us else 1.5)).any():
                    yield self.row(source, values, ",.0f")
        total = table[self.name("water_kg_day")].unstack("condition").loc["total", [*chosen]]
        yield self.row(f"the same, {self.a_day}", total, ".0f" if self.us else ".1f")
        if MILD not in chosen:
            yield from self.text("The season has no mild day, on which cooling nearly rests.")

    def alone(self) -> Iterator[str]:
        cooled, chosen = self.frames["air_conditioner"], self.it.conditions
        yield from self.head("The air conditioner by itself", [x.words for x in chosen.values()])
        spec = ".0f" if self.us else ".1f"
        for label, stem, form in (
            ("stage that carries the sensible load", "stage", ".0f"),
            (f"its sensible capacity, {self.power}", "stage_sensible_W", ",.0f"),
            (f"its latent capacity, {self.power}", "stage_latent_W", ",.0f"),
            ("must run, share of the time", "runtime_fraction", ".2f"),
            (f"steadily it takes, {self.a_day}", "steady_water_kg_day", spec),
            ("simulated: runs, h a day", "alone_runtime_h_day", ".1f"),
            (f"simulated: takes, {self.a_day}", "alone_water_kg_day", spec),
            ("and leaves the room at, % RH", "alone_rh_pct", ".0f"),
        ):
            yield self.row(label, cooled[self.name(stem)], form)

    def dryer(self) -> Iterator[str]:
        it, need = self.it, self.frames["need"]
        spec = ".0f" if self.us else ".1f"
        names = {name: x.words for name, x in it.conditions.items()}
        yield from self.head(
            f"Still to remove, {self.a_day}",
            [names.get(x, x) for x in map(str, need.index)],
        )
        yield self.row("at the setpoints", need[self.name("still_kg_day")], spec)
        yield self.row(f"room then, {self.degree}", need[self.name("room_C")], ".1f")
        for rating, words in self.rating.items():
            column = need[self.name(rated(rating))]
            yield self.row(f"rated at {words}", column, spec)
        yield from self.text(
            f"In the room at its setpoints a machine takes {100.0 * it.derating[it.rating]:.0f} % of the water on a label of "
            f"{self.rating[it.rating]}: the greatest need asks for {self.amount(it.rated)} on such a "
            "label, without a margin."
        )

    def sizes(self) -> Iterator[str]:
        it, table = self.it, self.frames["dehumidifier_sizes"]
        yield ""
        yield f"Dehumidifiers, rated at {self.rating[it.rating]}, over the season"
        yield from self.grid(
            (
                (f"rated {self.a_day}", table.index, ".0f" if self.us else ".1f"),
                ("h above 55 %", table[catalog.HOURS_OVER_55.name], ",.0f"),
                ("h above 60 %", table[catalog.HOURS_OVER_60.name], ",.0f"),
                ("h above 65 %", table[catalog.HOURS_OVER_65.name], ",.0f"),
                (f"dew point {self.degree}", table[self.name(catalog.MEAN_DEW_POINT.name)], ".1f"),
                (f"% h above {it.control.upper_edge:g} %", table["excess_pct_h"], ",.0f"),
                ("runs, h", table[catalog.DEHUMIDIFIER_H.name], ",.0f"),
                ("starts", table[catalog.DEHUMIDIFIER_STARTS.name], ",.0f"),
                ("house, kWh", table[catalog.TOTAL.name], ",.0f"),
            )
        )
        if it.enough is None:
            yield from self.text("No size takes any humidity away: none is needed here.")
            return
        smallest = it.enough == it.dehumidifier_sizes.index[1]
        yield from self.text(
            f"More stops helping at {self.amount(it.enough)}{' or less' if smallest else ''}: the "
            f"smallest of these sizes that takes away {100.0 * ENOUGH:.0f} % of the humidity above "
            f"{it.control.upper_edge:g} % that the largest takes away."
        )

    def oversizing(self) -> Iterator[str]:
        it, table = self.it, self.frames["cooling_sizes"]
        yield ""
        over = it.oversizing
        known = over.notna().all()
        yield from self.text(
            f"The air conditioner at the {it.conditions[HOT].words}: "
            + (
                f"sensible capacity {over['sensible']:.2f} times the load, total capacity "
                f"{over['total']:.2f} times"
                if known
                else "it has no load, or would not run"
            )
            + ". The same unit smaller and larger, with the thermostat alone:"
        )
        yield from self.grid(
            (
                ("times as large", table.index, ".2f"),
                ("capacity over load", table["over_load"], ".2f"),
                ("h above 55 %", table[catalog.HOURS_OVER_55.name], ",.0f"),
                ("h above 60 %", table[catalog.HOURS_OVER_60.name], ",.0f"),
                ("h above 65 %", table[catalog.HOURS_OVER_65.name], ",.0f"),
                (f"dew point {self.degree}", table[self.name(catalog.MEAN_DEW_POINT.name)], ".1f"),
                ("compressor starts", table["compressor_starts"], ",.0f"),
                ("h too warm", table["warm_h"], ",.0f"),
                ("house, kWh", table[catalog.TOTAL.name], ",.0f"),
            )
        )

    def strips(self) -> Iterator[str]:
        it, table = self.it, self.frames["reheat"]
        if table.empty:
            return
        yield ""
        yield from self.text(
            f"Reheat: strips that hold the room while a stage runs without a break on the "
            f"{it.conditions[MILD].words}, and what they and the compressor draw together at "
            f"{it.reheat.attrs['voltage']:g} V"
        )
        yield from self.grid(
            (
                ("stage", table.index, ".0f"),
                (f"sensible {self.power}", table[self.name("sensible_W")], ",.0f"),
                (f"takes {self.a_day}", table[self.name("water_kg_day")], ".0f"),
                ("kW at mean load", table["strips_mean_W"] / 1000.0, ".1f"),
                ("kW at least load", table["strips_most_W"] / 1000.0, ".1f"),
                ("strips, A", table["strips_A"], ".1f"),
                ("compressor, A", table["compressor_A"], ".1f"),
                ("blower, A", table["blower_A"], ".1f"),
                ("together, A", table["together_A"], ".1f"),
                ("circuit, A", table["circuit_A"], ".1f"),
            )
        )
        yield from self.text(
            f"The circuit is {CONTINUOUS:g} times the running currents together (continuous load, "
            "common practice): a number for an electrician, not a wire size."
        )
        if it.reheat["described_circuit_A"].notna().any():
            yield from self.text(
                f"With all strips that the scenario has it is "
                f"{it.reheat['described_circuit_A'].max():.1f} A."
            )

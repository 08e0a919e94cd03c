"""Cautions for work at this air handler."""

from collections.abc import Iterator

from moistsim.core.display import Show, count
from moistsim.equipment import Equipment
from moistsim.season import Season
from moistsim.sheet.control_words import own_dehumidifiers


def duct_words(season: Season, show: Show) -> Iterator[str]:
    """The caution that ducts in a space sweat, if they did in a season."""
    where = season.house.ducts.location
    space = where.replace(" ", "_")
    if space not in season.spaces:
        return
    hourly = season.hourly[f"{space}_water_sweat_kg"]
    hours = int((hourly > 0.0).sum())
    if hours:
        yield (
            f"Ducts in the {where} sweat: in the season of this sheet for {count(hours, 'hour')}, "
            f"{show(hourly.sum(), 'water')} of water in all. Look for wet insulation and stains. Seal the "
            "leaks and the vapor jacket first, and then add insulation."
        )


def caution_words(machines: Equipment) -> Iterator[str]:
    """The cautions that these machines need."""
    yield (
        "Local codes and licensed trades come first: this sheet permits nothing that they forbid. "
        "Where a manufacturer's instructions differ from this sheet, follow the instructions."
    )
    plant = (machines.cooling, machines.heating, machines.furnace, machines.strips)
    yield (
        "Line voltage kills. Lock out every supply (there may be two or three) and verify that it "
        "is dead before you remove a cover. Current readings are for trained people only."
    )
    if any(plant):
        yield (
            "Low-voltage transformer: add the VA of all coils, valves and controls that can be on at "
            "the same time, including the new ones. The sum must stay below the transformer's rating. "
            "Never join two transformers. Never run low voltage and line voltage in one cable."
        )
    if machines.cooling is not None or machines.heating is not None:
        yield "Refrigerant circuits are for certified technicians. Never vent refrigerant."
    if machines.strips is not None:
        if machines.cooling is not None or machines.heating is not None:
            yield (
                "Strips and compressor may draw current at the same time. Size breakers and wires for "
                "both, or install an interlock."
            )
        yield (
            "Heaters without airflow start fires. Limit switches and airflow proof must stay in the "
            "circuit, whatever the control calls. Clean the filter and open the registers before "
            "any test."
        )
    if machines.zoning is not None:
        yield (
            "Zone dampers: airflow over coil and heaters must stay above the manufacturer's minimum "
            "with any one damper closed. Measure the static pressure and the temperature rise so."
        )
    if machines.second_system is not None:
        yield (
            "Two systems: both may run at the same time, each on circuits of its own. A licensed "
            "electrician checks panel and service for the sum. Lock out both before work on either."
        )
    if machines.burns_gas:
        yield (
            "Combustion safety: after any change to airflow, ducts, ventilation or air leakage, test that every "
            "fuel-burning appliance still drafts. Carbon monoxide kills: keep alarms in the house."
        )
    dehumidifiers = [machines.dehumidifier, *(own for _, own in own_dehumidifiers(machines))]
    if machines.cooling is not None:
        yield (
            "Condensate: check the float switch that stops the compressor, the trap and the drain. "
            "Longer drying produces more water than before."
        )
        yield (
            "Mold grows on cold ducts and registers in humid rooms, and on anything that stays wet. "
            "Look for condensation in the first humid week. Where mold is already present, find the "
            "water first."
        )
    if any(dehumidifiers):
        yield (
            "Dehumidifier: no extension cord, no shared outlet. Its drain runs day and night, so a "
            "blocked drain floods the floor."
        )
    if machines.ventilation is not None:
        words = "Outdoor air must still meet the code rate after any change to ventilation."
        if machines.ventilation.kind == "exhaust":
            words += (
                " An exhaust fan lowers the pressure in the house. It must never reverse the draft of a "
                "fuel-burning appliance."
            )
        yield words

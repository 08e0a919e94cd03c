"""What can hurt somebody at this air handler."""

from collections.abc import Iterator

from moistsim.equipment import Equipment


def caution_words(machines: Equipment) -> Iterator[str]:
    """The cautions that these machines call for."""
    yield (
        "Local codes and licensed trades come first: nothing here permits work that they forbid. "
        "Where a maker's instructions differ from this sheet, theirs hold."
    )
    yield (
        "Mains voltage kills. Lock off and prove dead every supply (there may be two or three) "
        "before a cover comes off; current readings are for those trained to take them."
    )
    yield (
        "Low-voltage transformer: add up the VA of all coils, valves and controls that can be on "
        "at once, with what is added now; they must stay below its rating. Never join two "
        "transformers, nor low voltage and mains in one sheath."
    )
    if machines.strips is not None:
        yield (
            "Strips and compressor may draw at once: breakers and wires must be sized for both, or "
            "an interlock must keep them apart."
        )
        yield (
            "Heaters without airflow start fires: limit switches and airflow proof stay in the "
            "circuit, whatever the control says. Clean filter and open registers before any test."
        )
    yield (
        "Condensate: a float switch that stops the compressor, a trap that holds, a drain that "
        "runs; in longer drying it carries more water than before."
    )
    yield (
        "Mold grows on cold ducts and registers in humid rooms, and on what stays wet: look for "
        "sweating in the first humid week, and find the water first where mold is already."
    )
    if machines.ventilation is not None:
        yield (
            "Pressure: wherever ventilation is changed, test that chimneys and water heaters that "
            "burn fuel still draw; outdoor air must still meet the code's rate."
        )

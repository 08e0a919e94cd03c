"""The machines of a study in a line or two, so that a wrong size is seen."""

from collections.abc import Iterator

from moistsim.core.display import Show
from moistsim.equipment import machine_phrases
from moistsim.study.study import Study


def machine_words(study: Study, show: Show) -> Iterator[str]:
    """The machines that all options share, then those of each option alone.

    Parameters
    ----------
    study : Study
    show : Show
        The reader's units.

    Yields
    ------
    str
        A line of text without a period.

    Examples
    --------
    >>> from moistsim.scenario import DEMO, read_scenario
    >>> print(next(machine_words(read_scenario(DEMO).study, Show("us"))))
    air conditioner 2 tons (7.03 kW), 2 stages, 720 cfm, SHR 0.72; strips 5 kW; heat pump 23,000 Btu/h; supply ventilation 80 cfm
    """
    shared, own = own_machine_words(study, show)
    if shared:
        yield "; ".join(shared)
    for name, parts in own.items():
        if parts:
            yield f"{name}: {'; '.join(parts)}"


def own_machine_words(study: Study, show: Show) -> tuple[list[str], dict[str, list[str]]]:
    """Phrases on the machines that all options share, and on those of each option alone."""
    of = {
        name: [text for _, text in machine_phrases(option.equipment, show)]
        for name, option in study.resolved.items()
    }
    first = next(iter(of.values()))
    shared = [part for part in first if all(part in other for other in of.values())]
    own = {name: [part for part in parts if part not in shared] for name, parts in of.items()}
    return shared, own

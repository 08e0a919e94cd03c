"""One word for one thing: what is installed is `equipment`, and descriptions stand in one order."""

import inspect
import re
from collections.abc import Iterator

import pytest

import moistsim as ms

ORDER = ["house", "equipment", "options", "strategy", "weather", "log"]
"""Order of arguments that are not named."""


def of_equipment(name: str) -> Iterator[str]:
    """Parameters and attributes of a public name that hold an `Equipment`."""
    found = getattr(ms, name)
    callables = [found]
    if inspect.isclass(found):
        callables += [
            f for key, f in vars(found).items() if key[0] != "_" and inspect.isfunction(f)
        ]
    for each in callables:
        if callable(each) and not (inspect.isclass(each) and issubclass(each, Exception)):
            for parameter in inspect.signature(each).parameters.values():
                if holds(parameter.annotation):
                    yield parameter.name
    if inspect.isclass(found):
        for key, kind in vars(found).get("__annotations__", {}).items():
            if holds(kind):
                yield key


def holds(annotation: object) -> bool:
    text = str(annotation)
    return bool(re.search(r"\bEquipment\b", text)) and "Callable" not in text


@pytest.mark.parametrize("name", ms.__all__)
def test_equipment_is_called_equipment(name: str) -> None:
    assert {*of_equipment(name)} <= {"equipment", "options"}


@pytest.mark.parametrize("each", [ms.simulate, ms.Study, ms.calibrate, ms.Season])
def test_descriptions_stand_in_one_order(each: object) -> None:
    parameters = inspect.signature(each).parameters.values()  # type: ignore[arg-type]
    unnamed = [x.name for x in parameters if x.kind is not x.KEYWORD_ONLY]
    names = [name for name in unnamed if name in ORDER]
    assert names[0] == "house" and len(names) >= 3
    assert names == sorted(names, key=ORDER.index)


def test_the_order_of_earlier_versions_is_refused_in_a_sentence() -> None:
    weather = ms.Weather.sample("miami")
    options = {"It": (ms.Equipment(), ms.strategies.temperature_only)}
    with pytest.raises(ms.InputError) as caught:
        ms.Study(ms.House(floor_area="1900 ft2"), weather, options)  # type: ignore[arg-type]
    assert str(caught.value) == (
        "Study.options: weather in the place of the options. Use the order of `simulate`: "
        "Study(house, options, weather)."
    )

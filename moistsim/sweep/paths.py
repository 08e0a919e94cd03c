"""Dotted names into a study, such as ``house.envelope.wall_u``, and studies with other values."""

import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import attrs
import numpy as np

from moistsim.core.changes import changed, inner, rebased
from moistsim.core.errors import InputError, brief, one_of
from moistsim.core.units import Stated, to_si
from moistsim.study import Study
from moistsim.weather import Weather

ROOTS = ("house", "weather", "tariff", "equipment", "strategy", "options")


@attrs.frozen
class Parameter:
    """A value within a study that may be varied."""

    name: str
    """Dotted name of the parameter."""
    kind: str
    """Kind of value: "number", "text", "switch", or "whole" for a description with a label."""
    unit: str | None
    """SI unit of a number."""
    options: tuple[str, ...] | None
    """Options that have the parameter; None if all share it, such as a field of the study's house."""
    path: tuple[str, ...]
    """Keys that lead to the value, through the house, the tariff, or an option's own parts."""
    taken: Callable[[Any], Any]
    """Function that checks and converts one value by itself; it raises InputError."""

    def read(self, value: Any) -> Any:
        """Check and convert a value; the error names the parameter."""
        try:
            if self.kind == "switch" and type(value).__name__ == "bool_":
                value = bool(value)  # numpy's own
            if isinstance(value, np.floating):
                # Of an array: drawn or computed in the unit of the field. Nobody typed it.
                value = Stated(value)
            return self.taken(value)
        except InputError as error:
            raise InputError(
                f"Sweep {self.name!r}", error.found, error.accepted, error.problem
            ) from None


def find(study: Study, name: Any) -> Parameter:
    """Find the parameter of a study by its dotted name.

    Raises
    ------
    InputError
        If the study has no such parameter. The error suggests a close name.
    """
    if not isinstance(name, str):
        raise InputError("Sweep.vary", name, "dotted names such as 'house.ach50'")
    root, _, rest = name.partition(".")
    if root not in ROOTS:
        short = f", {brief(root)}" if len(name) <= 40 else ""
        problem = f"{{}} begins with an unknown name{short}"
        raise InputError("Sweep.vary", name, one_of(root, ROOTS), problem)
    if name == "weather":
        return Parameter(name, "whole", None, None, ("weather",), _only(Weather))
    if root == "weather":
        raise InputError("Sweep.vary", name, "weather alone, with a list of weathers")
    if root in ("house", "tariff"):
        whole = getattr(study, root)
        found = _find_field(name, whole, root, rest.split(".") if rest else [])
        if found is None:
            raise _absent(name)
        return _of_field(name, found, None, (root, *(rest.split(".") if rest else ())))
    if root == "options":
        known = sorted((o for o in study.options if rest.startswith(f"{o}.")), key=len)
        if not known:
            meant = re.split(r"\.(?:strategy|equipment|house)\b", rest)[0]
            problem = f"{{}} names no option: {brief(meant)} is unknown"
            raise InputError("Sweep.vary", name, one_of(meant, study.options), problem)
        # Longer names first, because one name may be the start of another.
        options: tuple[str, ...] = (known[-1],)
        root, _, rest = rest.removeprefix(f"{options[0]}.").partition(".")
        known_roots = ("strategy", "equipment", "house")
        if root not in known_roots:
            raise InputError(
                "Sweep.vary",
                name,
                one_of(root, known_roots),
                f"unknown part {brief(root)}{_within(name, root)}",
            )
    else:
        options = tuple(study.options)
    if root == "strategy":
        return _find_setpoint(study, name, options, rest)
    if not rest and root == "equipment":
        raise InputError("Sweep.vary", name, "a machine or a field of one: equipment.cooling...")
    keys = rest.split(".") if rest else []
    fields = {
        option: _find_field(name, getattr(study.resolved[option], root), root, keys)
        for option in options
    }
    having = {option: field for option, field in fields.items() if field is not None}
    if not having:
        raise _absent(name)
    return _of_field(name, next(iter(having.values())), tuple(having), (root, *keys))


def find_field(name: str, whole: Any, rest: str) -> Parameter:
    """Find a field of a description outside a study, such as a purchase.

    Parameters
    ----------
    name : str
        The whole dotted name, for errors.
    whole : object
        The description.
    rest : str
        The part of the name inside the description.

    Raises
    ------
    InputError
        If there is no such field.
    """
    keys = rest.split(".")
    found = _find_field(name, whole, name.removesuffix(f".{rest}"), keys)
    if found is None:
        raise _absent(name)
    return _of_field(name, found, None, tuple(keys))


def _within(name: str, key: str) -> str:
    """Where in a dotted name a part of it stands, for an error; nothing where that would be long."""
    return " in {}" if len(name) <= 60 and len(key) <= 30 else ""


def _absent(name: str) -> InputError:
    return InputError(
        "Sweep.vary", name, "a part that the base study has, since only then it has a field"
    )


def _only(kind: type) -> Callable[[Any], Any]:
    def taken(value: Any) -> Any:
        if not isinstance(value, kind):
            raise InputError(kind.__name__, value, f"a {kind.__name__}")
        return value

    return taken


def _find_field(name: str, whole: Any, prefix: str, keys: list[str]) -> tuple[Any, str] | None:
    """The owner of the last key, and that key; None if a part on the way is missing."""
    owner, last = whole, ""
    for position, key in enumerate(keys):
        if position:
            owner = inner(owner, last)
        if owner is None:
            return None
        if isinstance(owner, tuple):
            known = [str(number) for number in range(1, len(owner) + 1)]
        else:
            known = [f.name for f in attrs.fields(type(owner))] if attrs.has(type(owner)) else []
        if key not in known:
            at = ".".join([prefix, *keys[:position]])
            raise InputError(
                "Sweep.vary",
                name,
                one_of(key, known),
                f"unknown name {brief(key)} of {at}{_within(name, key)}",
            )
        last = key
    return owner, last


def _of_field(
    name: str, found: tuple[Any, str], options: tuple[str, ...] | None, path: tuple[str, ...]
) -> Parameter:
    owner, key = found
    if not key or isinstance(owner, tuple):
        whole = owner if not key else inner(owner, key)
        if not attrs.has(type(whole)):
            raise InputError("Sweep.vary", name, "a field of a description, not a number in a list")
        return Parameter(name, "whole", None, options, path, _only(type(whole)))
    field = getattr(attrs.fields(type(owner)), key)
    metadata = field.metadata

    def taken(value: Any) -> Any:
        converter = field.converter
        if isinstance(converter, attrs.Converter):
            # The type stubs of attrs do not have these two fields.
            adapted: Any = converter
            more = [owner] if adapted.takes_self else []
            more += [field] if adapted.takes_field else []
            value = adapted.converter(value, *more)
        elif converter is not None:
            value = converter(value)
        if field.validator is not None:
            field.validator(owner, field, value)
        return value

    kind = "whole"
    if "unit" in metadata and "list" not in metadata:
        kind = "number"
    elif "options" in metadata:
        kind = "text"
    elif isinstance(getattr(owner, key), bool):
        kind = "switch"
    return Parameter(name, kind, metadata.get("unit"), options, path, taken)


def _find_setpoint(study: Study, name: str, options: tuple[str, ...], key: str) -> Parameter:
    having = tuple(option for option in options if key in study.resolved[option].strategy.settings)
    if not having:
        known = [*dict.fromkeys(k for o in options for k in study.resolved[o].strategy.settings)]
        raise InputError(
            "Sweep.vary",
            name,
            one_of(key, known),
            f"unknown setpoint {brief(key)}{_within(name, key)}",
        )
    units = {study.resolved[option].strategy.units.get(key, "count") for option in having}
    if len(units) > 1:
        raise InputError(
            "Sweep.vary", name, "options.NAME.strategy..., since options keep it in different units"
        )
    unit = units.pop()
    return Parameter(
        name, "number", unit, having, ("strategy", key), lambda value: to_si(value, unit, name)
    )


# ---------------------------------------------------------------------- a study that differs


def varied_study(study: Study, values: Mapping[str, Any]) -> Study:
    """Apply the values to a study with all of its options, as `varied` does to each option alone.

    Raises
    ------
    InputError
        If a description refuses the values.
    """
    house, weather, tariff = _common(study, _found(study, values))
    options: dict[str, Any] = {}
    for option, alone in varied(study, values):
        if isinstance(alone, InputError):
            raise alone
        equipment, strategy, own = alone.resolved[option]
        options[option] = (equipment, strategy) if own == house else (equipment, strategy, own)
    return attrs.evolve(study, house=house, weather=weather, tariff=tariff, options=options)


def _found(study: Study, values: Mapping[str, Any]) -> list[tuple[Parameter, Any]]:
    """Parameters and their values, those of one option last, to overwrite those of all."""
    # Read already: nothing is asked again about a number that was written with its unit.
    found = [
        (find(study, name), Stated(value) if isinstance(value, float) else value)
        for name, value in values.items()
    ]
    return sorted(found, key=lambda item: item[0].name.startswith("options."))


def _common(study: Study, found: list[tuple[Parameter, Any]]) -> tuple[Any, ...]:
    """House, weather and tariff of a case, which its options share."""
    return tuple(
        changed(
            getattr(study, root),
            {p.path[1:]: v for p, v in found if p.options is None and p.path[0] == root},
        )
        for root in ("house", "weather", "tariff")
    )


def varied(study: Study, values: Mapping[str, Any]) -> Iterator[tuple[str, Study | InputError]]:
    """Apply the values to a study; give one study for each option.

    What an option changes in the house stays as it is, and values for all houses apply to the rest.

    Parameters
    ----------
    study : Study
    values : dict
        Values by dotted name, as the descriptions keep them. A value for one option overrides a
        value for all options.

    Yields
    ------
    option : str
    study or InputError
        The study with this option alone, or the error of a description that refuses the values.
    """
    found = _found(study, values)
    try:
        house, weather, tariff = _common(study, found)
    except InputError as error:
        for option in study.options:
            yield option, error
        return
    for option, (machines, strategy, own_house) in study.resolved.items():
        own = {p.path: v for p, v in found if p.options is not None and option in p.options}

        def of(root: str, own: dict[tuple[str, ...], Any] = own) -> dict[tuple[str, ...], Any]:
            return {path[1:]: value for path, value in own.items() if path[0] == root}

        try:
            lived_in = rebased(own_house, study.house, house, f"options.{option}.house")
            points = {path[0]: value for path, value in of("strategy").items()}
            changes: Any = {
                option: (
                    changed(machines, of("equipment")),
                    strategy(**points) if points else strategy,
                )
            }
            alone = attrs.evolve(
                study, house=changed(lived_in, of("house")), weather=weather, tariff=tariff,
                base=None, options=changes,
            )  # fmt: skip
        except InputError as error:
            yield option, error
        else:
            yield option, alone

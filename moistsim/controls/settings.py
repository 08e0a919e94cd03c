"""Settings of a control: their declarations, and how ``help`` shows them."""

import inspect
import math
import textwrap
from collections.abc import Callable, Mapping
from typing import Annotated, Any, get_args, get_origin, get_type_hints

import attrs

from moistsim.core.errors import InputError, Problem
from moistsim.core.units import KINDS, Limits, Meaning, Role, fahrenheit, to_si


@attrs.frozen
class Setting:
    """Declaration of one setting of a control: unit, role, limits and meaning."""

    unit: str = "count"
    """SI unit of the value, a key of `units.KINDS`."""
    role: Role | None = None
    limits: Limits | None = None
    meaning: str = ""

    @classmethod
    def of(cls, hint: Any, where: str) -> "Setting":
        """The setting that an annotation declares, such as ``Annotated[Percent, Limits(0, 50)]``.

        Raises
        ------
        InputError
            If the annotation names a unit that a setting cannot have.
        """
        said: dict[str, Any] = {}
        for mark in get_args(hint)[1:] if get_origin(hint) is Annotated else ():
            if isinstance(mark, str) and mark not in KINDS:
                raise InputError(where, mark, "a unit, one of " + ", ".join(KINDS))
            if isinstance(mark, str):
                said["unit"] = mark
            elif isinstance(mark, Role):
                said["role"] = mark
            elif isinstance(mark, Limits):
                said["limits"] = mark
            elif isinstance(mark, Meaning):
                said["meaning"] = mark.text
        return cls(**said)

    def or_of(self, other: "Setting") -> "Setting":
        """This setting, with missing parts filled from another setting of the same name."""
        return Setting(
            self.unit,
            self.role or other.role,
            self.limits or other.limits,
            self.meaning or other.meaning,
        )


def declared_by(
    function: Callable[..., Any], where: str, leading: int
) -> tuple[dict[str, float], dict[str, Setting]]:
    """Defaults and declarations of a function's settings, its arguments from `leading` on.

    Raises
    ------
    InputError
        If a setting is not keyword-only, has no default, or a default beyond its limits or in
        another kind of unit.
    """
    hints = get_type_hints(function, include_extras=True)
    values, declared = {}, {}
    for parameter in [*inspect.signature(function).parameters.values()][leading:]:
        at = f"{where}.{parameter.name}"
        if parameter.kind is not parameter.KEYWORD_ONLY or parameter.default is parameter.empty:
            raise InputError(at, str(parameter), "a keyword-only setpoint (after *) with a default")
        setting = Setting.of(hints.get(parameter.name), at)
        declared[parameter.name] = setting
        values[parameter.name] = to_si(parameter.default, setting.unit, at)
    check_limits(where, values, declared)
    check_roles(where, declared)
    return values, declared


def read(where: str, value: Any, setting: Setting) -> float:
    """A setting's value in SI. `check_limits` refuses a value beyond the limits.

    Raises
    ------
    InputError
        If the value has another dimension, or is a bare number that was probably in another unit.
    """
    return to_si(value, setting.unit, where, setting.limits or (-math.inf, math.inf))


def check_limits(where: str, values: Mapping[str, float], declared: Mapping[str, Setting]) -> None:
    """Refuse values beyond their declared limits.

    Raises
    ------
    InputError
    """
    for name, setting in declared.items():
        if setting.limits is not None:
            check_within(f"{where}.{name}", values[name], setting.unit, setting.limits)


def check_within(where: str, value: float, unit: str, limits: Limits) -> None:
    """Refuse a value of a setting beyond its limits.

    Raises
    ------
    InputError
    """
    if not limits.low <= value <= limits.high:
        found, low, high = (shown(x, unit) for x in (value, *limits))
        raise InputError(where, found, f"from {low} to {high}")


def check_roles(where: str, declared: Mapping[str, Setting]) -> None:
    """Refuse two cooling setpoints or two heating setpoints: comfort is measured against one.

    Raises
    ------
    InputError
    """
    for role in (Role.COOLING, Role.HEATING):
        names = [name for name, setting in declared.items() if setting.role is role]
        if len(names) > 1:
            raise InputError(
                where,
                Problem(f"{' and '.join(names)}, each declared as the {role.value}"),
                f"one {role.value}, and DegC for the others",
            )


def shown(value: float, unit: str) -> str:
    """A setting's value in words, a temperature in both scales, a time in hours."""
    if unit == "degC":
        return f"{value:.1f} °C ({fahrenheit(value):.1f} °F)"
    if unit == "s":
        return f"{value / 3600.0:g} hours"
    words = {"delta_degC": " K", "percent": " % RH", "count": "", "fraction": ""}
    return f"{value:g}{words.get(unit, ' ' + unit)}"


class Documented:
    """A class attribute ``__doc__`` or ``__signature__`` that instances make for themselves.

    The class itself keeps `own`; without it the class has no such attribute.
    """

    def __init__(self, own: Any, make: Callable[[Any], Any]) -> None:
        self.own, self.make = own, make

    def __get__(self, instance: Any, owner: type) -> Any:
        if instance is not None:
            return self.make(instance)
        if self.own is None:
            raise AttributeError
        return self.own


def doc_of(control: Any) -> str:
    """Docstring of a control: its description, and a section that lists its settings.

    Parameters
    ----------
    control : Strategy or Addition
    """
    rows = []
    for name, setting in control.declared.items():
        role = f" ({setting.role.value})" if setting.role is not None else ""
        kind = KINDS[setting.unit].name.partition(" ")[2]
        row = f"{name} : {kind}{role}, default {_both(control.settings[name], setting.unit)}"
        if setting.limits is not None:
            low, high = (_both(x, setting.unit) for x in setting.limits)
            row += f", limits {low} to {high}"
        rows.append(row)
        rows += textwrap.wrap(setting.meaning, 90, initial_indent="    ", subsequent_indent="    ")
    if not rows:
        return str(control.about)
    return "\n".join([control.about, "", "Parameters", "----------", *rows])


def _both(value: float, unit: str) -> str:
    """A number as ``help`` shows it, with trade units behind it where they differ."""
    if unit == "degC":
        return f"{value:g} °C ({fahrenheit(value):.4g} °F)"
    if unit == "delta_degC":
        return f"{value:g} K ({1.8 * value:.2g} °F)"
    words = {"s": f" s ({value / 3600.0:g} h)", "percent": " % RH", "count": "", "fraction": ""}
    return f"{value:g}{words.get(unit, ' ' + unit)}"


def signature_of(control: Any) -> inspect.Signature:
    """Signature of a call to a control: each setting, with its present value as the default."""
    parameters = [
        inspect.Parameter(
            name,
            inspect.Parameter.KEYWORD_ONLY,
            default=value,
            annotation=f"float | str, {control.declared[name].unit}",
        )
        for name, value in control.settings.items()
        if name.isidentifier()
    ]
    return inspect.Signature(parameters, return_annotation=type(control).__name__)


def repr_of(control: Any) -> str:
    """Text of a control as a user may write it: name, and all settings with their units."""
    texts = []
    for name, value in control.settings.items():
        unit = control.declared[name].unit
        said = f"{value:g}" if unit in ("count", "fraction") else f"'{value:g} {unit}'"
        texts.append(f"{name}={said}" if name.isidentifier() else f"**{{{name!r}: {said}}}")
    return f"{control.name}({', '.join(texts)})"

"""Fields of descriptions: what each holds, in which unit, within which limits."""

import math
from typing import Any, dataclass_transform

import attrs

from moistsim.core.errors import InputError
from moistsim.core.units import KINDS, Stated, _convert, _is_bare, ask_about, from_si, shown, to_si


def quantity(
    unit: str,
    help: str,
    *,
    default: Any = attrs.NOTHING,
    above: float | None = None,
    at_least: float | None = None,
    at_most: float | None = None,
    below: float | None = None,
    optional: bool = False,
    usual: tuple[float, float] | None = None,
    meant: tuple[str, ...] | None = None,
) -> Any:
    """A field of a description: a float in SI, made from a number or a text with a unit.

    Parameters
    ----------
    unit : str
        A key of `KINDS`.
    help : str
        One line that documents the field.
    default
        A number or text, or nothing for a field that must be given.
    above, at_least, at_most, below : float, optional
        Limits in `unit`; an error states them in the unit that the user wrote.
    optional : bool
        Take None, which means what `help` says.
    usual : (float, float), optional
        What a house can have, in `unit`, if narrower than `Kind.usual`. A bare number beyond it that
        was probably meant in another unit is asked about.
    meant : tuple of str, optional
        The other units, as `Kind.meant`.
    """

    def inside(number: float) -> bool:
        return (
            math.isfinite(number)
            and (above is None or number > above)
            and (at_least is None or number >= at_least)
            and (at_most is None or number <= at_most)
            and (below is None or number < below)
        )

    def convert(value: Any, instance: Any, field: Any) -> float | None:
        if value is None and optional:
            return None
        where = f"{type(instance).__name__}.{field.name}"
        number, written = _convert(value, unit, where)
        if not written:
            ask_about(value, number, unit, where, usual, inside, meant)
        if not inside(number):
            too = "too large" if number > _middle(above, at_least, at_most, below) else "too small"
            problem = f"{{}} is {too}" if math.isfinite(number) else "cannot use {}"
            accepted = _limits(unit, written, above, at_least, at_most, below)
            raise InputError(where, value, accepted, problem)
        if (
            usual is not None
            and (written or isinstance(value, Stated))
            and not usual[0] <= number <= usual[1]
        ):
            return Stated(number)
        return number

    return attrs.field(
        default=default,
        converter=attrs.Converter(convert, takes_self=True, takes_field=True),
        metadata={"unit": unit, "help": help},
    )


def _middle(*limits: float | None) -> float:
    """A number between the limits, to tell which of them another one is beyond."""
    low, high = (
        [limit for limit in pair if limit is not None] for pair in (limits[:2], limits[2:])
    )
    return max(low, default=-math.inf) if low else min(high, default=math.inf)


def _limits(
    unit: str,
    written: str,
    above: float | None,
    at_least: float | None,
    at_most: float | None,
    below: float | None,
) -> str:
    """The limits of a field in half a sentence, in the unit that the user wrote."""
    given = written or unit

    def text(limit: float, with_unit: bool = True) -> str:
        number = limit if given == unit else from_si(limit, unit, given)
        return shown(number, given if with_unit and not _is_bare(given) else "")

    name = KINDS[unit].name
    low, high = at_least if above is None else above, at_most if below is None else below
    if low is None and high is None:
        return f"{name} that is finite"
    if high is None:
        assert low is not None
        return (
            f"{name} above {text(low)}" if above is not None else f"{name} of {text(low)} or more"
        )
    if low is None:
        return (
            f"{name} below {text(high)}" if below is not None else f"{name} of {text(high)} or less"
        )
    if above is not None and below is not None:
        return f"{name} between {text(low, False)} and {text(high)}"
    start = f"above {text(low, False)}" if above is not None else f"from {text(low, False)}"
    end = f"below {text(high)}" if below is not None else text(high)
    if above is not None:
        return f"{name} {start} and up to {end}"
    return f"{name} {start} to {end}"


def choice(help: str, *options: str, default: Any = attrs.NOTHING) -> Any:
    """A field that is one of a few words."""

    def check(instance: Any, field: Any, value: Any) -> None:
        if value not in options:
            raise InputError(
                f"{type(instance).__name__}.{field.name}", value, "one of " + ", ".join(options)
            )

    return attrs.field(
        default=default, validator=check, metadata={"help": help, "options": options}
    )


def switch(help: str, *, default: bool) -> Any:
    """A field that is true or false."""

    def check(instance: Any, field: Any, value: Any) -> None:
        if not isinstance(value, bool):
            raise InputError(f"{type(instance).__name__}.{field.name}", value, "true or false")

    return attrs.field(default=default, validator=check, metadata={"help": help})


def part(kind: type, help: str, *, default: Any = attrs.NOTHING, optional: bool = False) -> Any:
    """A field that is itself a description."""

    def check(instance: Any, field: Any, value: Any) -> None:
        if not (isinstance(value, kind) or (optional and value is None)):
            raise InputError(
                f"{type(instance).__name__}.{field.name}",
                value,
                f"{'an' if kind.__name__[0] in 'AEIOU' else 'a'} {kind.__name__}"
                + (" or nothing" if optional else ""),
            )

    return attrs.field(default=default, validator=check, metadata={"help": help, "part": kind})


def several(kind: type, help: str) -> Any:
    """A field that is a list of descriptions of one kind, by default empty."""

    def convert(values: Any, instance: Any, field: Any) -> tuple[Any, ...]:
        items = tuple(values) if isinstance(values, list | tuple) else (None,)
        if not all(isinstance(item, kind) for item in items):
            raise InputError(
                f"{type(instance).__name__}.{field.name}", values, f"a list of {kind.__name__}"
            )
        return items

    return attrs.field(
        default=(),
        converter=attrs.Converter(convert, takes_self=True, takes_field=True),
        metadata={"help": help, "part": kind, "many": True},
    )


def profile(
    help: str, *, default: tuple[float, ...], each: str = "hour", start: str = "midnight"
) -> Any:
    """A field of numbers, one an hour of the day, of which only the shape counts (mean 1).

    As many as `default` has; `each` and `start` are for the words of an error.
    """
    count = len(default)

    def convert(value: Any, instance: Any, field: Any) -> tuple[float, ...]:
        where = f"{type(instance).__name__}.{field.name}"
        article = "an" if each == "hour" else "a"
        accepted = (
            f"{count} numbers, none negative and not all zero, one {article} {each} from {start}"
        )
        try:
            numbers = tuple(float(x) for x in value)
        except (TypeError, ValueError):
            raise InputError(where, value, accepted) from None
        total = sum(numbers)
        if len(numbers) != count or min(numbers) < 0.0 or not 0.0 < total < math.inf:
            raise InputError(where, value, accepted)
        if abs(total - count) < 1.0e-9:
            # Already of mean 1, as a scenario that was run is: the same bits again.
            return numbers
        return tuple(x * count / total for x in numbers)

    return attrs.field(
        default=default,
        converter=attrs.Converter(convert, takes_self=True, takes_field=True),
        metadata={"help": help, "profile": True},
    )


def hours_between(help: str, *, default: tuple[float, ...], example: str) -> Any:
    """A field of two hours of the day, from and to, past midnight or not; `()` as the default lets
    it be none."""
    accepted = f"two different hours from 0 to 24, such as {example}"
    if not default:
        accepted += ", or none: []"

    def convert(value: Any, instance: Any, field: Any) -> tuple[float, ...]:
        where = f"{type(instance).__name__}.{field.name}"
        if isinstance(value, str | int | float) or not hasattr(value, "__iter__"):
            raise InputError(where, value, accepted)
        hours = tuple(to_si(hour, "count", where) for hour in value)
        if not hours and not default:
            return hours
        if len(hours) != 2 or hours[0] == hours[1] or min(hours) < 0.0 or max(hours) > 24.0:
            raise InputError(where, value, accepted)
        return hours

    return attrs.field(
        default=default,
        converter=attrs.Converter(convert, takes_self=True, takes_field=True),
        metadata={"unit": "count", "help": help, "list": True},
    )


@dataclass_transform(
    kw_only_default=True,
    frozen_default=True,
    field_specifiers=(quantity, choice, switch, part, profile, hours_between),
)
def description(cls: type) -> Any:
    """Class decorator: an immutable value whose fields are checked when it is made."""
    return attrs.frozen(kw_only=True)(cls)

"""Fields of descriptions: their meanings, units, defaults and limits."""

import functools
import inspect
import math
import re
import textwrap
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple, dataclass_transform

import attrs

from moistsim.core.errors import Fix, InputError, Problem, one_of
from moistsim.core.units import (
    KINDS,
    Stated,
    _convert,
    _is_bare,
    ask_about,
    at_limit,
    expected,
    from_si,
    shown,
    si_unit,
    to_si,
    trade_unit,
    unit_for_limits,
)


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
        Accept None, whose meaning `help` gives.
    usual : (float, float), optional
        Range that a house can have, in `unit`, if narrower than `Kind.usual`. A bare number beyond
        it that was probably meant in another unit is refused with a question.
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
        number = at_limit(number, at_least, at_most)
        if not written:
            ask_about(value, number, unit, where, usual, inside, meant)
        if not inside(number):
            too = "too large" if number > _middle(above, at_least, at_most, below) else "too small"
            problem = f"{{}} is {too}" if math.isfinite(number) else "cannot use {}"
            accepted = _limits(field.name, unit, written, above, at_least, at_most, below)
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
        metadata={
            "unit": unit,
            "help": help,
            "limits": {"above": above, "at_least": at_least, "at_most": at_most, "below": below},
        },
    )


def _middle(*limits: float | None) -> float:
    """A number between the limits, which separates "too large" from "too small"."""
    low, high = (
        [limit for limit in pair if limit is not None] for pair in (limits[:2], limits[2:])
    )
    return max(low, default=-math.inf) if low else min(high, default=math.inf)


def _limits(
    name: str,
    unit: str,
    written: str,
    above: float | None,
    at_least: float | None,
    at_most: float | None,
    below: float | None,
) -> str:
    """The limits of a field in half a sentence: in the unit that the user wrote, else in both."""
    given = unit_for_limits(written, unit)

    def text(limit: float, with_unit: bool = True) -> str:
        number = limit if given == unit else from_si(limit, unit, given)
        return shown(number, given if with_unit and not _is_bare(given) else "")

    def span(text: Callable[..., str]) -> str:
        return _span(text, above, at_least, at_most, below) or "that is finite"

    words = span(text) if written or unit not in _TWO_UNITS else _both(name, unit, span)
    return f"{KINDS[unit].name} {words}"


_TWO_UNITS = ("m", "m2", "m3/s", "degC", "kg/s", "W")
"""Units whose limits are said in trade units too, to a person who wrote a bare number."""


def _span(
    text: Callable[..., str],
    above: float | None,
    at_least: float | None,
    at_most: float | None,
    below: float | None,
) -> str:
    """Limits of a field in words; `text` writes a number, with or without its unit."""
    low, high = at_least if above is None else above, at_most if below is None else below
    if low is None and high is None:
        return ""
    if high is None:
        return f"above {text(low)}" if above is not None else f"of {text(low)} or more"
    if low is None:
        return f"below {text(high)}" if below is not None else f"of {text(high)} or less"
    if above is not None:
        if below is not None:
            return f"between {text(low, False)} and {text(high)}"
        return f"above {text(low, False)} and up to {text(high)}"
    return f"from {text(low, False)} to {'below ' if below is not None else ''}{text(high)}"


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
    """A field of numbers for each hour of the day, scaled to a mean of 1.

    It has as many numbers as `default`. `each` and `start` are for the words of an error.
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
            # A profile of mean 1 keeps its bits, such as one of a scenario that was run before.
            return numbers
        return tuple(x * count / total for x in numbers)

    return attrs.field(
        default=default,
        converter=attrs.Converter(convert, takes_self=True, takes_field=True),
        metadata={"help": help, "profile": True},
    )


def hours_between(help: str, *, default: tuple[float, ...], example: str) -> Any:
    """A field of two hours of the day, from and to, which may span midnight.

    The default `()` makes the field optional.
    """
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


class FieldRow(NamedTuple):
    """A field of a description, as documentation shows it."""

    name: str
    type: str
    unit: str
    """The SI unit that the field is kept in; empty for words, switches and parts."""
    default: str
    """Default in SI and in trade units; "required" for a field without a default."""
    limits: str
    """Limits in SI and in trade units; empty for a field without limits."""
    meaning: str


def field_rows(cls: type) -> list[FieldRow]:
    """The fields of a description with type, unit, default, limits and meaning.

    Parameters
    ----------
    cls : type
        A class made by `description`, such as `House`.

    Returns
    -------
    list of FieldRow

    Examples
    --------
    >>> from moistsim import House
    >>> rows = {row.name: row for row in field_rows(House)}
    >>> rows["floor_area"].limits
    'from 5 to 5,000 m² (from 53.82 to 53,820 ft²)'
    >>> rows["ceiling_height"].default
    '2.5 m (8.202 ft)'
    """
    return [_row(field) for field in attrs.fields(cls)]


def _row(field: Any) -> FieldRow:
    metadata, unit = field.metadata, field.metadata.get("unit", "")
    if "part" in metadata:
        kind = metadata["part"].__name__
        type_ = f"list of {kind}" if metadata.get("many") else kind
    elif "options" in metadata:
        type_ = "{" + ", ".join(repr(word) for word in metadata["options"]) + "}"
    elif metadata.get("profile"):
        type_ = f"{len(field.default) if isinstance(field.default, tuple) else 24} numbers"
    elif unit:
        type_ = "list of numbers or texts" if metadata.get("list") else "number or text with unit"
    elif isinstance(field.default, bool):
        type_ = "bool"
    else:
        type_ = str(getattr(field.type, "__name__", field.type))
    limits = metadata.get("limits", {})
    return FieldRow(
        field.name,
        type_,
        "" if unit == "count" else unit,
        _default(field, unit),
        _both(field.name, unit, lambda text: _span(text, **limits)).replace("of ", "")
        if limits
        else "",
        metadata.get("help", ""),
    )


def _default(field: Any, unit: str) -> str:
    value = field.default
    if value is attrs.NOTHING:
        return "required"
    if value is None:
        return "None"
    if isinstance(value, attrs.Factory):  # type: ignore[arg-type]
        return "" if value.takes_self else f"{value.factory.__name__}()"
    if isinstance(value, tuple):
        return f"{len(value)} numbers" if len(value) > 6 else repr(list(value))
    if not unit:
        return repr(value)
    number = _convert(value, unit, "")[0]
    return _both(field.name, unit, lambda text: text(number))


def _both(name: str, unit: str, words: Callable[[Callable[..., str]], str]) -> str:
    """A sentence about quantities in SI, and in trade units where these differ."""

    def by(to: str) -> str:
        def text(number: float, with_unit: bool = True) -> str:
            bare = not with_unit or _is_bare(to)
            return shown(from_si(number, unit, to) if to != unit else number, "" if bare else to)

        return words(text)

    si = by(si_unit(unit))
    # The trade gives capacities in Btu/h, but the power of machines in W.
    if (unit == "W" and "capacity" not in name) or not re.search("[1-9]", si):
        return si
    us = by(trade_unit(unit))
    return si if us == si else f"{si} ({us})"


class _Documentation:
    """The docstring of a description, with its fields; made on first access.

    Trade units need the unit registry, which an import of the package does not load.
    """

    def __init__(self, own: str | None) -> None:
        self.own, self.made = inspect.cleandoc(own or ""), ""

    def __get__(self, instance: object, owner: type) -> str:
        if not self.made and attrs.has(owner):
            self.made = self._with_fields(owner)
        return self.made

    def _with_fields(self, owner: type) -> str:
        lines = ["Parameters", "----------"]
        for row in field_rows(owner):
            lines.append(
                f"{row.name} : {row.type}{'' if row.default == 'required' else ', optional'}"
            )
            facts = [f"Unit: {row.unit}"] if row.unit else []
            if row.default not in ("required", "") and "default:" not in row.meaning:
                facts.append(f"Default: {row.default}")
            facts += [f"Limits: {row.limits}"] if row.limits else []
            sentence = row.meaning[:1].upper() + row.meaning[1:].rstrip(".")
            text = " ".join(f"{part}." for part in (sentence, *facts) if part)
            lines += textwrap.wrap(text, 96, initial_indent="    ", subsequent_indent="    ")
        table = "\n".join(lines)
        # Sections are in numpydoc's order: parameters first.
        section = re.search(r"^[A-Z][A-Za-z ]+\n-{3,}$", self.own, re.MULTILINE)
        if section is None:
            return f"{self.own}\n\n{table}\n"
        return f"{self.own[: section.start()]}{table}\n\n{self.own[section.start() :]}\n"


def _by_name(made: Any) -> Callable[..., None]:
    """The `__init__` of a description, with one sentence for names that it lacks or does not know."""
    plain, where = made.__init__, made.__name__
    fields = {field.alias: field for field in attrs.fields(made)}
    required = [name for name, field in fields.items() if field.default is attrs.NOTHING]

    @functools.wraps(plain)
    def made_by_name(self: Any, *unnamed: Any, **given: Any) -> None:
        if unnamed:
            first = required[0] if required else next(iter(fields), "field")
            fix = Fix(f"Write its name, as in {where}({first}={unnamed[0]!r})")
            raise InputError(where, unnamed[0], fix, "{} has no name")
        for name in given:
            if name not in fields:
                raise InputError(where, Problem(f"unknown field {name!r}"), one_of(name, fields))
        lacking = [name for name in required if name not in given]
        if lacking:
            raise InputError(where, *missing({name: fields[name].metadata for name in lacking}))
        plain(self, **given)

    return made_by_name


def missing(fields: Mapping[str, Mapping[str, Any]]) -> tuple[Problem, str]:
    """Problem and fix for fields that must be given, all in one sentence.

    Parameters
    ----------
    fields : dict of dict
        Metadata of the missing fields by name.

    Examples
    --------
    >>> missing({"airflow": {"unit": "m3/s"}, "runtime": {"unit": "s"}})
    ('airflow and runtime missing', "airflow, such as '110 cfm'; runtime, such as '5 min'")
    """
    names = list(fields)
    told = " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))
    if len(names) == 1:
        return Problem(f"{told} missing"), _wanted(fields[names[0]])

    def one(name: str, metadata: Mapping[str, Any]) -> str:
        if "unit" in metadata:
            return f"{name}, such as {KINDS[metadata['unit']].trade!r}"
        return f"{name}, {metadata.get('accepted', 'a list of tables')}"

    return Problem(f"{told} missing"), "; ".join(one(*item) for item in fields.items())


def _wanted(metadata: Mapping[str, Any]) -> str:
    """What a field that must be given means and accepts."""
    listed = "a list, each " if metadata.get("list") else ""
    if "unit" in metadata:
        return f"{metadata['help']}: {listed}{expected(metadata['unit'])}"
    return f"{metadata['help']}: {metadata.get('accepted', 'a list of tables')}"


@dataclass_transform(
    kw_only_default=True,
    frozen_default=True,
    field_specifiers=(quantity, choice, switch, part, profile, hours_between),
)
def description(cls: type) -> Any:
    """Class decorator: an immutable value whose fields are checked when it is made.

    An unknown name of a field, or one that is missing, is an `InputError` as in a file.

    The docstring gets a section Parameters, which shows each field with its unit, default, limits
    and meaning.
    """
    made: Any = attrs.frozen(kw_only=True)(cls)
    made.__init__ = _by_name(made)
    if "Parameters\n" not in (cls.__doc__ or ""):
        made.__doc__ = _Documentation(cls.__doc__)
    return made

"""Digests of what results depend on: a study or a part of one as plain values, and their sum."""

import hashlib
import json
from collections.abc import Mapping
from typing import Any

import attrs

from moistsim.controls import Strategy
from moistsim.core.function_identity import identity_of
from moistsim.weather import Weather

DIGEST = "sha256:"
"""Beginning of a digest in a manifest."""


def digest_of(value: Any, where: str = "Sweep") -> str:
    """Digest of a study, of a part of one, or of plain values.

    Parameters
    ----------
    value : object
    where : str
        Name of the part in an error.

    Raises
    ------
    InputError
        If a control reads a variable whose value cannot be compared between runs.
    """
    # Keys stay in their order, because the settings of a control are passed by position.
    text = json.dumps(described(value, where))
    return DIGEST + hashlib.sha256(text.encode()).hexdigest()[:16]


def described(value: Any, where: str = "Sweep") -> Any:
    """A study or a part of one as plain values that JSON can hold.

    Parameters
    ----------
    value : object
    where : str
        Name of the part in an error.

    Raises
    ------
    InputError
        If a control reads a variable whose value cannot be compared between runs.
    """
    if value is None or isinstance(value, bool | int | float | str):
        return value
    if isinstance(value, Weather):
        return [value.name, value.checksum]
    if isinstance(value, Strategy):
        where = f"strategy {value.name}"
    kind = type(value)
    if attrs.has(kind) and kind.__module__.startswith("moistsim."):
        fields = {f.name: described(getattr(value, f.name), where) for f in attrs.fields(kind)}
        return {kind.__name__: fields}
    if isinstance(value, Mapping):
        return [[described(key, where), described(item, where)] for key, item in value.items()]
    if isinstance(value, list | tuple):
        return [described(item, where) for item in value]
    # A function, an array, or anything else: by all that it consists of.
    return identity_of(value, where)

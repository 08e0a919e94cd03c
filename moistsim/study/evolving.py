"""A study with other values, by the names that a sweep varies."""

from collections.abc import Mapping
from typing import Any

import attrs

from moistsim.core.changes import evolved, lacks, rebased
from moistsim.core.errors import InputError, Problem, one_of
from moistsim.study.study import Option, Study

WHERE = "Study.evolve"
PARTS = ("equipment", "strategy", "house")
"""Parts of an option."""


def evolved_study(study: Study, changes: Mapping[str, Any]) -> Study:
    """Replace values of a study by their names; see `Study.evolve`."""
    own: dict[str, Any] = {}
    inside: list[tuple[list[str], str, str, Any]] = []
    fields = [field.name for field in attrs.fields(Study)]
    for name, value in changes.items():
        root, _, rest = name.partition(".")
        if root in ("equipment", "strategy") and rest:
            inside.append(([*study.options], root, rest, value))
        elif root == "options" and rest:
            option, root, rest = _of_option(study, name)
            inside.append(([option], root, rest, value))
        elif root in fields:
            own[name] = value
        else:
            known = (*fields, "equipment", "strategy")
            raise InputError(WHERE, Problem(f"unknown name {root!r}"), one_of(root, known))
    made: Study = evolved(study, own, WHERE)
    options = made.resolved
    if "options" not in own:
        # What an option changes in the house is changed in the new one.
        options = {
            name: option._replace(house=rebased(option.house, study.house, made.house, WHERE))
            for name, option in study.resolved.items()
        }
    for names, root, rest, value in inside:
        having = [name for name in names if _has(options[name], root, rest)]
        if not having:
            raise _absent([options[name] for name in names], root, rest)
        for name in having:
            options[name] = _with(options[name], root, rest, value)
    plain = {
        name: option[:2] if option.house == made.house else tuple(option)
        for name, option in options.items()
    }
    return attrs.evolve(made, options=plain)


def _of_option(study: Study, name: str) -> tuple[str, str, str]:
    """The option, the part and the rest of a name such as ``options.Dehumidifier.strategy.target_rh``."""
    rest = name.removeprefix("options.")
    # Longer names first, because one name may be the start of another.
    for option in sorted(study.options, key=len, reverse=True):
        if rest.startswith(f"{option}."):
            root, _, inner = rest.removeprefix(f"{option}.").partition(".")
            if root not in PARTS:
                raise InputError(
                    WHERE, Problem(f"unknown part {root!r} of an option"), one_of(root, PARTS)
                )
            return option, root, inner
    meant = rest.partition(".")[0]
    raise InputError(WHERE, Problem(f"unknown option {meant!r}"), one_of(meant, study.options))


def _has(option: Option, root: str, rest: str) -> bool:
    if root == "strategy" and rest:
        return rest in option.strategy.settings
    return not lacks(getattr(option, root), rest)


def _absent(options: list[Option], root: str, rest: str) -> InputError:
    if root == "strategy":
        known = dict.fromkeys(key for option in options for key in option.strategy.settings)
        return InputError(WHERE, Problem(f"unknown setting {rest!r}"), one_of(rest, known))
    return InputError(
        WHERE, Problem(f"no option with the part of {root}.{rest}"), "a part that an option has"
    )


def _with(option: Option, root: str, rest: str, value: Any) -> Option:
    if not rest:
        return option._replace(**{root: value})
    if root == "strategy":
        return option._replace(strategy=option.strategy(**{rest: value}))
    return option._replace(**{root: evolved(getattr(option, root), {rest: value}, WHERE)})

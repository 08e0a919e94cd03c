"""Manifest of a sweep: everything that its results depend on, in a file that a person can read."""

import hashlib
import json
import platform
import re
import textwrap
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import attrs
import pandas as pd

from moistsim.core.errors import InputError, Problem
from moistsim.season import package_version
from moistsim.sensitivity import DISTRIBUTIONS, Sample
from moistsim.study import Study
from moistsim.sweep.cases import Cases
from moistsim.sweep.digest import DIGEST, digest_of
from moistsim.sweep.metrics import Metric
from moistsim.sweep.varied import Varied
from moistsim.weather import Weather

MANIFEST = "manifest.json"
PACKAGES = (
    "moistsim", "numba", "llvmlite", "numpy", "scipy", "pandas", "pyarrow", "pvlib", "psychrolib",
    "pythermalcomfort", "pint", "tzdata",
)  # fmt: skip
"""Packages that may change a bit of a result."""
_PART = re.compile(r"part-\d+(\.\d+)?\.parquet")
_BESIDE = ("hourly", "drawn", "parts")
"""Entries of a manifest that two runs of the same sweep need not share."""


@lru_cache(maxsize=1)
def source_digest() -> str:
    """Digest of the package's source, because its version alone does not identify it."""
    digest = hashlib.sha256()
    folder = Path(__file__).parents[1]
    for path in sorted(folder.rglob("*.py")):
        digest.update(path.relative_to(folder).as_posix().encode() + b"\n")
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


source_digest()  # Now: sources that change later are not the ones that this process runs.


def versions() -> dict[str, str]:
    """Versions of all that may change a bit of a result, and a digest of this package's source."""
    return {
        **{name: package_version(name) for name in PACKAGES},
        "source": source_digest(),
        "python": f"{platform.python_implementation()} {platform.python_version()}",
        "machine": f"{platform.system()} {platform.machine()}",
    }


def manifest_of(
    base: Study,
    varied: Varied,
    cases: Cases,
    sample: Sample | pd.DataFrame,
    n: int | None,
    seed: int,
    metrics: Mapping[str, Metric],
) -> dict[str, Any]:
    """Manifest of a sweep, for JSON.

    Parameters
    ----------
    base, sample, n, seed, metrics
        As for `Sweep`.
    varied : Varied
    cases : Cases
    """
    drawn = drawn_with(sample, n, seed)
    if isinstance(sample, pd.DataFrame):
        drawn = {"sample": "a frame of cases", "n": len(sample), "drawn": drawn}
    weathers = {"base": base.weather, **varied.labels.get("weather", {})}
    table = {name: column.tolist() for name, column in cases.table.items()}
    options = {
        name: digest_of([option.equipment, option.strategy, option.house])
        for name, option in base.resolved.items()
    }
    plain = ("start", "end", "step")
    inputs = {
        field.name: getattr(base, field.name)
        if field.name in plain
        else digest_of(getattr(base, field.name))
        for field in attrs.fields(Study)
        # No row depends on the option that others are compared with, or on the owner's goal.
        if field.name not in ("weather", "options", "base", "goal")
    }
    return {
        **versions(),
        **drawn,
        "vary": {name: _values(varied, cases, sample, name) for name in varied.sides},
        "units": cases.units,
        "metrics": {name: digest_of(of, f"metric {name!r}") for name, of in metrics.items()},
        # Of `dependent` and `keep`, the cases are what counts.
        "cases": {"count": len(cases), "digest": digest_of([cases.table.index.tolist(), table])},
        "base": {**inputs, "options": options},
        "weathers": {
            name: weather.checksum
            for name, weather in weathers.items()
            if isinstance(weather, Weather)
        },
    }


def drawn_with(sample: Sample | pd.DataFrame, n: int | None, seed: int) -> dict[str, Any]:
    """Kind, size and seed of a sample; for a frame of cases, as far as the frame knows them."""
    if isinstance(sample, pd.DataFrame):
        known = sample.attrs.get("drawn")
        return dict(known) if isinstance(known, Mapping) else {"sample": "unknown"}
    return {"sample": sample, "n": n, "seed": None if sample == "grid" else seed}


def _values(varied: Varied, cases: Cases, sample: Sample | pd.DataFrame, name: str) -> Any:
    """What a name may be: a range in words, a list, or labels with digests."""
    side = varied.sides[name]
    if name in varied.labels:
        return {label: digest_of(value) for label, value in varied.labels[name].items()}
    if isinstance(side, DISTRIBUTIONS):
        return side.in_words(cases.units[name])
    if isinstance(sample, pd.DataFrame):
        return digest_of(list(side))
    return list(side)


def differences(found: Any, wanted: Any, at: str = "") -> Iterator[str]:
    """Names of the entries that differ between two manifests, or between two `versions`."""
    if isinstance(found, Mapping) and isinstance(wanted, Mapping):
        keys = [*wanted, *(key for key in found if key not in wanted)]
        for key in (key for key in keys if at or key not in _BESIDE):
            if key not in found or key not in wanted:
                yield f"{at}{key}"
            else:
                yield from differences(found[key], wanted[key], f"{at}{key}: ")
    elif found != wanted:
        # The digits of a digest mean nothing to a reader.
        short = all(
            isinstance(x, str | int | float | None) and not str(x).startswith(DIGEST)
            for x in (found, wanted)
        )
        yield f"{at}{found!r}, here {wanted!r}" if short else at.removesuffix(": ")


def read_manifest(folder: Path, where: str) -> dict[str, Any]:
    """The manifest of a sweep's folder.

    Raises
    ------
    InputError
        If there is none, or it is damaged.
    """
    path = folder / MANIFEST
    if not path.is_file():
        raise InputError(where, Problem(f"no {MANIFEST} in {folder}"), "a folder of a sweep")
    accepted = "the manifest that the sweep wrote, or a new folder"
    try:
        found: Any = json.loads(path.read_text(encoding="utf-8"))
    except ValueError as error:
        raise InputError(where, Problem(f"a damaged {path} ({error})"), accepted) from None
    sums = found.get("parts") if isinstance(found, dict) else None
    # A name with a path in it would lead out of the folder, where wrong parts are deleted.
    is_whole = (
        isinstance(sums, dict)
        and all(_PART.fullmatch(name) and isinstance(sums[name], str) for name in sums)
        and isinstance(found.get("hourly"), bool)
    )
    if not is_whole:
        raise InputError(where, Problem(f"{path} is not the manifest of a sweep"), accepted)
    return dict(found)


def check_same(folder: Path, manifest: Mapping[str, Any], where: str) -> dict[str, Any]:
    """Return the manifest of a sweep's folder, which must be that of this sweep.

    Raises
    ------
    InputError
        If the folder holds no sweep, or one with other inputs or versions.
    """
    found = read_manifest(folder, where)
    # JSON turns a tuple into a list.
    different = [*differences(found, json.loads(json.dumps(manifest)))]
    if different:
        most = next((k for k in (3, 2) if sum(map(len, different[:k])) <= 100), 1)
        more = f" and {len(different) - most} more" if len(different) > most else ""
        words = textwrap.shorten("; ".join(different[:most]), 120)
        raise InputError(
            where,
            Problem(f"{folder}, whose sweep differs in {words}{more}"),
            "the sweep and the versions that began it, or a new folder",
        )
    return found

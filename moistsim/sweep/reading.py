"""Results of a sweep's folder: as a frame, or as a dataset for results larger than memory."""

import json
from collections.abc import Hashable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from moistsim.core.errors import Fix, InputError, Problem, one_of
from moistsim.sweep.cases import units_of
from moistsim.sweep.manifest import read_manifest
from moistsim.sweep.store import MANIFEST_KEY, PARTS, frame_of, read_part

if TYPE_CHECKING:
    import pyarrow
    import pyarrow.dataset

_ALWAYS = ("case", "option", "status")
_LOOKS = 5
"""Times that a folder is read again whose running sweep merges parts meanwhile."""


def read_sweep(folder: str | Path, columns: Sequence[str] | None = None) -> pd.DataFrame:
    """Read the finished cases of a sweep from its folder, without the sweep itself.

    Parameters
    ----------
    folder : str or Path
        A folder that `Sweep.run` or ``moistsim sweep`` writes or has written.
    columns : sequence of str, optional
        Columns to read besides ``case``, ``option`` and ``status``; default: all. A few columns of
        a million cases fit into little memory.

    Returns
    -------
    DataFrame
        As `Sweep.run`. ``attrs["units"]`` has the SI unit of each column that has one, and
        ``attrs["manifest"]`` what the results depend on: versions, seed and digests of all inputs.

    Raises
    ------
    InputError
        If the folder has no sweep, no finished case or no such column, or a part has changed.

    Examples
    --------
    >>> import tempfile
    >>> import moistsim as ms
    >>> unit = ms.Equipment(cooling=ms.Cooling(stages=[ms.Stage(capacity="24000 Btu/h")]))
    >>> options = {"Thermostat": (unit, ms.strategies.temperature_only)}
    >>> house, weather = ms.House(floor_area="1900 ft2"), ms.Weather.sample("miami")
    >>> study = ms.Study(house, options, weather, start="07-01", end="07-01")
    >>> with tempfile.TemporaryDirectory() as parent:
    ...     folder = Path(parent) / "sweep"
    ...     _ = ms.Sweep(study, {"house.ach50": [2.0, 5.0]}).run(folder=folder, progress=False)
    ...     frame = ms.read_sweep(folder)
    >>> len(frame), frame.attrs["units"]["house.ach50"], frame.attrs["units"]["total_kWh"]
    (2, '1/hour', 'kWh')
    """
    manifest, tables = _read(Path(folder), "read_sweep", columns)
    schema = tables[0].schema.remove_metadata()
    frame = frame_of(tables, schema, [*manifest["base"]["options"]])
    frame.attrs = attributes(manifest, schema.names)
    return frame


def sweep_dataset(folder: str | Path) -> "pyarrow.dataset.Dataset":
    """Open the finished cases of a sweep's folder as a PyArrow dataset, which reads them in batches.

    Parameters
    ----------
    folder : str or Path
        As for `read_sweep`.

    Returns
    -------
    pyarrow.dataset.Dataset
        The rows of `read_sweep`, in no order. ``schema.metadata`` has the manifest, and each field's
        metadata its unit. The checksum of each part was compared once, when the dataset was opened.

    Raises
    ------
    InputError
        As `read_sweep`.

    Examples
    --------
    Rows of one option, of a few columns:

    >>> data = ms.sweep_dataset("sweep")  # doctest: +SKIP
    >>> chosen = pyarrow.dataset.field("option") == "reheat"  # doctest: +SKIP
    >>> table = data.to_table(["case", "cost_USD"], filter=chosen)  # doctest: +SKIP
    """
    import pyarrow
    import pyarrow.dataset
    import pyarrow.parquet

    folder = Path(folder)
    manifest, tables = _read(folder, "sweep_dataset", ())
    names = [str(folder / PARTS / name) for name in manifest[PARTS]]
    assert len(tables) == len(names)
    fields = pyarrow.parquet.read_schema(names[0])
    about = attributes(manifest, fields.names)
    schema = pyarrow.schema(
        # Parts of an older folder have no units.
        (
            field.with_metadata({"unit": about["units"][field.name]})
            if field.name in about["units"]
            else field
            for field in fields
        ),
        {MANIFEST_KEY: json.dumps(about["manifest"], ensure_ascii=False).encode()},
    )
    return pyarrow.dataset.dataset(names, schema=schema, format="parquet")


def attributes(manifest: Mapping[str, Any], columns: Iterable[str]) -> dict[Hashable, Any]:
    """Units and manifest of a frame with these columns, for its attributes."""
    without = {key: value for key, value in manifest.items() if key not in (PARTS, "hourly")}
    return {"units": units_of(columns, manifest["units"]), "manifest": without}


def _read(
    folder: Path, where: str, columns: Sequence[str] | None
) -> tuple[dict[str, Any], list["pyarrow.Table"]]:
    """The manifest and the parts of a folder, with all columns or these.

    Raises
    ------
    InputError
        As `read_sweep`.
    """
    import pyarrow.parquet

    if isinstance(columns, str):
        raise InputError(f"{where} columns", columns, "a list of names")
    for _ in range(_LOOKS):
        manifest = read_manifest(folder, where)
        if not manifest[PARTS]:
            problem = Problem(f"no case in {folder} has finished")
            raise InputError(where, problem, Fix("Run the sweep in this folder first."))
        tables: list[pyarrow.Table] = []
        chosen: list[str] | None = None
        for name, checksum in manifest[PARTS].items():
            path = folder / PARTS / name
            if columns is not None and chosen is None and path.exists():
                chosen = _chosen(columns, pyarrow.parquet.read_schema(path).names, where)
            table = read_part(path, checksum, chosen)
            if table is None:
                break
            tables.append(table)
        else:
            return manifest, tables
        # A sweep that runs may have merged parts since its manifest was read.
    raise InputError(
        where, Problem(f"{path} is missing or changed since it was written"),
        Fix("Sweep.resume runs its cases again."),
    )  # fmt: skip


def _chosen(columns: Sequence[str], known: list[str], where: str) -> list[str]:
    """The columns to read, in the order of the parts."""
    for column in columns:
        if column not in known:
            raise InputError(f"{where} columns", column, one_of(str(column), known))
    return [name for name in known if name in (*_ALWAYS, *columns)]

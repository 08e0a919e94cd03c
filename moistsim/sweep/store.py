"""Storage of a sweep's results: parts of a Parquet dataset, each one complete or absent.

A folder holds ``manifest.json`` with the inputs, and ``parts/``, a dataset for any reader of
Parquet. ``hourly/`` is optional and has one table for each case. Every file is written under another
name, flushed to the disk and then renamed.
"""

import hashlib
import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from moistsim.core.errors import InputError, Problem
from moistsim.core.files import write_whole
from moistsim.season import package_version

if TYPE_CHECKING:
    import pyarrow

MANIFEST, PARTS, HOURLY = "manifest.json", "parts", "hourly"


def source_digest() -> str:
    """Digest of the package's source, because its version alone does not identify it."""
    digest = hashlib.sha256()
    folder = Path(__file__).parents[1]
    for path in sorted(folder.rglob("*.py")):
        digest.update(path.relative_to(folder).as_posix().encode() + b"\n")
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def versions() -> dict[str, str]:
    """Versions of the packages that may change a bit of a result, and a digest of this one's source."""
    names = ("moistsim", "numba", "numpy", "pandas", "pvlib", "scipy")
    return {**{name: package_version(name) for name in names}, "source": source_digest()}


def differences(found: Any, wanted: Any, at: str = "") -> Iterator[str]:
    """Names of the entries that differ between two manifests."""
    if isinstance(found, Mapping) and isinstance(wanted, Mapping):
        for key in [*wanted, *(key for key in found if key not in wanted)]:
            if key not in found or key not in wanted:
                yield f"{at}{key}"
            else:
                yield from differences(found[key], wanted[key], f"{at}{key}: ")
    elif found != wanted:
        short = all(isinstance(x, str | int | float | None) for x in (found, wanted))
        yield f"{at}{found!r}, here {wanted!r}" if short else at.removesuffix(": ")


class Store:
    """Store of a sweep's results: a folder, or memory.

    Parameters
    ----------
    schema : pyarrow.Schema
        Schema of all parts.
    folder : Path, optional
        Folder of the results; default: results stay in memory.
    """

    def __init__(self, schema: "pyarrow.Schema", folder: Path | None = None) -> None:
        self.schema, self.folder = schema, folder
        self._tables: dict[int, pyarrow.Table] = {}

    def begin(self, manifest: Mapping[str, Any], hourly: bool) -> None:
        """Make the folder, with the manifest as its first file.

        Raises
        ------
        InputError
            If the folder is not empty.
        """
        assert self.folder is not None
        if (self.folder / MANIFEST).exists():
            raise InputError(
                "Sweep.run folder", str(self.folder) + ", which holds a sweep",
                "a new folder; or Sweep.resume, which goes on with the sweep that is there",
            )  # fmt: skip
        if self.folder.exists() and (not self.folder.is_dir() or any(self.folder.iterdir())):
            raise InputError(
                "Sweep.run folder", str(self.folder) + ", which holds something else",
                "a new folder, or an empty one",
            )  # fmt: skip
        self.folder.mkdir(parents=True, exist_ok=True)
        text = json.dumps({**manifest, "hourly": hourly}, indent=1, ensure_ascii=False)
        write_whole(self.folder / MANIFEST, text.encode())
        (self.folder / PARTS).mkdir(exist_ok=True)

    def resume(self, manifest: Mapping[str, Any]) -> tuple[set[int], bool]:
        """Check that the folder holds this sweep.

        Returns
        -------
        done : set of int
            Cases that have run.
        hourly : bool
            Whether their hourly tables are kept.

        Raises
        ------
        InputError
            If the folder holds no sweep, or another one.
        """
        assert self.folder is not None
        path = self.folder / MANIFEST
        if not path.is_file():
            raise InputError(
                "Sweep.resume", f"no {MANIFEST} in {self.folder}", "a folder that Sweep.run began"
            )
        # JSON turns a tuple into a list.
        wanted = json.loads(json.dumps(manifest))
        try:
            found = json.loads(path.read_text(encoding="utf-8"))
        except ValueError as error:
            raise InputError(
                "Sweep.resume",
                Problem(f"a damaged {path} ({error})"),
                "the manifest that Sweep.run wrote",
            ) from None
        hourly = bool(found.pop("hourly", False))
        different = [*differences(found, wanted)]
        if different:
            more = f" and {len(different) - 3} more" if len(different) > 3 else ""
            raise InputError(
                "Sweep.resume",
                Problem(f"{self.folder}, whose sweep differs in {'; '.join(different[:3])}{more}"),
                "the sweep and the versions that began it",
            )
        (self.folder / PARTS).mkdir(exist_ok=True)
        for folder in (PARTS, HOURLY):
            for half in (self.folder / folder).glob("*.half"):
                half.unlink()
        done: set[int] = set()
        import pyarrow.parquet as parquet

        for path in self._paths():
            # Files are read one by one, because a folder named "a=b" is not a partition here.
            done.update(parquet.ParquetFile(path).read(columns=["case"])["case"].to_pylist())
        return done, hourly

    def _paths(self) -> list[Path]:
        assert self.folder is not None
        return sorted((self.folder / PARTS).glob("part-*.parquet"))

    def add(self, columns: Mapping[str, list[Any]]) -> None:
        """Add a part, named by its first case. A part with the same first case is replaced.

        Raises
        ------
        OSError
            If the part cannot be written.
        """
        import pyarrow

        table = pyarrow.table(dict(columns), schema=self.schema)
        first = columns["case"][0]
        if self.folder is None:
            self._tables[first] = table
        else:
            write_whole(self.folder / PARTS / f"part-{first:08d}.parquet", _parquet(table))

    def add_hourly(self, case: int, frame: pd.DataFrame) -> None:
        """Write the hourly tables of a case to a file of its own.

        Raises
        ------
        OSError
            If the file cannot be written.
        """
        import pyarrow

        assert self.folder is not None
        folder = self.folder / HOURLY
        folder.mkdir(exist_ok=True)
        table = pyarrow.Table.from_pandas(frame, preserve_index=False)
        write_whole(folder / f"case-{case:08d}.parquet", _parquet(table))

    def frame(self, options: list[str]) -> pd.DataFrame:
        """All rows, by case and then in the order of the options."""
        import pyarrow
        import pyarrow.parquet as parquet

        tables = [*self._tables.values()]
        if self.folder is not None:
            tables = [parquet.ParquetFile(path).read() for path in self._paths()]
        whole = pyarrow.concat_tables([self.schema.empty_table(), *tables]).to_pandas()
        order = whole["option"].map({name: k for k, name in enumerate(options)})
        frame: pd.DataFrame = (
            whole.assign(_order=order)
            .sort_values(["case", "_order"], kind="stable", ignore_index=True)
            .drop(columns="_order")
        )
        return frame


def _parquet(table: "pyarrow.Table") -> bytes:
    import pyarrow
    import pyarrow.parquet as parquet

    out = pyarrow.BufferOutputStream()
    parquet.write_table(table, out, compression="zstd")
    content: bytes = out.getvalue().to_pybytes()
    return content

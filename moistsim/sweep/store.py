"""Storage of a sweep's results: parts of a Parquet dataset, each one complete or absent.

A folder holds ``manifest.json`` with the inputs and a checksum of each part, and ``parts/``, a
dataset for any reader of Parquet. ``hourly/`` is optional and has one table for each case, whose
checksum is in the metadata of the case's part. Every file is written under another name, flushed to
the disk and then renamed. A part counts once the manifest has its checksum. Small parts are merged:
the merged part is written, the manifest lists it in their place, and then they are deleted.
"""

import contextlib
import hashlib
import json
import logging
import os
import time
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import pandas as pd

from moistsim.core.errors import InputError, Problem
from moistsim.core.files import HALF, write_whole
from moistsim.sweep.manifest import MANIFEST, check_same

if TYPE_CHECKING:
    import pyarrow

PARTS, HOURLY = "parts", "hourly"
PATIENCE = 3.0
"""Time to wait for a folder that another process has locked, s."""
MANY, MERGED = 64, 4096
"""Small parts are merged when they are so many, or have so many cases, as a large part has."""
MANIFEST_KEY = b"moistsim manifest"
"""Name of the manifest in the metadata of a part; without the checksums of all parts."""
_LONGEST = 2**16
"""Longest manifest in the metadata of a part, bytes: a grid may have a million values."""
_SUMS = b"moistsim hourly sha256"
"""Name of the checksums of hourly tables in the metadata of a part."""


def found_in(folder: Path) -> Literal["nothing", "a sweep", "something else"]:
    """Whether a folder holds a sweep; what a killed process was writing there does not count."""
    if (folder / MANIFEST).is_file():
        return "a sweep"
    if folder.is_dir() and all(path.name.endswith(HALF) for path in folder.iterdir()):
        return "nothing"
    return "something else" if os.path.lexists(folder) else "nothing"


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
        self._manifest: dict[str, Any] = {}
        self._lock: int | None = None
        self._sums: dict[str, str] = {}
        """Checksums of the parts by file name."""
        self._counts: dict[str, int] = {}
        """Number of cases of each part."""
        self._hourly_sums: dict[int, str] = {}
        """Checksums of the hourly tables by case, until the part of the case is written."""

    def begin(self, manifest: Mapping[str, Any], hourly: bool) -> None:
        """Make the folder, with the manifest as its first file.

        Raises
        ------
        InputError
            If the folder is not empty.
        """
        assert self.folder is not None
        found = found_in(self.folder)
        if found == "a sweep":
            raise InputError(
                "Sweep.run folder", str(self.folder) + ", which holds a sweep",
                "a new folder; or Sweep.resume, which goes on with the sweep that is there",
            )  # fmt: skip
        if found == "something else":
            raise InputError(
                "Sweep.run folder", str(self.folder) + ", which holds something else",
                "a new folder, or an empty one",
            )  # fmt: skip
        self.folder.mkdir(parents=True, exist_ok=True)
        self._hold("Sweep.run folder")
        self._without_halves()
        self._manifest = {**manifest, "hourly": hourly}
        self._write_manifest()
        (self.folder / PARTS).mkdir(exist_ok=True)

    def _hold(self, where: str) -> None:
        """Lock the folder for as long as this process lives, where the system has locks.

        Raises
        ------
        InputError
            If another process has locked it.
        """
        assert self.folder is not None
        try:
            import fcntl
        except ImportError:
            return
        self._lock = os.open(self.folder, os.O_RDONLY)
        until = time.monotonic() + PATIENCE
        while True:
            try:
                fcntl.flock(self._lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
                return
            except BlockingIOError:
                # Workers of a killed process hold its lock until they end too.
                if time.monotonic() > until:
                    self.release()
                    raise InputError(
                        where,
                        Problem(f"another process is writing to {self.folder}"),
                        "another folder, or wait until it ends",
                    ) from None
                time.sleep(0.1)
            except OSError:
                return  # a file system without locks

    def release(self) -> None:
        """Let other processes write to the folder."""
        if self._lock is None:
            return
        import fcntl

        with contextlib.suppress(OSError):
            # Workers that end later have the lock open too.
            fcntl.flock(self._lock, fcntl.LOCK_UN)
        os.close(self._lock)
        self._lock = None

    def _write_manifest(self, sums: Mapping[str, str] | None = None) -> None:
        assert self.folder is not None
        parts = self._sums if sums is None else sums
        text = json.dumps({**self._manifest, PARTS: parts}, indent=1, ensure_ascii=False)
        write_whole(self.folder / MANIFEST, text.encode())

    def _without_halves(self) -> None:
        """Delete the files that a killed process was writing."""
        assert self.folder is not None
        for folder in (self.folder, self.folder / PARTS, self.folder / HOURLY):
            for half in folder.glob(f"*{HALF}"):
                half.unlink(missing_ok=True)

    def resume(self, manifest: Mapping[str, Any]) -> tuple[set[int], bool]:
        """Check that the folder holds this sweep.

        A part whose bytes are not as they were written is deleted and its cases count as missing, and
        a message says so.

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
        check_same(self.folder, manifest, "Sweep.resume")
        self._hold("Sweep.resume")
        # Again, since another process may have finished a part meanwhile.
        found = check_same(self.folder, manifest, "Sweep.resume")
        hourly, sums = found["hourly"], found.pop(PARTS)
        self._manifest, self._sums = found, dict(sums)
        (self.folder / PARTS).mkdir(exist_ok=True)
        self._without_halves()
        done: set[int] = set()
        wrong: dict[str, str] = {}
        for name in sums:
            table = self._part(name, ["case"])
            if table is None:
                there = (self.folder / PARTS / name).exists()
                wrong[name] = "changed since it was written" if there else "is missing"
            elif hourly and not self._hourly_as_written(table):
                wrong[name] = "has a case whose hourly table changed since it was written"
            else:
                cases = {*table["case"].to_pylist()}
                self._counts[name] = len(cases)
                done |= cases
        for path in (self.folder / PARTS).glob("part-*.parquet"):
            if path.name in sums:
                continue
            if _cases_in(path) <= done:
                # A process was killed while it merged parts.
                path.unlink(missing_ok=True)
            else:
                # A process was killed between the part and its checksum.
                wrong[path.name] = "is not in the manifest"
        if wrong:
            self._forget(wrong)
        return done, hourly

    def _forget(self, wrong: Mapping[str, str]) -> None:
        """Delete parts that do not count, each with its reason, and say so."""
        assert self.folder is not None
        for name in wrong:
            (self.folder / PARTS / name).unlink(missing_ok=True)
            self._sums.pop(name, None)
            self._counts.pop(name, None)
        self._write_manifest()
        name, why = next(iter(wrong.items()))
        others = f"{len(wrong)} parts are not as they were written: " if len(wrong) > 1 else ""
        # Without logging set up, Python prints warnings on the screen.
        logging.getLogger("moistsim").warning(
            "%s%s %s. Cases that were there run again.",
            others,
            self.folder / PARTS / name,
            why,
        )

    def _part(self, name: str, columns: list[str] | None = None) -> "pyarrow.Table | None":
        assert self.folder is not None
        return read_part(self.folder / PARTS / name, self._sums[name], columns)

    def _hourly_as_written(self, part: "pyarrow.Table") -> bool:
        """Whether the hourly tables of all cases of a part are those that were written."""
        assert self.folder is not None
        sums = json.loads((part.schema.metadata or {}).get(_SUMS, b"{}"))
        for case in {*part["case"].to_pylist()}:
            # A case of which every option failed has no hourly table.
            content = _content(self._hourly_path(case))
            if (None if content is None else _sha256(content)) != sums.get(str(case)):
                return False
        return True

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
            return
        name = f"part-{first:08d}.parquet"
        self._sums[name] = self._write_part(name, table, self._hourly_sums)
        self._hourly_sums = {}
        self._counts[name] = len({*columns["case"]})
        self._write_manifest()
        self._merge()

    def _write_part(self, name: str, table: "pyarrow.Table", sums: Mapping[Any, str]) -> str:
        """Write a part, and return its checksum."""
        assert self.folder is not None
        metadata = {_SUMS: json.dumps(sums).encode()} if sums else {}
        manifest = json.dumps(self._manifest, ensure_ascii=False).encode()
        if len(manifest) <= _LONGEST:
            metadata[MANIFEST_KEY] = manifest
        content = _parquet(table.replace_schema_metadata(metadata))
        write_whole(self.folder / PARTS / name, content)
        return _sha256(content)

    def _merge(self) -> None:
        """Replace small parts by one, once they are many.

        Raises
        ------
        OSError
            If the merged part cannot be written. All parts are then as before.
        """
        import pyarrow

        small = {name: count for name, count in self._counts.items() if count < MERGED}
        if len(small) < MANY and sum(small.values()) < MERGED:
            return
        assert self.folder is not None
        # A part that changed on the disk stays as it is, for `resume` to find.
        tables = {name: self._part(name) for name in small}
        whole = {name: table for name, table in tables.items() if table is not None}
        if len(whole) < 2:
            return
        sums: dict[str, str] = {}
        for table in whole.values():
            sums |= json.loads((table.schema.metadata or {}).get(_SUMS, b"{}"))
        generation = 1 + max(_generation(name) for name in whole)
        first, *_ = whole
        merged = f"{first.split('.')[0]}.{generation}.parquet"
        table = pyarrow.concat_tables(_plain(table, self.schema) for table in whole.values())
        after = {name: of for name, of in self._sums.items() if name not in whole}
        after[merged] = self._write_part(merged, table, sums)
        self._write_manifest(after)
        self._sums = after
        self._counts[merged] = sum(self._counts.pop(name) for name in whole)
        for name in whole:
            # What stays is deleted by `resume`, and counts for nobody.
            with contextlib.suppress(OSError):
                (self.folder / PARTS / name).unlink()

    def add_hourly(self, case: int, frame: pd.DataFrame) -> None:
        """Write the hourly tables of a case to a file of its own.

        Raises
        ------
        OSError
            If the file cannot be written.
        """
        import pyarrow

        assert self.folder is not None
        (self.folder / HOURLY).mkdir(exist_ok=True)
        content = _parquet(pyarrow.Table.from_pandas(frame, preserve_index=False))
        write_whole(self._hourly_path(case), content)
        self._hourly_sums[case] = _sha256(content)

    def _hourly_path(self, case: int) -> Path:
        assert self.folder is not None
        return self.folder / HOURLY / f"case-{case:08d}.parquet"

    def frame(self, options: list[str]) -> pd.DataFrame:
        """All rows, by case and then in the order of the options.

        Raises
        ------
        OSError
            If a part has changed since it was written.
        """
        tables = [*self._tables.values()]
        for name in sorted(self._sums):
            table = self._part(name)
            if table is None:
                raise OSError(f"{name} changed after it was written")
            tables.append(table)
        return frame_of(tables, self.schema, options)


def frame_of(
    tables: Iterable["pyarrow.Table"], schema: "pyarrow.Schema", options: list[str]
) -> pd.DataFrame:
    """The rows of parts as one frame, by case and then in the order of the options."""
    import pyarrow

    parts = [schema.empty_table(), *(_plain(table, schema) for table in tables)]
    whole = pyarrow.concat_tables(parts).to_pandas()
    order = whole["option"].map({name: k for k, name in enumerate(options)})
    frame: pd.DataFrame = (
        whole.assign(_order=order)
        .sort_values(["case", "_order"], kind="stable", ignore_index=True)
        .drop(columns="_order")
    )
    return frame


def read_part(
    path: Path, checksum: str, columns: list[str] | None = None
) -> "pyarrow.Table | None":
    """A part, or some of its columns; None if its bytes are not those that were written."""
    import pyarrow
    import pyarrow.parquet as parquet

    content = _content(path)
    if content is None or _sha256(content) != checksum:
        return None
    # From bytes, because a folder named "a=b" would be a partition.
    return parquet.ParquetFile(pyarrow.BufferReader(content)).read(columns)


def _plain(table: "pyarrow.Table", schema: "pyarrow.Schema") -> "pyarrow.Table":
    """The columns of a schema in its order, with its metadata; metrics may stand in another order."""
    return table.select(schema.names).cast(schema)


def _generation(name: str) -> int:
    """How often the cases of a part were merged, by its name."""
    number = name.split(".")[1]
    return int(number) if number.isdigit() else 0


def _cases_in(path: Path) -> set[float]:
    """Cases of a part without a checksum; one that nobody has if the part cannot be read."""
    import pyarrow
    import pyarrow.parquet as parquet

    try:
        return {*parquet.ParquetFile(path).read(["case"])["case"].to_pylist()}
    except (OSError, pyarrow.ArrowException, KeyError):
        return {float("nan")}


def _parquet(table: "pyarrow.Table") -> bytes:
    import pyarrow
    import pyarrow.parquet as parquet

    out = pyarrow.BufferOutputStream()
    parquet.write_table(table, out, compression="zstd")
    content: bytes = out.getvalue().to_pybytes()
    return content


def _content(path: Path) -> bytes | None:
    """The bytes of a file; None if there is no such file, or it cannot be read."""
    try:
        return path.read_bytes()
    except OSError:
        return None


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()

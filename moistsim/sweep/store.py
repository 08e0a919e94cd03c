"""Storage of a sweep's results: parts of a Parquet dataset, each one complete or absent.

A folder holds ``manifest.json`` with the inputs and a checksum of each part, and ``parts/``, a
dataset for any reader of Parquet. ``hourly/`` is optional and has one table for each case, whose
checksum is in the metadata of the case's part. Every file is written under another name, flushed to
the disk and then renamed. A part counts once the manifest has its checksum.
"""

import contextlib
import hashlib
import json
import logging
import os
import time
from collections.abc import Mapping
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

    def _write_manifest(self) -> None:
        assert self.folder is not None
        text = json.dumps({**self._manifest, PARTS: self._sums}, indent=1, ensure_ascii=False)
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
            table = self._part(name)
            if table is None:
                there = (self.folder / PARTS / name).exists()
                wrong[name] = "changed since it was written" if there else "is missing"
            elif hourly and not self._hourly_as_written(table):
                wrong[name] = "has a case whose hourly table changed since it was written"
            else:
                done.update(table["case"].to_pylist())
        for path in (self.folder / PARTS).glob("part-*.parquet"):
            # A process was killed between the part and its checksum.
            if path.name not in sums:
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

    def _part(self, name: str) -> "pyarrow.Table | None":
        """The part of this name; None if its bytes are not those that were written."""
        import pyarrow
        import pyarrow.parquet as parquet

        assert self.folder is not None
        content = _content(self.folder / PARTS / name)
        if content is None or _sha256(content) != self._sums[name]:
            return None
        # From bytes, because a folder named "a=b" would be a partition.
        return parquet.ParquetFile(pyarrow.BufferReader(content)).read()

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
        if self._hourly_sums:
            metadata = {_SUMS: json.dumps(self._hourly_sums).encode()}
            table = table.replace_schema_metadata(metadata)
        name, content = f"part-{first:08d}.parquet", _parquet(table)
        write_whole(self.folder / PARTS / name, content)
        self._hourly_sums = {}
        self._sums[name] = _sha256(content)
        self._write_manifest()

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
        import pyarrow

        tables = [*self._tables.values()]
        for name in sorted(self._sums):
            table = self._part(name)
            if table is None:
                raise OSError(f"{name} changed after it was written")
            # The order of the metrics may have been another one.
            tables.append(table.replace_schema_metadata(None).select(self.schema.names))
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


def _content(path: Path) -> bytes | None:
    """The bytes of a file; None if there is no such file, or it cannot be read."""
    try:
        return path.read_bytes()
    except OSError:
        return None


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()

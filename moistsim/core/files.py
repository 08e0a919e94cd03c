"""Files and folders that are written whole or not at all.

A file is written under another name next to its place, flushed to the disk, and then renamed. A
folder is filled next to its place, under a hidden name, and takes the place when it is full. It has
a list of its files. The next run deletes only what that list names and what has not changed since;
every other file stays. Remains of a killed run are removed by the next one.
"""

import contextlib
import hashlib
import json
import os
import shutil
import time
import uuid
from collections.abc import Iterator
from pathlib import Path

from moistsim.core.errors import InputError, Problem

HALF = ".half"
"""End of the name of a file that is being written."""
LIST = "files.json"
"""Name of the list of a folder's files, with the checksum of each."""
_ABANDONED = 86400.0
"""Age at which an unfinished folder counts as abandoned, s, where a system has no locks."""
_unfinished: dict[Path, Path] = {}
"""Folders that this process fills at present, and their later places."""


def write_whole(path: Path, content: bytes) -> None:
    """Write a file with all its bytes, or not at all.

    Raises
    ------
    OSError
        If the file cannot be written. No part of it remains.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     write_whole(Path(folder) / "note.txt", b"all of it")
    ...     [path.name for path in Path(folder).iterdir()]
    ['note.txt']
    """
    # A link keeps pointing at the file that is replaced.
    path = Path(os.path.realpath(path))
    # Two processes may write the same file, and each renames its own. Readers of folders skip the dot.
    half = path.with_name(f".{path.name}.{os.getpid()}{HALF}")
    try:
        with half.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        half.replace(path)
    except BaseException as error:
        with contextlib.suppress(OSError):
            half.unlink()
        if isinstance(error, OSError):
            raise _about(path, error) from None
        raise


def check_folder(path: Path, where: str) -> str:
    """Refuse a place for a folder that holds anything but an earlier run's files and a person's additions.

    Parameters
    ----------
    path : Path
        The place.
    where : str
        Its name in the message.

    Returns
    -------
    str
        What is there, in words; empty for a new or empty folder.

    Raises
    ------
    InputError

    Examples
    --------
    >>> check_folder(Path("no-such-folder"), "--out")
    ''
    """
    real = Path(os.path.realpath(path))
    here = Path.cwd()
    for wrong, problem in (
        (real == here or real in here.parents, "this folder is open here and cannot be replaced"),
        (os.path.ismount(real), "this folder is a mounted disk and cannot be replaced"),
    ):
        if wrong:
            raise InputError(where, Problem(problem), "a folder in it")
    _settle(real)
    if not real.exists():
        return ""
    if not real.is_dir():
        raise InputError(where, Problem("this is a file"), "a folder, new or not")
    names = sorted(file.name for file in real.iterdir())
    if not names:
        return ""
    if LIST not in names:
        raise InputError(
            where, Problem(f"the folder has other files ({names[0]})"),
            "a new or empty folder, or one that this command wrote",
        )  # fmt: skip
    others = added(real)
    if not others:
        return "holds an earlier run, which is replaced"
    which = others[0] if len(others) == 1 else f"{others[0]} and {len(others) - 1} more"
    stay = "stays" if len(others) == 1 else "stay"
    return f"holds an earlier run, which is replaced; {which}, added or changed since, {stay}"


def added(path: Path) -> list[str]:
    """Names in a folder that no run wrote, or that somebody has changed since.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     _ = (Path(folder) / "notes.txt").write_text("mine")
    ...     added(Path(folder))
    ['notes.txt']
    """
    own = {LIST, *_own(path)}
    return sorted(file.name for file in path.iterdir() if file.name not in own)


@contextlib.contextmanager
def whole_folder(path: Path) -> Iterator[Path]:
    """Fill a folder that takes its place when it is full; after an error nothing has changed.

    Parameters
    ----------
    path : Path
        The later place, which `check_folder` has accepted.

    Yields
    ------
    Path
        The folder to fill, next to the later place.

    Raises
    ------
    OSError
        If the folder or a file in it cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as parent:
    ...     place = Path(parent) / "results"
    ...     with whole_folder(place) as folder:
    ...         _ = (folder / "table.csv").write_text("option,kWh")
    ...         before = place.exists()
    ...     before, sorted(file.name for file in place.iterdir())
    (False, ['files.json', 'table.csv'])
    """
    path = Path(os.path.realpath(path))
    made = [parent for parent in path.parents if not parent.exists()]
    new = path.with_name(f".{path.name}.{uuid.uuid4().hex[:8]}.unfinished")
    lock = None
    try:
        new.mkdir(parents=True)
        _unfinished[new] = path
        lock = _locked(new)
        _settle(path)
        yield new
        _finish(new)
        _take_place(new, path)
    except OSError as error:
        # Another file that is named, such as one that cannot be read, keeps its name.
        if error.filename is None or Path(error.filename).parent in (new, path, path.parent):
            raise _about(path, error) from None
        raise
    finally:
        _unfinished.pop(new, None)
        shutil.rmtree(new, ignore_errors=True)
        if lock is not None:
            os.close(lock)
        if not path.exists():
            for parent in made:
                with contextlib.suppress(OSError):
                    parent.rmdir()


def abandon() -> None:
    """Remove the folders that this process has not finished, before it ends at once."""
    for new, path in [*_unfinished.items()]:
        shutil.rmtree(new, ignore_errors=True)
        with contextlib.suppress(OSError):
            _settle(path)


def is_whole(path: Path) -> bool:
    """Whether a folder has every file of its list, unchanged.

    Examples
    --------
    >>> is_whole(Path("no-such-folder"))
    False
    """
    listed = _listed(path)
    return bool(listed) and len(_own(path)) == len(listed)


# ---------------------------------------------------------------------- taking the place


def _former(path: Path) -> Path:
    return path.with_name(f".{path.name}.former")


def _finish(folder: Path) -> None:
    """Write the list of a folder's files, and flush all of them to the disk."""
    digests = {}
    for file in sorted(folder.iterdir()):
        with file.open("rb+") as opened:
            os.fsync(opened.fileno())
            digests[file.name] = hashlib.file_digest(opened, "sha256").hexdigest()
    words = (
        "Files that a run wrote here, with SHA-256. The next run replaces these and keeps others."
    )
    text = json.dumps({"about": words, "files": digests}, indent=1, ensure_ascii=False)
    write_whole(folder / LIST, text.encode())


def _take_place(new: Path, path: Path) -> None:
    """Put a full folder in the place of the one that is there."""
    if path.exists():
        shutil.copymode(path, new)
        # Between these two lines a killed process leaves no folder; the next one puts it back.
        path.rename(_former(path))
    new.rename(path)
    _settle(path)


def _settle(path: Path) -> None:
    """Finish what a killed run has begun: no former folder and no unfinished one remain."""
    former = _former(path)
    if former.is_dir():
        if path.exists():
            _empty(former, path)
        else:
            former.rename(path)
    if not path.parent.is_dir():
        return
    for other in path.parent.iterdir():
        start, end = f".{path.name}.", ".unfinished"
        token = other.name.removeprefix(start).removesuffix(end)
        if (
            other.name == f"{start}{token}{end}"
            and len(token) == 8
            and other not in _unfinished
            and _is_abandoned(other)
        ):
            shutil.rmtree(other, ignore_errors=True)


def _empty(former: Path, path: Path) -> None:
    """Delete the files of the former run, and move all others into the new folder."""
    own = _own(former)
    for file in [*former.iterdir()]:
        if file.name in own:
            file.unlink(missing_ok=True)
        elif file.name != LIST:
            file.rename(_free(path / file.name))
    # The list goes last, because a killed process needs it to go on here.
    (former / LIST).unlink(missing_ok=True)
    former.rmdir()


def _free(path: Path) -> Path:
    """The path, or one with a number if something is there."""
    number, free = 1, path
    while free.exists():
        number += 1
        free = path.with_name(f"{path.stem}-{number}{path.suffix}")
    return free


def _listed(folder: Path) -> dict[str, str]:
    """Names and checksums in a folder's list; empty if it has none that can be read."""
    try:
        files = json.loads((folder / LIST).read_text(encoding="utf-8"))["files"]
        return {str(name): str(digest) for name, digest in files.items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def _own(folder: Path) -> set[str]:
    """Names of the files that a run wrote into a folder and that nobody has changed since."""
    own = set()
    for name, digest in _listed(folder).items():
        file = folder / name
        # A name with a path in it would lead out of the folder.
        if Path(name).name != name or file.is_symlink() or not file.is_file():
            continue
        with file.open("rb") as opened:
            if hashlib.file_digest(opened, "sha256").hexdigest() == digest:
                own.add(name)
    return own


# ---------------------------------------------------------------------- whether a process lives


def _locked(folder: Path) -> int | None:
    """A lock on a folder that lasts as long as this process; None where a system has no locks."""
    try:
        import fcntl
    except ImportError:
        return None
    opened = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        os.close(opened)
        return None
    return opened


def _is_abandoned(folder: Path) -> bool:
    """Whether no living process fills a folder."""
    try:
        if (lock := _locked(folder)) is not None:
            os.close(lock)
            return True
        return time.time() - folder.stat().st_mtime > _ABANDONED
    except OSError:
        return False


def _about(path: Path, error: OSError) -> OSError:
    """An error of the disk, with the place that the user named."""
    # Libraries that write files have words of their own for it.
    why = os.strerror(error.errno) if error.errno else error.strerror or str(error)
    return OSError(error.errno or 0, why, str(path))

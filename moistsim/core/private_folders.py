"""Whether another user of this computer can put files into a folder, which then must not be trusted.

Machine code and unit definitions are kept as pickles, and a pickle may run any code as it is read.
"""

import os
import stat
from pathlib import Path

_SUFFIXES = (".nbi", ".nbc", ".pickle")
"""Ends of the names of the files that caches keep: numba's index and code, and pint's definitions."""


def open_to_others(folder: str | Path) -> str | None:
    """Why another user can change the kept files of a folder, in words; None if nobody else can.

    The folder, the folders above it and the kept files in it must belong to this user or to the
    administrator. Only this user may write to them, or to a folder above them unless its sticky bit
    is set, as that of ``/tmp`` is. Below a folder that nobody else can enter, nothing is looked at.
    A group that consists of this user alone counts as this user. Access lists are not looked at, and
    neither is Windows, where a user's folders are private.

    Parameters
    ----------
    folder : str or Path
        A folder that exists.

    Raises
    ------
    OSError
        If the folder cannot be looked at.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as mine:  # made for this user alone
    ...     open_to_others(mine) is None
    True
    """
    if not hasattr(os, "getuid"):
        return None
    place = Path(folder).resolve(strict=True)
    for path in (*reversed(place.parents), place):
        status = path.stat()
        if status.st_uid not in (os.getuid(), 0):
            return f"{path} belongs to another user"
        if not _others(status, stat.S_IXGRP, stat.S_IXOTH):
            return None
        if _others(status, stat.S_IWGRP, stat.S_IWOTH) and (
            path == place or not status.st_mode & stat.S_ISVTX
        ):
            return f"other users can write to {path}"
    with os.scandir(place) as entries:
        kept = [entry for entry in entries if entry.name.endswith(_SUFFIXES)]
    for entry in kept:
        status = entry.stat(follow_symlinks=False)
        if status.st_uid not in (os.getuid(), 0) or not stat.S_ISREG(status.st_mode):
            return f"{entry.path} belongs to another user or is a link"
        if _others(status, stat.S_IWGRP, stat.S_IWOTH):
            return f"other users can write to {entry.path}"
    return None


def _others(status: os.stat_result, of_group: int, of_all: int) -> bool:
    """Whether a mode grants a permission to anybody but the owner."""
    if status.st_mode & of_all:
        return True
    return bool(status.st_mode & of_group) and not _is_private(status.st_gid)


def _is_private(group: int) -> bool:
    """Whether a group has the name of this user or the administrator, and no other member."""
    import grp
    import pwd

    try:
        found = grp.getgrgid(group)
        names = {pwd.getpwuid(uid).pw_name for uid in {os.getuid(), 0}}
    except KeyError:
        return False
    return found.gr_name in names and set(found.gr_mem) <= {found.gr_name}

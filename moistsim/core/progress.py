"""Progress bars, which appear only where somebody can watch them."""

import sys
from typing import Any


def progress_bar(total: int, task: str, unit: str, *, shown: bool, done: int = 0) -> Any:
    """A progress bar on stderr. In a file, a pipe or a log it stays silent.

    Parameters
    ----------
    total : int
        Number of steps.
    task, unit : str
        What runs, and what one step is called.
    shown : bool
        Whether the user wants the bar.
    done : int
        Number of steps that an earlier run has done.

    Returns
    -------
    tqdm.tqdm

    Examples
    --------
    >>> with progress_bar(3, "options", "season", shown=True) as bar:
    ...     bar.disable  # the output of this example is not a terminal
    True
    """
    # Imported here because the package starts without it.
    from tqdm import tqdm

    is_shown = shown and is_watched(sys.stderr)
    return tqdm(total=total, initial=done, desc=task, unit=unit, disable=not is_shown)


def is_watched(stream: Any) -> bool:
    """Whether a stream is a terminal, or the output of a notebook's cell."""
    if stream is None:
        return False
    return bool(stream.isatty()) or type(stream).__module__.startswith("ipykernel.")

"""The process of a command: Ctrl-C, readers that leave, and consoles without some signs.

It imports next to nothing, because Ctrl-C may come while the rest is imported.
"""

import codecs
import contextlib
import errno
import os
import signal
import sys
import threading
from collections.abc import Iterator
from typing import Any

STOPPED = 130
"""Exit code after Ctrl-C, as of shells: 128 and the signal's number."""
_command: dict[str, Any] = {"process": 0, "in order": False}
"""The process of the command, and whether Ctrl-C raises an exception in it."""


@contextlib.contextmanager
def of_a_command(*, whole_process: bool) -> Iterator[None]:
    """Ctrl-C ends the process in one line, and output goes nowhere once its reader has left.

    Parameters
    ----------
    whole_process : bool
        Whether the process ends with the command. Ctrl-C then comes too late: Python takes its
        handlers away before it ends, and would be killed by it.
    """
    here = threading.current_thread() is threading.main_thread()
    # A process in the background ignores Ctrl-C, which is meant for another one.
    stops = here and signal.getsignal(signal.SIGINT) is signal.default_int_handler
    if stops:
        _command.update({"process": os.getpid(), "in order": False})
        signal.signal(signal.SIGINT, _stop)
    out, err = sys.stdout, sys.stderr
    for stream in (out, err):
        # A console's encoding may lack a sign, or a letter of a scenario's name.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="moistsim")
    try:
        with (
            contextlib.redirect_stdout(_Output(out) if out is not None else out),
            contextlib.redirect_stderr(_Output(err) if err is not None else err),
        ):
            yield
    finally:
        if stops:
            after = signal.SIG_IGN if whole_process else signal.default_int_handler
            signal.signal(signal.SIGINT, after)


def stops_in_order() -> None:
    """From now on Ctrl-C raises KeyboardInterrupt, for a command that keeps what has finished."""
    _command["in order"] = True


def say_stopped(rest: str = "no results were written") -> None:
    """The one line after Ctrl-C."""
    above = "\n" if sys.stderr is not None and sys.stderr.isatty() else ""
    print(f"{above}moistsim: stopped; {rest}.", file=sys.stderr, flush=True)


def _stop(*_: Any) -> None:
    """End the process at once, or by an exception where something is kept or workers run.

    An exception may be lost in a callback of the compiler, and it waits for running threads.
    """
    if os.getpid() != _command["process"]:
        os._exit(STOPPED)  # a worker that has just begun
    parallel = sys.modules.get("multiprocessing")
    workers = parallel.active_children() if parallel is not None else []
    if workers or _command["in order"]:
        # The second Ctrl-C waits for nothing.
        signal.signal(signal.SIGINT, _stop_at_once)
        raise KeyboardInterrupt
    _stop_at_once()


def _stop_at_once(*_: Any) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with contextlib.suppress(Exception):
        for worker in sys.modules["multiprocessing"].active_children():
            worker.terminate()
    with contextlib.suppress(Exception):
        sys.modules["moistsim.core.files"].abandon()
    with contextlib.suppress(Exception):
        sys.stdout.flush()
    with contextlib.suppress(Exception):
        say_stopped()
    os._exit(STOPPED)


class _Output:
    """An output whose reader may leave, as after ``| head``: further text then goes nowhere."""

    def __init__(self, stream: Any) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        try:
            self._stream.write(text)
        except OSError as error:
            self._drop(error)
        return len(text)

    def flush(self) -> None:
        try:
            self._stream.flush()
        except OSError as error:
            self._drop(error)

    def _drop(self, error: OSError) -> None:
        # Python would try to write the rest again when it ends, and complain.
        with contextlib.suppress(OSError, ValueError):
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, self._stream.fileno())
            os.close(nowhere)
        # Windows says EINVAL of a pipe without a reader.
        if error.errno not in (errno.EPIPE, errno.EINVAL):
            raise OSError(error.errno, error.strerror, "the output") from None

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


_PLAIN = {
    "\N{MINUS SIGN}": "-",
    "\u2013": "-",
    "\u2019": "'",
    "\u201c": '"',
    "\u201d": '"',
    "\u00b2": "2",
    "\u00b0": " deg ",
}
"""ASCII for signs that a console may lack."""


def _readable(error: UnicodeError) -> tuple[str, int]:
    """The nearest ASCII for signs that cannot be encoded, and a question mark for other letters."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    text = error.object[error.start : error.end]
    return "".join(_PLAIN.get(sign, "?") for sign in text), error.end


codecs.register_error("moistsim", _readable)

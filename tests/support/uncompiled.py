"""Run a function of a test in a process without numba's compiler."""

import json
import os
import subprocess
import sys
from collections.abc import Callable
from importlib.util import module_from_spec, spec_from_file_location
from typing import Any


def uncompiled(function: Callable[[], Any]) -> Any:
    """What a function without arguments returns in a process without numba's compiler.

    The result travels as JSON. The other process finds the function by its file and its name.
    """
    done = subprocess.run(
        [sys.executable, __file__, function.__code__.co_filename, function.__name__],
        env={
            **os.environ,
            "NUMBA_DISABLE_JIT": "1",
            "PYTHONPATH": os.pathsep.join(p or os.curdir for p in sys.path),
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


def _main(file: str, name: str) -> None:
    spec = spec_from_file_location("uncompiled_test", file)
    assert spec is not None and spec.loader is not None
    module = sys.modules[spec.name] = module_from_spec(spec)
    spec.loader.exec_module(module)
    print(json.dumps(getattr(module, name)()))


if __name__ == "__main__":
    _main(*sys.argv[1:])

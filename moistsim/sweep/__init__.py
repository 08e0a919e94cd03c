"""Many houses: the cases of a sweep, and their run on threads, processes or a cluster."""

from moistsim.sweep.manifest import MANIFEST, check_same
from moistsim.sweep.parts import SweepError
from moistsim.sweep.paths import Parameter, find, find_field, varied
from moistsim.sweep.reading import read_sweep, sweep_dataset
from moistsim.sweep.store import found_in
from moistsim.sweep.sweep import Sweep

__all__ = [
    "MANIFEST",
    "Parameter",
    "Sweep",
    "SweepError",
    "check_same",
    "find",
    "find_field",
    "found_in",
    "read_sweep",
    "sweep_dataset",
    "varied",
]

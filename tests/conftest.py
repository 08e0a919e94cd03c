"""Settings for all tests; being here also puts this folder on the import path."""

import importlib
import pkgutil
from importlib.util import find_spec

from hypothesis import HealthCheck, settings

import moistsim

# Collecting examples in importlib mode puts each module that is not loaded yet into its room's
# namespace, over the function of its name (`ms.quantiles`), and loads it twice. So all are loaded.
# The cluster's own module and the desk need extras.
EXTRAS = {"moistsim.sweep.cluster": "distributed", "moistsim.desk": "tornado"}
LEFT_OUT = ["moistsim.__main__", *(name for name, of in EXTRAS.items() if find_spec(of) is None)]
for module in pkgutil.walk_packages(moistsim.__path__, "moistsim."):
    if module.name not in LEFT_OUT:
        importlib.import_module(module.name)

# The same examples on every run: a red test stays red until its reason is found. A first
# compilation or a season may take seconds, so there is no deadline.
settings.register_profile(
    "moistsim",
    deadline=None,
    derandomize=True,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
settings.load_profile("moistsim")

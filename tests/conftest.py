"""Settings for all tests; being here also puts this folder on the import path."""

from hypothesis import HealthCheck, settings

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

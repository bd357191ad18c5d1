"""Random boards and fins are the same on every run: a failure found once can be found again."""

from hypothesis import HealthCheck, settings

settings.register_profile(
    "bayloft",
    derandomize=True,
    deadline=None,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)
settings.load_profile("bayloft")

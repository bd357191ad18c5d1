"""Random boards and fins are the same on every run: a failure found once can be found again."""

from hypothesis import HealthCheck, settings

settings.register_profile(
    "bayloft",
    derandomize=True,
    deadline=None,
    database=None,
    suppress_health_check=list(HealthCheck),
)
settings.load_profile("bayloft")

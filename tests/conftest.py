"""What all tests share: the same examples on every machine, unless the deep suite looks for new ones."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

settings.register_profile(
    "same",
    derandomize=True,
    deadline=None,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile("new", deadline=None, print_blob=True, max_examples=500)
settings.load_profile(os.environ.get("AERODE_EXAMPLES", "same"))

"""Set what holds for every test: unhurried, repeatable properties, and pictures drawn without a screen."""

import os

from hypothesis import settings

os.environ.setdefault("MPLBACKEND", "Agg")

# No deadline: a first call may compile. In CI the examples are the same at every run.
settings.register_profile("farface", deadline=None, derandomize=os.environ.get("CI") == "true")
settings.load_profile("farface")

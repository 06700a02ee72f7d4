"""Set what holds for every test: unhurried, repeatable properties, and pictures drawn without a screen."""

import os
from pathlib import Path

from hypothesis import settings

import farface

os.environ.setdefault("MPLBACKEND", "Agg")

pytest_plugins = ("browser",)

# No deadline: a first call may compile. In CI the examples are the same at every run.
settings.register_profile("farface", deadline=None, derandomize=os.environ.get("CI") == "true")
settings.load_profile("farface")


def _drop_stale_kernels() -> None:
    """Delete kernels older than any that they may call: numba looks only at the caller's own file."""
    package = Path(farface.__file__).parent
    sources = [path for path in package.rglob("*.py") if "@njit" in path.read_text("utf-8")]
    newest = max(path.stat().st_mtime for path in sources)
    for index in package.rglob("*.nbi"):
        if index.stat().st_mtime < newest:
            index.unlink(missing_ok=True)


_drop_stale_kernels()

"""Tell what kind of machine a table was measured on: cores, bandwidth of its memory, Python."""

import os
import platform
import time

import numpy as np

# Much larger than any cache.
NUMBERS = 20_000_000
ROUNDS = 5


def machine_words() -> str:
    """Say in one sentence what this machine is, naming no maker and no host."""
    load = f", load {os.getloadavg()[0]:.1f} when it began" if hasattr(os, "getloadavg") else ""
    return (
        f"{os.cpu_count()} cores ({platform.machine()}), memory copied at {bandwidth_gb_per_s():.0f} GB/s by "
        f"one thread{load}, Python {platform.python_version()}."
    )


def bandwidth_gb_per_s() -> float:
    """Copy numbers from one place to another, both out of the caches; the best of some rounds."""
    source, target = np.ones(NUMBERS), np.zeros(NUMBERS)
    best_s = np.inf
    for _ in range(ROUNDS):
        started_s = time.perf_counter()
        np.copyto(target, source)
        best_s = min(best_s, time.perf_counter() - started_s)
    return float(2 * source.nbytes / best_s / 1e9)

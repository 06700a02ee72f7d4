"""Watch the marked tests as pytest runs them, and write what each expects how near: a plugin of pytest."""

import json
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

STATUSES = ("published", "exact", "common_practice", "from_memory")
# The file that the watching run writes; the command that started it names it.
WRITTEN = "FARFACE_CHECKS_SEEN"
MOST = 4
_SCALAR: Any = type(pytest.approx(1.0))
_SEEN: dict[str, dict[str, Any]] = {}
_RUNNING: list[dict[str, Any]] = []


def pytest_configure() -> None:
    """Let every comparison with an expected number tell of itself."""
    compare = _SCALAR.__eq__

    def telling(self: Any, actual: object) -> bool:
        same = bool(compare(self, actual))
        if same and _RUNNING:
            _note(_RUNNING[-1]["compared"], self.expected, self.tolerance)
        return same

    _SCALAR.__eq__ = telling


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Note every test that a status marks, run or not."""
    for item in items:
        status = next((name for name in STATUSES if item.get_closest_marker(name)), None)
        if status is not None:
            _SEEN[item.nodeid] = {"status": status, "result": "not run", "compared": []}


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Iterator[None]:
    """Listen while a marked test runs."""
    if item.nodeid not in _SEEN:
        return (yield)
    _RUNNING.append(_SEEN[item.nodeid])
    try:
        return (yield)
    finally:
        _RUNNING.pop()


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Note how a test went."""
    seen = _SEEN.get(report.nodeid)
    if seen is not None and (report.when == "call" or report.outcome != "passed"):
        seen["result"] = report.outcome


def pytest_sessionfinish() -> None:
    """Write what was seen."""
    Path(os.environ[WRITTEN]).write_text(json.dumps(_SEEN), "utf-8")


def _note(compared: list[str], expected: Any, tolerance: Any) -> None:
    """Write an expected number and its tolerance, with no more digits than a reader needs."""
    try:
        said = f"{float(expected):.6g} ± {float(tolerance):.1g}"
    except (TypeError, ValueError):
        return
    if len(compared) < MOST and said not in compared:
        compared.append(said)

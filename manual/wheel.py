"""Build the manual into every wheel: a hook of the build."""

import sys
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class ManualInWheel(BuildHookInterface[Any]):
    """Build the manual before the files of a wheel are gathered; an editable install goes without."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build it."""
        if version == "editable":
            return
        sys.path.insert(0, self.root)
        from manual.__main__ import build_manual

        build_manual()

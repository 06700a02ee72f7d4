"""Hash what a record says, so that an edit behind the journal's back shows."""

import hashlib
import json
from collections.abc import Mapping
from typing import Any, Final

# Everything that a record says; its number is its place in one journal, and differs in a copy.
SAID: Final = (
    *("id", "kind", "at_utc", "program_version", "seed", "title", "body", "inputs"),
    *("supersedes", "reason", "withdrawn"),
)


def record_sha256(content: Mapping[str, Any]) -> str:
    """Hash a record's content as JSON with sorted keys, without spaces, every other sign than ASCII escaped.

    This never changes: it must give the hash of every record that was ever written.
    """
    said = {name: content[name] for name in SAID}
    text = json.dumps(said, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()

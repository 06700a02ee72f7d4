"""Keep the permanent record of a bench: records that are only added, and copies of the files they rest on."""

from farface.journal.adopt import Conflict, adopt, conflicts
from farface.journal.audit import Finding, audit
from farface.journal.entries import Input, Record, StoredFile
from farface.journal.headings import Heading, headings
from farface.journal.place import address_kept
from farface.journal.rescue import Rescued, rescue
from farface.journal.rows import record_from, record_json
from farface.journal.store import Journal
from farface.journal.stored_files import sha256_of

__all__ = [
    "Conflict",
    "Finding",
    "Heading",
    "Input",
    "Journal",
    "Record",
    "Rescued",
    "StoredFile",
    "address_kept",
    "adopt",
    "audit",
    "conflicts",
    "headings",
    "record_from",
    "record_json",
    "rescue",
    "sha256_of",
]

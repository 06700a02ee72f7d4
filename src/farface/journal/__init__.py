"""Keep the permanent record of a bench: records that are only added, and copies of the files they rest on."""

from farface.journal.entries import Input, Record, StoredFile
from farface.journal.store import Journal

__all__ = ["Input", "Journal", "Record", "StoredFile"]

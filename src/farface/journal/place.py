"""Say where a journal is kept: in a file of its bench, or on a PostgreSQL server that benches share."""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from sqlalchemy import URL, make_url
from sqlalchemy.exc import ArgumentError

from farface.kernel import Malformed, Missing

_SERVERS: Final = "postgresql+psycopg"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Name a database and the folder of stored files; ``path`` is None on a server."""

    url: URL
    path: Path | None
    files: Path

    @property
    def name(self) -> str:
        """Name the place as sentences do, without its password."""
        return str(self.path) if self.path else self.url.render_as_string(hide_password=True)


def place_of(given: Path | str, files: Path | None = None) -> Place:
    """Read a path, a ``sqlite:///`` URL or a ``postgresql+psycopg://`` URL.

    Copies of files lie in ``files``, by default in runs/files beside a file's database. Raises `Malformed`
    for any other database.
    """
    if isinstance(given, str) and "://" in given:
        url = _url_of(given)
        if url.get_backend_name() != "sqlite":
            if files is None:
                raise Missing(
                    f"The journal at {url.host or url.database} needs a folder for its files. Name a bench."
                )
            return Place(url=url, path=None, files=files)
        given = url.database or ""
    path = Path(given)
    url = URL.create("sqlite", database=str(path))
    return Place(url=url, path=path, files=files or path.parent / "runs" / "files")


def address_kept(given: str) -> str:
    """Give an address as a bench keeps it: complete, but for the password."""
    return _url_of(given).set(password=None).render_as_string(hide_password=False)


def _url_of(text: str) -> URL:
    """Read a URL; what is said of a faulty one leaves out its password."""
    try:
        url = make_url(text)
    except (ArgumentError, ValueError) as error:
        raise Malformed(
            f"The journal's address cannot be read. Write it {_SERVERS}://user@host/database."
        ) from error
    if url.drivername == "postgresql":
        url = url.set(drivername=_SERVERS)
    known = url.get_backend_name() == "sqlite" or url.drivername == _SERVERS
    if not known or not url.database:
        raise Malformed(
            f"The journal is at {url.render_as_string(hide_password=True)}, but it can only be kept in "
            f"SQLite "
            f"or PostgreSQL. Name a file, or write {_SERVERS}://user@host/database."
        )
    return url

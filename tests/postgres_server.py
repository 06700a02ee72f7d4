"""Start a PostgreSQL server of the tests' own, in a folder of its own, on a free port of this machine."""

import os
import pwd
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import psycopg
import pytest

ROLE = "farface"
# Debian keeps the server's programs out of the way of PATH.
DEBIAN = "/usr/lib/postgresql"


@dataclass(frozen=True, slots=True, kw_only=True)
class Server:
    """Hold a running server; each database in it can be the journal of one bench."""

    programs: Path
    folder: Path
    port: int

    def database(self, name: str) -> str:
        """Make an empty database and give its address."""
        with self.connect("postgres") as connection:
            connection.execute(f'CREATE DATABASE "{name}"')
        return f"postgresql+psycopg://{ROLE}@127.0.0.1:{self.port}/{name}"

    def connect(self, name: str) -> "psycopg.Connection[tuple[object, ...]]":
        """Connect past the journal, as the server's keeper could."""
        return psycopg.connect(host="127.0.0.1", port=self.port, user=ROLE, dbname=name, autocommit=True)

    def control(self, *arguments: str) -> None:
        """Start or stop it."""
        options = f"-h 127.0.0.1 -p {self.port} -k '' -c fsync=off"
        command = [self.programs / "pg_ctl", "-D", self.folder / "data", "-w", "-o", options]
        log = ["-l", self.folder / "log"]
        _run_as_owner([*map(str, command), *map(str, log), *arguments], self.folder)


@contextmanager
def server() -> Iterator[Server]:
    """Run a server while the tests need it; skip them where there is none, but fail in CI."""
    programs = _programs()
    if programs is None:
        if os.environ.get("CI") == "true":
            pytest.fail("CI has no PostgreSQL server: .ci/run should have installed one")
        pytest.skip("no PostgreSQL server (initdb, pg_ctl) on this machine")
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as name:
        folder = Path(name)
        _own(folder)
        initdb = (
            programs / "initdb",
            "-D",
            folder / "data",
            "-U",
            ROLE,
            "-A",
            "trust",
            "-E",
            "UTF8",
            "--no-sync",
        )
        _run_as_owner([str(part) for part in initdb], folder)
        running = Server(programs=programs, folder=folder, port=_free_port())
        running.control("start")
        try:
            yield running
        finally:
            running.control("stop", "-m", "immediate")


def _programs() -> Path | None:
    """Find the folder with initdb and pg_ctl."""
    found = shutil.which("initdb")
    folders = [Path(found).resolve().parent] if found else sorted(Path(DEBIAN).glob("*/bin"), reverse=True)
    return next((one for one in folders if (one / "initdb").exists() and (one / "pg_ctl").exists()), None)


def _owner() -> str | None:
    """Name whom the server runs as: it refuses to run as the superuser."""
    if os.geteuid() != 0:
        return None
    known = {entry.pw_name for entry in pwd.getpwall()}
    return "postgres" if "postgres" in known else "nobody"


def _own(folder: Path) -> None:
    owner = _owner()
    if owner is not None:
        shutil.chown(folder, owner)
        folder.chmod(0o700)


def _run_as_owner(command: list[str], folder: Path) -> None:
    done = subprocess.run(
        command, user=_owner(), cwd=folder, check=False, text=True, timeout=60,
        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
    )  # fmt: skip
    assert done.returncode == 0, f"{command[0]}: {done.stderr}"


def _free_port() -> int:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        port: int = trial.getsockname()[1]
        return port

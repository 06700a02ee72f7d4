"""Take a place to listen at: this machine's own address, or one that the person named."""

import ipaddress
import os
import socket
from pathlib import Path
from typing import Final
from zlib import crc32

from farface.kernel import Malformed, Missing, Refused

LOOPBACK: Final = "127.0.0.1"
# Where a bench is usually served, below what systems hand out by themselves; browsers keep what was typed and
# not sent yet by address, so a bench should be found at the same one again.
_FIRST_PORT, _PORTS = 20000, 10000


def listening(port: int, address: str = LOOPBACK) -> socket.socket:
    """Listen at one address only; raises `Missing` for a port that is taken or an address of elsewhere."""
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    # Named as TCP, so that asyncio sends small answers at once instead of waiting 40 ms for a full packet.
    listener = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if os.name == "posix":  # elsewhere this would let another program take the port over
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((address, port))
        listener.listen(64)
    except OSError as error:
        listener.close()
        if address != LOOPBACK:
            raise Missing(
                f"nothing can listen at {address}, port {port} ({error.strerror}). Name an address that this "
                "machine has on the network your phone is on."
            ) from error
        raise Missing(f"port {port} is taken ({error.strerror}). Leave --port out for a free one.") from error
    return listener


def usual(folder: Path, port: int, address: str = LOOPBACK) -> socket.socket:
    """Listen at a port, or where it is 0 at the bench's usual one, or at a free one where that is taken."""
    if port:
        return listening(port, address)
    try:
        return listening(usual_port(folder, address), address)
    except Missing:
        return listening(0, address)


def usual_port(folder: Path, address: str = LOOPBACK) -> int:
    """Give the port that a bench is usually served at."""
    return _FIRST_PORT + crc32(f"{folder.resolve()} {address}".encode()) % _PORTS


def network_address(text: str) -> str:
    """Read the address that phones are to reach.

    Raises `Malformed` for what is no address, and `Refused` for one that stands for all of them.
    """
    try:
        address = ipaddress.ip_address(text.strip())
    except ValueError as error:
        raise Malformed(
            f'"{text}" is no address of a network. Write the one that this machine has there, such as '
            "192.168.1.20."
        ) from error
    if address.is_unspecified or address.is_multicast:
        raise Refused(
            f"{address} would open the bench to every network at once. Name the one address that your phone "
            "reaches."
        )
    return str(address)


def host_of(address: str) -> str:
    """Write an address as the Host header has it."""
    return f"[{address}]" if ":" in address else address

"""The program on a day that is not today: each process of it is told by libfaketime at which instant it begins.

Only what asks for the time of day is told so. What has passed since the machine was started is not touched, so that nothing
sleeps longer or less; and as an instant goes on from the start of each process, nothing jumps while one runs. The store must
be a file: PostgreSQL would go by its own clock.
"""

import socket
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from program import Program, expect


def instant(day, time):
    """An instant of UTC."""
    return datetime.fromisoformat(f"{day}T{time}:00+00:00")


def library():
    """The library that tells another time, where Debian's package puts it: the one for programs of several threads."""
    found = sorted(Path("/usr/lib").glob("*/faketime/libfaketimeMT.so.1"))
    expect(found, "there is no libfaketimeMT.so.1 below /usr/lib: tests/support/tools installs it")
    return found[0]


class DatedProgram(Program):
    """The program with a clock of its own."""

    def __init__(self, folder, at, **settings):
        super().__init__(folder, **settings)
        self.set_clock(at)

    def set_clock(self, at, speed=1):
        """The next process begins at this instant of UTC, and its time of day passes so many times as fast."""
        # Set for the program alone: a command that becomes it would leave behind what the library shares among processes.
        self.under = (
            "env", f"LD_PRELOAD={library()}", f"FAKETIME=@{at:%Y-%m-%d %H:%M:%S} x{speed}", "TZ=UTC", "LC_ALL=C",
            "FAKETIME_DONT_FAKE_MONOTONIC=1", "NO_FAKE_STAT=1",
        )  # fmt: skip


@contextmanager
def closed_port(port):
    """A port of the loopback that is taken, so that nobody else gets it, and at which nobody answers."""
    with socket.socket() as taken:
        # Connections that have just ended there are no hindrance.
        taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        taken.bind(("127.0.0.1", port))
        yield

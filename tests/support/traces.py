"""What a run leaves behind: its processes, by a mark they inherit, and sockets that listen.

As a program it prints the sockets that listen now, for a later comparison.
"""

import json
import os
import re
from pathlib import Path

# Set by tests/run in its own environment, so that every process it starts, and theirs, can be told by it.
MARK = "TESTS_RUN_IN"


class Process:
    """What the kernel shows of a process; raises OSError once it is gone or is another user's."""

    def __init__(self, number):
        folder = Path(f"/proc/{number}")
        self.number = number
        after_name = (folder / "stat").read_text().rpartition(")")[2].split()
        self.state, self.parent, self.group = after_name[0], int(after_name[1]), int(after_name[2])
        self.command = (folder / "cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace").strip()
        self.environment = (folder / "environ").read_bytes().split(b"\0")
        self.working_directory = os.readlink(folder / "cwd")

    def is_of(self, work):
        """Whether it belongs to the run in the folder `work`: by mark, by where it works, or by what it was told."""
        return (
            f"{MARK}={work}".encode() in self.environment
            or Path(self.working_directory).is_relative_to(work)
            or str(work) in self.command
        )


def processes():
    """Every process that can be looked at, by number."""
    seen = {}
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            seen[int(folder.name)] = Process(int(folder.name))
        except OSError:
            continue
    return seen


def line_of(number, seen):
    """The numbers of a process and of all it descends from."""
    line = []
    while number in seen:
        line.append(number)
        number = seen[number].parent
    return line


def left_of(work, kept=None):
    """The processes of the run in `work` that still live, but for this one's line and what descends from `kept`."""
    seen = processes()
    own = line_of(os.getpid(), seen)
    return {
        number: one.command
        for number, one in seen.items()
        if one.is_of(work) and one.state != "Z" and number not in own and kept not in line_of(number, seen)
    }


def listening():
    """The TCP sockets that listen, as {socket: local address}, both as the kernel writes them."""
    sockets = {}
    for table in Path("/proc/net").glob("tcp*"):
        for line in table.read_text().splitlines()[1:]:
            cells = line.split()
            if cells[3] == "0A":
                sockets[cells[9]] = cells[1]
    return sockets


def holder(socket):
    """The number of a process that holds a socket, if it can be seen."""
    for link in Path("/proc").glob("[0-9]*/fd/*"):
        try:
            if os.readlink(link) == f"socket:[{socket}]":
                return int(link.parts[2])
        except OSError:
            continue
    return None


if __name__ == "__main__":
    print(json.dumps(listening()))

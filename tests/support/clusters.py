"""A database of one's own in the run's throw-away PostgreSQL server."""

import os
import subprocess
from contextlib import contextmanager
from pathlib import Path

from program import expect

SUPPORT = Path(__file__).resolve().parent
OWNER = "ostler"


@contextmanager
def server():
    """The directory of the run's server; outside a run, of one that ends with this context."""
    if provided := os.environ.get("OSTLER_TEST_POSTGRES"):
        yield Path(provided)
        return
    started = subprocess.run([SUPPORT / "postgres", "start", str(os.getpid())], stdout=subprocess.PIPE, text=True)
    expect(started.returncode == 0, "PostgreSQL did not start")
    directory = started.stdout.strip()
    try:
        yield Path(directory)
    finally:
        subprocess.run([SUPPORT / "postgres", "stop", directory], check=True)


@contextmanager
def database(name):
    """The address of a new, empty database whose owner is no superuser; dropped at the end."""
    with server() as directory:
        ask(directory, "psql", "--command", f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
        there = ask(directory, "psql", "-At", "--command", f"SELECT count(*) FROM pg_roles WHERE rolname = '{OWNER}'")
        if there == "0":
            ask(directory, "psql", "--command", f"CREATE ROLE {OWNER} LOGIN")
        ask(directory, "createdb", "--owner", OWNER, name)
        try:
            yield f"postgres://{OWNER}@{str(directory).replace('/', '%2F')}/{name}"
        finally:
            ask(directory, "dropdb", "--force", name)


def ask(directory, tool, *words):
    """Runs one of PostgreSQL's tools as the superuser; what it printed."""
    path = Path((directory / "programs").read_text().strip()) / tool
    command = [path, "--host", directory, "--username", "postgres", *words]
    done = subprocess.run(command, capture_output=True, text=True)
    expect(done.returncode == 0, f"{tool} {' '.join(words)}: {done.stderr}")
    return done.stdout.strip()

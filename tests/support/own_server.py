"""A PostgreSQL server of one check's own, which the check may stop at once and start again."""

import os
import pwd
import signal
import subprocess
import time
from pathlib import Path

from program import PATIENCE, expect, tied

NAME, OWNER = "ostler", "ostler"
SETTINGS = ("listen_addresses=", "fsync=off", "max_connections=120", "shared_buffers=64MB", "jit=off")


def programs():
    """The folder of PostgreSQL's programs."""
    named = os.environ.get("OSTLER_POSTGRES_PROGRAMS")
    folders = [Path(named)] if named else sorted(Path("/usr/lib/postgresql").glob("*/bin"))
    expect(folders, "PostgreSQL's programs are not in /usr/lib/postgresql: name their folder in OSTLER_POSTGRES_PROGRAMS")
    return folders[-1]


class OwnServer:
    """Serves from `folder`, whose path must leave room for a socket's (107 bytes); a context that ends it."""

    def __init__(self, folder):
        self.folder = folder
        folder.mkdir()
        self.as_user = []
        if os.geteuid() == 0:
            user = pwd.getpwnam("postgres" if any(one.pw_name == "postgres" for one in pwd.getpwall()) else "nobody")
            self.as_user = [f"--reuid={user.pw_uid}", f"--regid={user.pw_gid}", "--clear-groups"]
            os.chown(folder, user.pw_uid, user.pw_gid)
            # The server runs as another user and must be able to get there.
            for above in (folder.parent, folder.parent.parent):
                above.chmod(above.stat().st_mode | 0o011)
        self._run("initdb", "--no-sync", "--auth=trust", "--username=postgres", "--encoding=UTF8", "--locale=C",
                  "-D", folder / "data")  # fmt: skip
        self.start()
        self.ask(f"CREATE ROLE {OWNER} LOGIN", "postgres")
        self.ask(f"CREATE DATABASE {NAME} OWNER {OWNER}", "postgres")

    def address(self):
        """Its database as a setting."""
        return f"postgres://{OWNER}@{str(self.folder).replace('/', '%2F')}/{NAME}"

    def start(self):
        """Starts it and waits until it answers."""
        words = [word for setting in SETTINGS for word in ("-c", setting)]
        command = tied(*self.as_user, programs() / "postgres", "-D", self.folder / "data", "-k", self.folder, *words)
        with (self.folder / "log").open("ab") as log:
            self.process = subprocess.Popen(command, cwd=self.folder, stdout=log, stderr=log)
        began = time.monotonic()
        while self._ask("SELECT 1", "postgres").returncode:
            alive = self.process.poll() is None and time.monotonic() - began < PATIENCE
            expect(alive, f"PostgreSQL does not answer: {(self.folder / 'log').read_text()[-2000:]}")
            time.sleep(0.05)

    def stop_at_once(self):
        """Ends it as its operators do in need: no farewell to anybody; it recovers when it is started."""
        self.process.send_signal(signal.SIGQUIT)
        self.process.wait(PATIENCE)

    def cut_everybody_off(self):
        """Ends every connection to the database."""
        self.ask(f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{NAME}'", "postgres")

    def ask(self, statement, database=NAME):
        """What a statement gives, as the superuser, line by line."""
        done = self._ask(statement, database)
        expect(done.returncode == 0, f"psql: {done.stderr}")
        return done.stdout.splitlines()

    def _ask(self, statement, database):
        command = [programs() / "psql", "-At", "-F", " ", "--host", self.folder, "--username", "postgres", "--dbname", database]
        return subprocess.run([*command, "--command", statement], capture_output=True, text=True)

    def _run(self, tool, *words):
        # A command of util-linux, as in `tied`: the server refuses to be root.
        command = ["setpriv", *self.as_user, programs() / tool, *map(str, words)] if self.as_user else [programs() / tool, *words]
        done = subprocess.run(command, cwd=self.folder, capture_output=True, text=True)
        expect(done.returncode == 0, f"{tool}: {done.stderr}")

    def __enter__(self):
        return self

    def __exit__(self, *_):
        if self.process.poll() is None:
            self.stop_at_once()

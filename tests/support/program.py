"""The program as an outsider meets it: the released binary as a process, told its settings by the environment."""

import json
import os
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
# A stop takes at most this many seconds (an operator's promise); a start is given as much.
PATIENCE = 30


def expect(truth, says):
    """Ends the check with a sentence unless `truth` holds."""
    if not truth:
        sys.exit(f"FAILED: {says}")


def wait_for(what, seen, patience=90):
    """Waits until `seen` gives something true, and gives that. Nothing is concluded from how soon that is. `what` is
    in words, or gives them when it did not come."""
    began = time.monotonic()
    while time.monotonic() - began < patience:
        if found := seen():
            return found
        time.sleep(0.1)
    return expect(False, f"{what() if callable(what) else what}: not within {patience} s")


def binary():
    """The released program; `tests/run` builds it before the checks."""
    path = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "release" / "ostler"
    expect(path.exists(), f"there is no {path}: build it with `cargo build --release`")
    return str(path)


def work_folder(name):
    """A new folder of this check's own in the run's work folder, which is the first argument."""
    expect(len(sys.argv) >= 2, f"say in which folder to work: {sys.argv[0]} FOLDER")
    folder = Path(sys.argv[1]).resolve() / name
    expect(not folder.exists(), f"{folder} is there already: each check needs a fresh one")
    folder.mkdir(parents=True)
    return folder


def rounds(usual):
    """How many rounds are asked for: the second argument, for a long run, or as many as usual."""
    return int(sys.argv[2]) if len(sys.argv) > 2 else usual


def tied(*words):
    """A command that ends when this process does, however that comes about."""
    return ["setpriv", "--pdeathsig", "TERM", *map(str, words)]


class Program:
    """The program with its settings, the working directory being `folder`; `under` is a command that runs it."""

    under = ()

    def __init__(self, folder, **settings):
        self.folder = Path(folder)
        names = {f"OSTLER_{name.upper()}": str(value) for name, value in settings.items()}
        kept = {name: value for name, value in os.environ.items() if not name.startswith("OSTLER_")}
        self.environment = kept | names

    def run(self, *words):
        """What a short command prints."""
        done = subprocess.run(
            [*self.under, binary(), *words], cwd=self.folder, env=self.environment, capture_output=True, text=True,
            timeout=PATIENCE,
        )  # fmt: skip
        expect(done.returncode == 0, f"ostler {' '.join(words)} ended with {done.returncode}: {done.stderr}")
        return done.stdout.strip()

    def serve(self, *words, under=()):
        """Starts `ostler serve` and waits until it answers; `under` is another command that runs it, this once."""
        return Server(self, words, under or self.under)


class Server:
    """A serving program; as a context it is stopped at the end."""

    def __init__(self, program, words, under):
        self.log = program.folder / "serve.log"
        command = tied(*under, binary(), "serve", "--listen", "127.0.0.1:0", "--json", *words)
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                command, cwd=program.folder, env=program.environment, stdout=subprocess.PIPE, stderr=log, text=True
            )
        line = self.process.stdout.readline()
        if not line:
            self.process.wait(PATIENCE)
        expect(line, f"the server ended with {self.process.returncode} before it answered; its log:\n{self.tail()}")
        self.told = json.loads(line)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        if self.process.poll() is None:
            self.stop()

    def address(self):
        """Where it answers, with the scheme."""
        address = self.told["address"]
        return address if "//" in address else f"http://{address}"

    def tail(self):
        """The end of its log."""
        return "\n".join(self.log.read_text(errors="replace").splitlines()[-30:])

    def kill(self):
        """Ends it as a power cut would."""
        self.process.kill()
        self._reap()

    def stop(self):
        """Tells it to stop, which it must do in order."""
        self.process.terminate()
        status = self._reap()
        expect(status == 0, f"told to stop, the server ended with {status}; its log:\n{self.tail()}")

    def _reap(self):
        try:
            return self.process.wait(PATIENCE)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
            sys.exit(f"FAILED: the server did not stop within {PATIENCE} s; its log:\n{self.tail()}")
        finally:
            self.process.stdout.close()

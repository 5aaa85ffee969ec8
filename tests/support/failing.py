"""A disk that fails at the n-th write to a file: `failing_writes.c`, compiled and preloaded into the program."""

import mmap
import struct
import subprocess
from pathlib import Path

from program import expect

SOURCE = Path(__file__).resolve().parent / "failing_writes.c"
# Numbers of the shared page, in the order of the C source.
COUNTED, FAILS_AT, LASTING, FAILED = range(4)


class FailingDisk:
    """Counts writes to files whose path holds `of`, and lets one fail, or that and all later ones."""

    def __init__(self, folder, of):
        library, page = folder / "failing_writes.so", folder / "failing_writes"
        compiled = subprocess.run(
            ["gcc", "-O2", "-Wall", "-shared", "-fPIC", "-o", library, SOURCE, "-ldl"], capture_output=True, text=True
        )
        expect(compiled.returncode == 0, f"gcc: {compiled.stderr}")
        page.write_bytes(bytes(mmap.PAGESIZE))
        with page.open("r+b") as file:
            self.page = mmap.mmap(file.fileno(), mmap.PAGESIZE)
        self.under = ("env", f"LD_PRELOAD={library}", f"FAILING_WRITES={page}", f"FAILING_WRITES_OF={of}")

    def _read(self, number):
        return struct.unpack_from("<Q", self.page, 8 * number)[0]

    def _write(self, number, value):
        struct.pack_into("<Q", self.page, 8 * number, value)

    def arm(self, number, lasting):
        """The write of that number from now on fails, and with `lasting` all after it."""
        self.heal()
        self._write(LASTING, int(lasting))
        self._write(FAILED, 0)
        self._write(COUNTED, 0)
        self._write(FAILS_AT, number)

    def heal(self):
        """Nothing fails any more."""
        self._write(FAILS_AT, 0)

    def failed(self):
        """How many writes failed since the disk was armed."""
        return self._read(FAILED)

    def counted(self):
        """How many writes came since then."""
        return self._read(COUNTED)

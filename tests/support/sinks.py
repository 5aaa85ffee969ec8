"""Where letters end up: a folder, or a real relay; and how many copies of each are allowed there."""

import collections
import email
import sqlite3

from program import expect
from relay import PASSWORD, USER, Relay, authority

SENDER = "Ferry Lane <ostler@ferry-lane.example>"
UNCERTAIN = "SELECT letter.message_id, count(*) FROM letter_attempt AS attempt JOIN letter" \
    " ON letter.id = attempt.letter_id WHERE attempt.outcome = 'uncertain' GROUP BY letter.message_id"


class Folder:
    """Letters as `.eml` files: a file of one name is one letter, however often it is written."""

    def __init__(self, folder):
        self.folder = folder
        self.settings = {"mail__folder": folder}

    def __enter__(self):
        return self

    def __exit__(self, *_):
        pass

    def copies(self):
        """Copies of each letter by its Message-ID."""
        letters = (email.message_from_bytes(file.read_bytes()) for file in sorted(self.folder.glob("*.eml")))
        return counted(letters)


class OverRelay:
    """Letters through exim over STARTTLS, signed in."""

    def __init__(self, folder):
        # The relay runs as another user and must be able to get there.
        for above in (folder, folder.parent):
            above.chmod(above.stat().st_mode | 0o011)
        certificate = authority(folder, "ours")
        self.relay = Relay(folder / "relay", certificate)
        password = folder / "password"
        password.write_text(PASSWORD + "\n")
        self.settings = {
            "mail__from": SENDER, "mail__host": "127.0.0.1", "mail__port": self.relay.port, "mail__security": "starttls",
            "mail__ca_file": certificate, "mail__user": USER, "mail__password_file": password,
        }  # fmt: skip

    def __enter__(self):
        return self

    def __exit__(self, *words):
        self.relay.__exit__(*words)

    def copies(self):
        """Copies of each letter by its Message-ID."""
        return counted(self.relay.letters())


def counted(letters):
    """Copies by Message-ID; each letter has one."""
    ids = collections.Counter((letter["Message-ID"] or "none").strip().strip("<>") for letter in letters)
    expect("none" not in ids, "every letter has a Message-ID")
    return ids


def uncertain_on_file(database):
    """How many attempts at each letter ended without an answer, by the file itself."""
    with sqlite3.connect(f"file:{database}?mode=ro", uri=True) as file:
        return {told.strip("<>"): count for told, count in file.execute(UNCERTAIN) if told}


def check_copies(copies, letters, uncertain):
    """Each letter that is called sent came, and no copy is too many (P3); gives how many came twice.

    `letters` is what the program lists; `uncertain` how many attempts at each ended without an answer.
    """
    sent = {one["message_id"].strip("<>") for one in letters if one["state"] == "sent"}
    expect(sent, "letters were sent")
    lost = sent - set(copies)
    expect(not lost, f"{len(lost)} letters are called sent and never came: {sorted(lost)[:5]}")
    known = {one["message_id"].strip("<>") for one in letters if one["message_id"]}
    strangers = set(copies) - known
    expect(not strangers, f"letters came that the program does not list: {sorted(strangers)[:5]}")
    many = {told: count for told, count in copies.items() if count > 1 + uncertain.get(told, 0)}
    expect(not many, f"copies beyond 1 + uncertain: {many}")
    return sum(count > 1 for count in copies.values())



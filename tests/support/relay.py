"""A real mail relay (exim) in a folder of its own, run as a user who owns nothing else, with an authority of its own."""

import email
import email.policy
import os
import pwd
import shutil
import socket
import subprocess
import time

from program import PATIENCE, expect, tied

EXIM = "/usr/sbin/exim4"
USER, PASSWORD = "ostler", "a pass phrase for checks"
# What stands in the relay's log once somebody connects, signs in, or names a sender.
CONNECTED, GIVEN_PASSWORD, GIVEN_SENDER = "TCP/IP connection count", "was given a password", "was given a sender"

CONFIGURATION = """\
primary_hostname = relay.example
local_interfaces = <; [127.0.0.1]:{port}
spool_directory = {folder}/spool
log_file_path = {folder}/%slog
pid_file_path = {folder}/exim.pid
exim_user = {user}
exim_group = {group}
never_users =
host_lookup =
rfc1413_query_timeout = 0s
keep_environment =
log_selector = +smtp_connection +smtp_protocol_error +smtp_syntax_error +tls_cipher
tls_advertise_hosts = {offers_tls}
tls_certificate = {folder}/relay.pem
tls_privatekey = {folder}/relay.key
acl_smtp_auth = note_password
acl_smtp_mail = note_sender
acl_smtp_rcpt = {who_may_send}
acl_smtp_data = accept
begin acl
note_password:
  accept logwrite = {given_password}
note_sender:
  accept logwrite = {given_sender}
signed_in_over_tls:
  deny !encrypted = *
       message = 5.7.0 only over TLS
  deny !authenticated = *
       message = 5.7.0 sign in first
  accept
begin routers
everyone:
  driver = accept
  transport = maildir
begin transports
maildir:
  driver = appendfile
  directory = {folder}/mail
  maildir_format
  create_directory
  envelope_to_add
  return_path_add
begin authenticators
plain:
  driver = plaintext
  public_name = PLAIN
  server_prompts = :
  server_condition = ${{if and{{{{eq{{$auth2}}{{{name}}}}}{{eq{{$auth3}}{{{password}}}}}}}}}
  server_set_id = $auth2
"""


def authority(folder, name):
    """Makes a certificate authority; gives the path of its certificate, beside which its key lies."""
    certificate, key = folder / f"{name}.pem", folder / f"{name}.key"
    openssl(
        "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", "2",
        "-subj", f"/CN=Throw-away authority {name}", "-addext", "keyUsage=critical,keyCertSign",
        "-keyout", key, "-out", certificate,
    )  # fmt: skip
    return certificate


def certify(folder, authority_certificate):
    """Makes the relay's certificate for 127.0.0.1 and localhost, signed by the authority."""
    request, extensions = folder / "relay.csr", folder / "extensions"
    extensions.write_text("subjectAltName=IP:127.0.0.1,DNS:localhost\nextendedKeyUsage=serverAuth\n")
    openssl(
        "req", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-subj", "/CN=relay.example",
        "-keyout", folder / "relay.key", "-out", request,
    )  # fmt: skip
    openssl(
        "x509", "-req", "-in", request, "-CA", authority_certificate, "-CAkey", authority_certificate.with_suffix(".key"),
        "-set_serial", "1", "-days", "2", "-extfile", extensions, "-out", folder / "relay.pem",
    )  # fmt: skip


def openssl(*words):
    """Runs openssl, which must succeed."""
    done = subprocess.run(["openssl", *map(str, words)], capture_output=True, text=True)
    expect(done.returncode == 0, f"openssl {words[0]}: {done.stderr}")


def free_port():
    """A port of the loopback that nobody has just now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Relay:
    """A running relay; a context that ends it."""

    def __init__(self, folder, authority_certificate, offers_tls=True):
        """With TLS it takes letters only encrypted and signed in; without it takes all, so that nothing but the
        sender's own caution keeps a letter back."""
        expect(os.access(EXIM, os.X_OK), f"there is no {EXIM}: tests/support/tools installs it")
        self.folder = folder
        folder.mkdir()
        certify(folder, authority_certificate)
        self.port = free_port()
        runs_as = pwd.getpwnam("nobody") if os.geteuid() == 0 else pwd.getpwuid(os.geteuid())
        (folder / "exim.conf").write_text(
            CONFIGURATION.format(
                port=self.port, folder=folder, user=runs_as.pw_uid, group=runs_as.pw_gid, name=USER, password=PASSWORD,
                given_password=GIVEN_PASSWORD, given_sender=GIVEN_SENDER,
                offers_tls="*" if offers_tls else "", who_may_send="signed_in_over_tls" if offers_tls else "accept",
            )
        )  # fmt: skip
        self._start(runs_as)

    def _start(self, runs_as):
        # The installed file is one that runs as root whoever starts it; without new privileges it does not.
        as_user = ["--no-new-privs"]
        if os.geteuid() == 0:
            for path in (self.folder, *self.folder.iterdir()):
                shutil.chown(path, runs_as.pw_uid, runs_as.pw_gid)
            as_user += [f"--reuid={runs_as.pw_uid}", f"--regid={runs_as.pw_gid}", "--clear-groups"]
        command = tied(*as_user, EXIM, "-C", self.folder / "exim.conf", "-bdf")
        with (self.folder / "output.log").open("wb") as output:
            self.process = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=output, stderr=output)
        began = time.monotonic()
        while not self._answers():
            alive = self.process.poll() is None and time.monotonic() - began < PATIENCE
            expect(alive, f"the relay does not answer: {self.log()}")
            time.sleep(0.05)

    def _answers(self):
        try:
            with socket.create_connection(("127.0.0.1", self.port), timeout=5) as probe:
                return probe.recv(3) == b"220"
        except OSError:
            return False

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.process.terminate()
        self.process.wait(PATIENCE)

    def letters(self):
        """Every copy that was delivered, one for each recipient, parsed."""
        files = sorted((self.folder / "mail" / "new").glob("*"))
        return [email.message_from_bytes(file.read_bytes(), policy=email.policy.default) for file in files]

    def log(self):
        """What the relay says it did."""
        return "".join(file.read_text(errors="replace") for file in sorted(self.folder.glob("*log")))

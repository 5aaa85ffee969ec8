"""A mail relay (aiosmtpd) that goes wrong where it is told to, and remembers every letter it took."""

import asyncio
import email
import email.policy
import logging
import ssl

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult
from relay import PASSWORD, USER, certify, free_port

# What it has to say besides goes to nobody.
logging.getLogger("mail").setLevel(logging.CRITICAL)

DROP, HANG = "the connection dies", "nothing is said"
# The connection dies once the letter was taken, before the answer.
TAKE_AND_DROP = "taken, and the connection dies"


class Conversation(SMTP):
    """One connection. Before each answer the relay is asked whether something goes wrong there."""

    def __init__(self, relay, *words, **named):
        super().__init__(relay, *words, **named)
        self.relay, self.is_greeted = relay, False

    async def push(self, status):
        """The first thing said is the greeting."""
        if not self.is_greeted:
            self.is_greeted = True
            if await self.goes_wrong("greeting"):
                return
        await super().push(status)

    async def goes_wrong(self, stage, to=None):
        """Whether something does, and lets it happen."""
        self.relay.heard.append(stage)
        fault = self.relay.fault(stage, to)
        if fault is None:
            return False
        await self.let_happen(fault)
        return True

    async def let_happen(self, fault):
        if fault == DROP:
            self.transport.abort()
            raise ConnectionResetError(fault)
        if fault == HANG:
            await asyncio.sleep(3600)
        await super().push(fault)

    async def smtp_STARTTLS(self, arg):
        if not await self.goes_wrong("STARTTLS"):
            if self.relay.fault("handshake", None) == DROP:
                await super().push("220 go ahead")
                await self.let_happen(DROP)
            await super().smtp_STARTTLS(arg)

    async def smtp_AUTH(self, arg):
        if not await self.goes_wrong("AUTH"):
            await super().smtp_AUTH(arg)

    async def smtp_MAIL(self, arg):
        if not await self.goes_wrong("MAIL"):
            await super().smtp_MAIL(arg)

    async def smtp_RCPT(self, arg):
        to = arg.partition("<")[2].partition(">")[0]
        if not await self.goes_wrong("RCPT", to):
            await super().smtp_RCPT(arg)

    async def smtp_DATA(self, arg):
        if not await self.goes_wrong("DATA", self.envelope.rcpt_tos[0]):
            await super().smtp_DATA(arg)


class FaultyRelay(Controller):
    """A running relay; a context that ends it. `faults` gives for (stage, local part of the recipient), or for a stage
    alone, what goes wrong there; stages are greeting, STARTTLS, handshake, AUTH, MAIL, RCPT, DATA and dot."""

    def __init__(self, faults, folder=None, authority_certificate=None, port=None):
        """With a certificate it takes letters only over TLS and signed in. Any free port will do, if none is named."""
        self.faults, self.taken, self.letters, self.heard, self.is_healed = faults, [], [], [], False
        self.protection = {}
        if authority_certificate is not None:
            folder.mkdir()
            certify(folder, authority_certificate)
            context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
            context.load_cert_chain(folder / "relay.pem", folder / "relay.key")
            if self.offers_tls():
                self.protection = {"tls_context": context, "require_starttls": True}
            self.protection |= {"auth_required": True, "authenticator": self.knows}
        super().__init__(self, hostname="127.0.0.1", port=port or free_port(), server_hostname="relay.example")

    def offers_tls(self):
        """Whether it offers STARTTLS: not where somebody between has taken that out."""
        return self.faults.get("EHLO") != "STARTTLS stripped"

    def factory(self):
        return Conversation(self, hostname="relay.example", loop=self.loop, **self.protection)

    def __enter__(self):
        self.start()
        return self

    def __exit__(self, *_):
        self.stop()

    def heal(self):
        """Nothing goes wrong any more."""
        self.is_healed = True

    def fault(self, stage, to):
        """What goes wrong there, if anything does."""
        if self.is_healed:
            return None
        local_part = to.partition("@")[0] if to else None
        return self.faults.get((stage, local_part), self.faults.get(stage))

    @staticmethod
    def knows(_server, _session, _envelope, _mechanism, given):
        """Signs in who has the password."""
        known = (given.login.decode(), given.password.decode()) == (USER, PASSWORD)
        return AuthResult(success=known, handled=False)

    async def handle_DATA(self, server, _session, envelope):
        """The letter has come whole; whether it is taken is another question."""
        self.heard.append("dot")
        to = envelope.rcpt_tos[0]
        fault = self.fault("dot", to)
        if fault in (None, TAKE_AND_DROP):
            letter = email.message_from_bytes(envelope.content, policy=email.policy.default)
            self.taken.append((letter["Message-ID"].strip("<> "), to))
            self.letters.append((to, letter))
        if fault is None:
            return "250 2.0.0 taken"
        if fault in (DROP, TAKE_AND_DROP, HANG):
            await server.let_happen(HANG if fault == HANG else DROP)
        return fault

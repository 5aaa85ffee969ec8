"""A yard over the days: its people and vans, what its phones post on a day, and what is then yet to be told."""

import re
from contextlib import contextmanager
from datetime import timedelta
from time import monotonic

import sinks
import yard
from faulty_relay import FaultyRelay
from other_days import DatedProgram, closed_port, instant
from program import expect, wait_for
from relay import free_port

# The odometer of each van when the story begins, km.
BEFORE = 60_500
# A van as a letter names it, and what it says of the van: up to an empty line.
SECTION = re.compile(r"^(Van \d) \([^)]*\)\n((?:.+\n)+)", re.MULTILINE)


class Diary:
    """The yard, and the program that is started anew on each of its days."""

    def __init__(self, folder, begins_at):
        self.port = free_port()
        self.program = DatedProgram(
            folder, begins_at, store__address=f"sqlite:{folder / 'ostler.sqlite'}", mail__from=sinks.SENDER,
            mail__host="127.0.0.1", mail__port=self.port, mail__security="plain",
        )  # fmt: skip
        self.fleet, self.key = yard.found(self.program)
        # People and vans by their ids; the services recorded last, by van.
        self.people, self.vans, self.services = {}, {}, {}
        self.relays = []

    @contextmanager
    def day(self, day, time="10:00", relay=None, speed=1):
        """A day from a time on: the program is started, and stopped at the end. Without a relay nobody answers."""
        self.program.set_clock(instant(day, time), speed)
        log = self.program.folder / "serve.log"
        self.logged = log.stat().st_size if log.exists() else 0
        with relay or closed_port(self.port), self.program.serve() as self.server:
            self.began, self.began_at, self.speed = monotonic(), instant(day, time), speed
            self.web = yard.connect(self.server, self.fleet, self.key)
            try:
                yield
            finally:
                self.web.close()

    def now(self):
        """What the phones' clocks show; the program's may be a moment ahead, since it began first."""
        return self.began_at + timedelta(seconds=(monotonic() - self.began) * self.speed)

    def relay(self, faults=()):
        """A relay for one day."""
        self.relays.append(FaultyRelay(dict(faults), port=self.port))
        return self.relays[-1]

    def found(self, people, rules):
        """People by name, with what is said of each, and rulebooks of one rule each, by its code."""
        zone = "Europe/Dublin"
        self.depot = self.web.create("depots", {"name": "Ferry Lane", "zone": zone, "jurisdiction": "eu"})["id"]
        for name, more in people.items():
            person = {"name": name.title(), "email": f"{name}@ferry-lane.example", "zone": zone} | more
            self.people[self.web.create("people", person)["id"]] = name
        self.books = {}
        for code, rule in rules.items():
            book = {"title": rule["title"], "rules": [{"code": code} | rule]}
            self.books[code] = self.web.create("rulebooks", book)["id"]

    def van(self, label, rule, since):
        """A van with one rule, in service since a day, whose odometer is read."""
        new = {
            "label": label, "make": "Quenby", "model": "Packhorse 33", "powertrain": "diesel", "gross_mass_kg": 3300,
            "in_service_on": since, "in_service_odometer": {"value": yard.FIRST_ODOMETER, "unit": "km"},
            "odometer_unit": "km", "depot": self.depot, "duty": "delivery", "rulebook": self.books[rule],
            "placard": {"front": {"value": 340, "unit": "kPa"}, "rear": {"value": 400, "unit": "kPa"}},
        }  # fmt: skip
        self.vans[self.web.create("vehicles", new)["id"]] = label
        self.measure(label, odometer_km=BEFORE)

    def id_of(self, label):
        """The id of a van."""
        return next(id for id, of in self.vans.items() if of == label)

    def measure(self, label, grounds=False, findings=(), **measured):
        """A phone posts what was measured and found, by the clock of the day."""
        entry = yard.entry(self.id_of(label), at=self.now(), **measured) | {"findings": list(findings)}
        answer = self.web.call("POST", "inspection-batches", yard.batch([entry], at=self.now()))
        result = answer.json()["results"][0] if answer.status == 207 else None
        expect(result and result["outcome"] == "accepted", f"a good entry was answered {answer}")
        expect(result["do_not_drive"] == grounds, f"{label} must not be driven, or may: {answer}")

    def service(self, label, rule, odometer_km):
        """A service done on this day is recorded."""
        done = {"done_on": self.now().date().isoformat(), "odometer": {"value": odometer_km, "unit": "km"}, "rules": [rule]}
        self.services[label] = self.web.create(f"vehicles/{self.id_of(label)}/service-records", done)["id"]

    def withdraw_service(self, label):
        """It was recorded by mistake."""
        path = f"vehicles/{self.id_of(label)}/service-records/{self.services[label]}"
        tag = self.web.call("GET", path).headers["ETag"]
        answer = self.web.call("POST", f"{path}:withdraw", headers={"If-Match": tag})
        expect(answer.status == 204, f"a service can be withdrawn: {answer}")

    def close_finding(self, label):
        """What was found wrong with a van is mended."""
        (finding,) = self.web.all(f"findings?vehicle={self.id_of(label)}")
        closure = {"kind": "fixed", "reason": "Mended."}
        answer = self.web.call("POST", f"findings/{finding['id']}:close", closure)
        expect(answer.status == 200, f"a finding can be closed: {answer}")

    def notices(self, label):
        """Every notice about a van."""
        return [one for one in self.web.all("notices?limit=200") if one["vehicle"] == self.id_of(label)]

    def to_tell(self):
        """What is yet to be told: of which van, and to whom."""
        waiting = {}
        for one in self.web.all("notices?limit=200"):
            if one["state"] in ("waiting", "gathered"):
                waiting.setdefault(self.vans[one["vehicle"]], set()).add(self.people[one["person"]])
        return waiting

    def until_to_tell(self, wanted):
        """Waits until that is yet to be told; what a letter still carries that is no longer true falls out when it is its
        turn."""

        def waits():
            there = self.to_tell()
            return all(people <= there.get(van, set()) for van, people in wanted.items())

        wait_for(lambda: f"{self.now()}: to be told is {self.to_tell()}, not {wanted}", waits)

    def until_all_told(self):
        """Waits until nothing is yet to be told, and no letter under way."""
        wait_for(lambda: f"{self.now()}: to be told is {self.to_tell()}", lambda: not self.to_tell())
        wait_for("every letter sent", lambda: not self.letters("waiting", "retry"))

    def letters(self, *states):
        """Letters in these states."""
        return [one for one in self.web.all("letters?limit=200") if one["state"] in states]

    def log(self):
        """What the program has logged on this day."""
        return self.server.log.read_bytes()[self.logged:].decode(errors="replace")


def came(relay):
    """What a relay took: to whom, by the local part, and what it says of each van."""
    texts = [(to, letter.get_body(("plain",)).get_content().replace("\r\n", "\n")) for to, letter in relay.letters]
    return [(to.partition("@")[0], dict(SECTION.findall(text))) for to, text in sorted(texts)]

"""A small yard made from outside: a fleet and a key by the command line, the rest through the HTTP interface."""

import datetime
import uuid

from program import expect
from web import Web

UTC = datetime.timezone.utc
# Odometer of every vehicle on the day it came, km; readings of the checks lie above it.
FIRST_ODOMETER = 52_000


def now(at=None):
    """This instant, or another, as it stands in messages."""
    return (at or datetime.datetime.now(UTC)).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def day(days_ago):
    """A date so many days ago."""
    return (datetime.datetime.now(UTC).date() - datetime.timedelta(days=days_ago)).isoformat()


def found(program, name="Ferry Lane Carriers"):
    """Makes the store, a fleet and a key for everything; gives the fleet's id and the key."""
    program.run("migrate")
    fleet = program.run("fleet", name)
    key = program.run("key", "Outside check", "--scopes", "read,measure,manage,admin")
    return fleet, key


class Yard:
    """A fleet with one depot, its people and its vehicles."""

    def __init__(self, web):
        self.web = web
        self.depot = web.create(
            "depots", {"name": "Ferry Lane", "zone": "Europe/Dublin", "jurisdiction": "eu"}
        )["id"]
        self.people = {}
        self.vehicles = []

    def person(self, role, email):
        """Adds a person who gets letters."""
        new = {"role": role, "name": email.split("@")[0].title(), "email": email, "zone": "Europe/Dublin"}
        made = self.web.create("people", new)
        self.people[made["id"]] = email

    def vehicle(self, label, in_service_days_ago=420):
        """Adds a diesel van, whose first annual service is past when it came long ago."""
        rulebooks = {book["title"]: book["id"] for book in self.web.all("rulebooks")}
        expect("Diesel van" in rulebooks, f"a new fleet has the shipped rulebooks, not only {sorted(rulebooks)}")
        new = {
            "label": label,
            "make": "Quenby",
            "model": "Packhorse 33",
            "powertrain": "diesel",
            "gross_mass_kg": 3300,
            "in_service_on": day(in_service_days_ago),
            "in_service_odometer": {"value": FIRST_ODOMETER, "unit": "km"},
            "odometer_unit": "km",
            "placard": {"front": {"value": 340, "unit": "kPa"}, "rear": {"value": 400, "unit": "kPa"}},
            "depot": self.depot,
            "duty": "delivery",
            "rulebook": rulebooks["Diesel van"],
        }
        self.vehicles.append(self.web.create("vehicles", new)["id"])
        return self.vehicles[-1]


def entry(vehicle, tread_mm=None, odometer_km=None, at=None):
    """A technician's entry, of this instant or another: the tread of one tyre and the odometer, where they were read."""
    kept = {
        "entry_id": str(uuid.uuid4()),
        "vehicle": vehicle,
        "check_sheet": {"code": "wheels-and-brakes"},
        "performed_at": now(at),
        "measurements": [
            {"point": "tread-depth", "place": "front_left", "zone": zone, "value": tread_mm, "unit": "mm"}
            for zone in ("inner", "centre", "outer")
            if tread_mm is not None
        ],
    }
    return kept | ({"odometer": {"value": odometer_km, "unit": "km"}} if odometer_km else {})


def batch(entries, at=None):
    """A technician's batch, sent at this instant or another."""
    return {"batch_id": str(uuid.uuid4()), "device_id": "outside", "device_sent_at": now(at), "entries": entries}


def connect(server, fleet, key):
    """A connection to a serving program."""
    return Web(server.address(), key, fleet)

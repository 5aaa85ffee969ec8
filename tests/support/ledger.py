"""Posts to a server that is killed again and again, and keeps a ledger of its own of what was answered.

What is checked are the promises P2, P3 and P5 of the manual: an answered write survives the kill, an unanswered one can
be sent again with the same key and has its effect once, no notice and no letter is made twice.
"""

import collections
import random
import threading
import time
import uuid
from dataclasses import dataclass, field

import sinks
import yard
from program import expect, wait_for
from web import Unanswered

POSTERS = 2
# After so many rounds other vehicles are measured, since a log of thousands of readings is nobody's.
ROUNDS_OF_A_YARD = 50
STORED = ("accepted", "held", "duplicate")


@dataclass
class Request:
    """One request, kept until it is answered."""

    path: str
    body: dict
    vehicle: str
    key: str = field(default_factory=lambda: str(uuid.uuid4()))


class Ledger:
    """What the server answered; what it left unanswered."""

    def __init__(self):
        self.entries = {}  # entry id -> vehicle
        self.readings = {}  # reading id -> (vehicle, value in km)
        self.unanswered = []
        self.answers = 0
        self.put_off = 0
        self.repeated = 0
        self._guard = threading.Lock()

    def send(self, web, request):
        """Sends a request and writes down its answer, or keeps it for another time."""
        try:
            answer = web.call("POST", request.path, request.body, once=request.key)
        except Unanswered:
            with self._guard:
                self.unanswered.append(request)
            raise
        if answer.status == 503:
            # Not now, says the server, and nobody knows what came of it: as if it had not answered.
            with self._guard:
                self.put_off += 1
                self.unanswered.append(request)
            return
        with self._guard:
            self.answers += 1
            if request.path == "inspection-batches":
                self._note_batch(request, answer)
            else:
                expect(answer.status == 201, f"a reading was answered {answer}")
                self.readings[answer.json()["id"]] = (request.vehicle, request.body["value"]["value"])

    def _note_batch(self, request, answer):
        expect(answer.status == 207, f"a batch was answered {answer}")
        results = answer.json()["results"]
        sent = request.body["entries"]
        expect([r["entry_id"] for r in results] == [e["entry_id"] for e in sent], f"one result an entry: {results}")
        for result, entry in zip(results, sent):
            expect(result["outcome"] in STORED, f"a good entry was {result}")
            self.entries[entry["entry_id"]] = entry["vehicle"]

    def repeat_unanswered(self, web):
        """Sends again, with the same key, what the last kill left unanswered."""
        waiting, self.unanswered = self.unanswered, []
        for request in waiting:
            self.send(web, request)
            self.repeated += 1

    def repeat_until_answered(self, web):
        """The same, until the server has answered everything."""
        def all_answered():
            self.repeat_unanswered(web)
            return not self.unanswered
        wait_for(lambda: f"answers to {len(self.unanswered)} requests", all_answered)


class Odometer:
    """Gives every request a value of its own, so that a doubled effect shows."""

    def __init__(self):
        self.value = yard.FIRST_ODOMETER
        self._guard = threading.Lock()

    def next(self):
        """The next value, km; a tenth is as fine as odometers show."""
        with self._guard:
            self.value = round(self.value + 0.1, 1)
            return self.value


def next_request(chance, vehicles, odometer):
    """A batch for a few vehicles, or a single reading."""
    if chance.random() < 0.3:
        vehicle = chance.choice(vehicles)
        body = {"value": {"value": odometer.next(), "unit": "km"}, "read_at": yard.now(), "source": "driver"}
        return Request(f"vehicles/{vehicle}/odometer-readings", body, vehicle)
    some = chance.sample(vehicles, chance.randint(1, min(4, len(vehicles))))
    entries = [yard.entry(vehicle, chance.choice((1.2, 3.4, 6.1)), odometer.next()) for vehicle in some]
    return Request("inspection-batches", yard.batch(entries), some[0])


def post_until_killed(server, fleet, key, ledger, odometer, vehicles, chance):
    """Posts until the connection is cut."""
    web = yard.connect(server, fleet, key)
    try:
        while True:
            ledger.send(web, next_request(chance, vehicles, odometer))
            time.sleep(chance.uniform(0, 0.01))
    except Unanswered:
        web.close()


def one_round(server, fleet, key, ledger, odometer, vehicles, chance):
    """Posts from several sides for a while, then kills the server in the midst of it."""
    posters = []
    for _ in range(POSTERS):
        own = random.Random(chance.random())
        told = (server, fleet, key, ledger, odometer, vehicles, own)
        posters.append(threading.Thread(target=post_until_killed, args=told))
    for poster in posters:
        poster.start()
    time.sleep(chance.uniform(0.05, 0.6))
    expect(server.process.poll() is None, f"the server died by itself; its log:\n{server.tail()}")
    server.kill()
    for poster in posters:
        poster.join()


def check_all(web, ledger, vehicles):
    """Every answered entry and reading is there, and nothing is there twice."""
    entries, readings, values = {}, {}, collections.Counter()
    for vehicle in vehicles:
        entries |= {one["id"]: vehicle for one in web.all(f"vehicles/{vehicle}/inspections?limit=200")}
        log = web.all(f"vehicles/{vehicle}/odometer-readings?limit=200")
        readings |= {one["id"]: (vehicle, one["entered"]["value"]) for one in log}
        values.update(one["entered"]["value"] for one in log if one["entered"]["value"] > yard.FIRST_ODOMETER)
    for kept, there, what in ((ledger.entries, entries, "entries"), (ledger.readings, readings, "readings")):
        lost = [name for name, value in kept.items() if there.get(name) != value]
        expect(not lost, f"{len(lost)} of {len(kept)} answered {what} are lost: {lost[:5]}")
    twice = [value for value, count in values.items() if count > 1]
    expect(not twice, f"{len(twice)} readings were stored twice: {twice[:5]}")


def check_new(web, ledger, seen):
    """What was answered since the last look is there after the restart."""
    for name, vehicle in ledger.entries.items():
        if name not in seen:
            web.get(f"vehicles/{vehicle}/inspections/{name}")
            seen.add(name)
    for name, (vehicle, _) in ledger.readings.items():
        if name not in seen:
            web.get(f"vehicles/{vehicle}/odometer-readings/{name}")
            seen.add(name)


def check_told(web):
    """One notice for each vehicle, item, cycle, mark and person; gives how many."""
    parts = ("vehicle", "item", "cycle", "reminder", "person")
    notices = collections.Counter(tuple(one[part] for part in parts) for one in web.all("notices?limit=200"))
    expect(notices, "there are notices, since the vehicles' service is overdue and tyres are worn")
    twice = [notice for notice, count in notices.items() if count > 1]
    expect(not twice, f"told twice: {twice[:5]}")
    return len(notices)


def all_urgent_decided(web):
    """Whether somebody was told of what cannot wait, or a letter about it is made, and nothing of it waits any more."""
    urgent = [one for one in web.all("notices?limit=200") if one["reminder"] == "do_not_drive"]
    return urgent and all(one["state"] != "waiting" for one in urgent)


def furnish(made, number):
    """Eight vehicles more; the first time with people who get letters."""
    if not made.people:
        made.person("manager", "morag@ferry-lane.example")
        made.person("technician", "tavish@ferry-lane.example")
    return [made.vehicle(f"Van {number}.{one}") for one in range(1, 9)]


def kill_again_and_again(program, sink, uncertain, rounds, seed):
    """Does so many rounds with a fleet of its own. Letters end in `sink`; `uncertain` says how many attempts at each ended
    without an answer. Prints what was counted."""
    chance = random.Random(seed)
    fleet, key = yard.found(program)
    ledger, odometer, seen, vehicles, busy = Ledger(), Odometer(), set(), [], []
    for number in range(rounds):
        server = program.serve()
        web = yard.connect(server, fleet, key)
        if number % ROUNDS_OF_A_YARD == 0:
            made = made if vehicles else yard.Yard(web)
            made.web = web
            busy = furnish(made, number)
            vehicles += busy
        check_new(web, ledger, seen)
        ledger.repeat_unanswered(web)
        web.close()
        one_round(server, fleet, key, ledger, odometer, busy, chance)
    with program.serve() as server:
        web = yard.connect(server, fleet, key)
        ledger.repeat_until_answered(web)
        # Claims of killed schedulers run out after 15 s.
        wait_for("everything urgent decided", lambda: all_urgent_decided(web))
        check_all(web, ledger, vehicles)
        notices, letters = check_told(web), web.all("letters?limit=200")
    copies = sink.copies()
    twice = sinks.check_copies(copies, letters, uncertain())
    print(
        f"{rounds} kills (seed {seed}), {ledger.answers} answers, {ledger.repeated} requests cut off and sent again, "
        f"{len(ledger.entries)} entries and {len(ledger.readings)} readings answered and there, {notices} notices, "
        f"none doubled; {len(copies)} letters came, {twice} of them twice, each as uncertain"
    )

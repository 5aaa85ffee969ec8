"""Calls every operation of an OpenAPI document once as it is meant, with the document's own examples and ids that exist.

Lists are read first, to learn what there is; then things are made, changed, read, acted upon and taken away. What was
learned is a [`Known`], from which the fuzzing hooks take ids as well.
"""

import copy
import datetime
import json
import re
import uuid
from dataclasses import dataclass, field

METHODS = ("get", "post", "patch", "put", "delete")
# The id that stands for any id in examples.
ANY_ID = re.compile(r"^01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60$")
# Members of bodies whose ids are of something called otherwise in paths.
CALLED = {"service": "service_record", "depots": "depot"}
# Members of examples that must be new each time, or lie about now.
FRESH = {
    "entry_id": lambda _: str(uuid.uuid4()),
    "batch_id": lambda _: str(uuid.uuid4()),
    "label": lambda text: f"{text} {uuid.uuid4().hex[:6]}",
    "plate": lambda _: uuid.uuid4().hex[:8].upper(),
    "vin": lambda _: None,
    "device_sent_at": lambda _: moment(0),
    "performed_at": lambda _: moment(-1),
    "read_at": lambda _: moment(-1),
    "expires_at": lambda _: moment(300),
    "in_at": lambda _: moment(-1),
    "out_at": lambda _: moment(0),
    "replaced_at": lambda _: moment(-1),
    "email": lambda _: f"someone-{uuid.uuid4().hex[:6]}@fleet.example",
}


def moment(days):
    """An instant so many days from now."""
    at = datetime.datetime.now(datetime.timezone.utc) + datetime.timedelta(days=days)
    return at.isoformat(timespec="seconds").replace("+00:00", "Z")


def day(days):
    """A date so many days from now."""
    return moment(days)[:10]


def _fits_spare(body):
    return body | {"place": "spare", "from": day(0)}


def _without_proof(body):
    answers = [{"rule": one["rule"], "do_now": day(0)} for one in body["answers"]]
    return {"answers": answers}


def _of_real_vehicle(body, known):
    entries = [entry | {"vehicle": known.by_name["vehicle"][0]} for entry in body["entries"]]
    return body | {"entries": entries}


# Examples that cannot serve as they stand, since they depend on what is there.
RECIPES = {
    # A new component is fitted only where one is on record; a mistake can be owned up to anywhere.
    "answer_measurement": lambda body, _: body | {"answer": "mistaken"},
    "answer_baseline_check": lambda body, _: _without_proof(body),
    "change_vehicle": lambda body, _: body | {"from": day(0)},
    "create_access_key": lambda body, _: body | {"vehicle": None},
    "fit_component": lambda body, _: _fits_spare(body),
    "remove_component": lambda body, _: body | {"to": day(0)},
    "retire_vehicle": lambda body, _: body | {"on": day(0)},
    "send_inspection_batch": _of_real_vehicle,
}


@dataclass(frozen=True)
class Operation:
    """One operation of the document."""

    name: str
    method: str
    path: str
    body: dict | None
    media: str | None
    headers: tuple

    @property
    def resource(self):
        """The template of what it is about."""
        return resource_of(self.path)

    @property
    def rank(self):
        """Things are made before they are read, and taken away last."""
        if self.method == "delete" or re.search(r":(withdraw|retire|remove|close)$", self.path):
            return 4
        if self.method == "get":
            return 2
        return 1 if self.method in ("post", "put") and ":" not in self.path else 3


def resource_of(path):
    """The template of what an operation at this path is about: the path up to its last id."""
    return re.match(r".*\}|[^{]*", path).group(0)


def operations(document):
    """Every operation of a document."""
    for path, item in document["paths"].items():
        for method in METHODS:
            if method in item:
                said = item[method]
                content = said.get("requestBody", {}).get("content", {})
                media = next(iter(content), None)
                headers = tuple(p["name"] for p in said.get("parameters", []) if p["in"] == "header" and p["required"])
                example = content[media].get("example") if media else None
                yield Operation(said["operationId"], method, path, example, media, headers)


@dataclass
class Known:
    """What there is: for each template of a resource, the ids that go together; for each name, its ids."""

    together: dict = field(default_factory=dict)
    by_name: dict = field(default_factory=dict)
    # A bare word, such as `vehicles`, for the name of an id below it, such as `vehicle`.
    names: dict = field(default_factory=dict)

    @classmethod
    def of(cls, document, fleet):
        """Knows the fleet, and how things are called."""
        known = cls()
        for path in document["paths"]:
            known.names |= {word: name for word, name in re.findall(r"/([a-z-]+)/\{(\w+)\}", path)}
        known.learn("/v1/fleets/{fleet}", {"fleet": fleet})
        return known

    def learn(self, template, ids):
        """Takes note of a resource."""
        there = self.together.setdefault(template, [])
        if ids not in there:
            there.append(ids)
        name = re.findall(r"\{(\w+)\}", template)[-1]
        values = self.by_name.setdefault(name, [])
        if ids[name] not in values:
            values.append(ids[name])

    def learn_items(self, path, ids, items):
        """Takes note of what a list, or the answer to a creation, says."""
        name = self.names.get(path.rsplit("/", 1)[-1])
        for item in items:
            own = item.get("id") or item.get("code") or item.get("batch_id") if isinstance(item, dict) else None
            if name and isinstance(own, str):
                self.learn(f"{path}/{{{name}}}", ids | {name: own})

    def learn_measurements(self, ids, said):
        """Takes note of what was measured on vehicles, which no list of its own shows: a batch's results tell."""
        template = "/v1/fleets/{fleet}/vehicles/{vehicle}/measurements/{measurement}"
        for result in said.get("results", []):
            for graded in result["grades"]:
                self.learn(template, ids | {"vehicle": result["vehicle"], "measurement": graded["measurement"]})

    def bindings(self, template):
        """Ids for the parameters of a template, newest first; `None` if something is not known."""
        wanted = re.findall(r"\{(\w+)\}", template)
        if not wanted:
            return [{}]
        if template in self.together:
            return self.together[template][::-1]
        if all(self.by_name.get(name) for name in wanted):
            return [{name: self.by_name[name][-1] for name in wanted}]
        return []

    def real(self, body, member=""):
        """An example with ids that exist, and with what must be new made anew."""
        if isinstance(body, dict):
            return {name: self.real(value, name) for name, value in body.items()}
        if isinstance(body, list):
            return [self.real(value, member) for value in body]
        if member in FRESH and body is not None:
            return FRESH[member](body)
        if isinstance(body, str) and ANY_ID.match(body):
            ids = self.by_name.get(CALLED.get(member, member))
            return ids[-1] if ids else None
        return body


class Visitor:
    """Calls operations through a connection that bears every scope; shows each answer to `note`."""

    def __init__(self, document, web, fleet, note):
        self.operations = sorted(operations(document), key=lambda one: one.rank)
        self.known = Known.of(document, fleet)
        self.web = web
        self.note = note
        self.refused = {}

    def visit_all(self):
        """Calls each operation until it is done once."""
        self.learn_lists()
        for operation in self.operations:
            self.visit(operation, RECIPES.get(operation.name))

    def learn_lists(self):
        """Reads every list, those below others after them."""
        lists = [one for one in self.operations if one.method == "get" and one.path.rsplit("/", 1)[-1] in self.known.names]
        for operation in sorted(lists, key=lambda one: one.path.count("{")):
            for ids in self.known.bindings(operation.resource):
                self.call(operation, ids)

    def visit(self, operation, recipe=None, attempts=40):
        """Tries one resource after another until the operation is done."""
        for ids in self.known.bindings(operation.resource)[:attempts]:
            body = self.known.real(copy.deepcopy(operation.body))
            if recipe:
                body = recipe(body, self.known)
            answer = self.call(operation, ids, body)
            if answer.status < 300:
                return
            self.refused[operation.name] = str(answer)

    def call(self, operation, ids, body=None):
        """Calls an operation, notes its status and learns from its answer."""
        path = operation.path.format(**ids)
        headers = {"Content-Type": operation.media} if operation.media else {}
        if "If-Match" in operation.headers:
            headers["If-Match"] = self.web.call("GET", path.partition(":")[0]).headers["ETag"] or '"0"'
        answer = self.web.call(operation.method.upper(), path, body if operation.media else None, headers)
        self.note(operation, answer)
        if answer.status in (200, 201, 207) and answer.body:
            said = answer.json()
            self.known.learn_measurements(ids, said)
            made = [said, *(value for value in said.values() if isinstance(value, dict))]
            self.known.learn_items(operation.path, ids, said.get("items", made))
        return answer


def keep(known, path):
    """Writes what is known to a file."""
    path.write_text(json.dumps(known.__dict__))


def kept(path):
    """Reads it back."""
    return Known(**json.loads(path.read_text()))

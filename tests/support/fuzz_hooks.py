"""Hooks of schemathesis: ids that exist in most cases, keys and versions as they must be, and a note of every answer.

Without them nearly every made-up request would end at a 404, a missing key or a stale version, before the code behind.
"""

import json
import os
import re
import sys
import urllib.error
import urllib.request
import uuid
import zlib
from pathlib import Path

import schemathesis

sys.path.insert(0, str(Path(__file__).resolve().parent))
import visits

KNOWN = visits.kept(Path(os.environ["FUZZ_KNOWN"]))
KEY = os.environ["FUZZ_KEY"]
NOTES = Path(os.environ["FUZZ_NOTES"]).open("a", buffering=1)
UUID = re.compile(r"^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$")


def number_of(data):
    """A number that follows from the data alone: the same data is always treated alike."""
    return zlib.crc32(repr(data).encode())


@schemathesis.hook
def before_call(context, case, kwargs):
    """Seven times in eight ids that exist, in path and body, and headers as they must be; else all as made up."""
    number = number_of((case.operation.path, case.path_parameters, case.query, case.body))
    if number % 8 and case.path_parameters:
        case.path_parameters |= ids_for(case, number // 8)
    if number // 64 % 8 and isinstance(case.body, dict):
        case.body = with_ids(case.body, number // 512)
    if number // 8 % 8:
        with_headers(case)


def ids_for(case, number):
    """Ids that go together; in a story of requests those of the story, so that only the fleet is given."""
    bindings = KNOWN.bindings(visits.resource_of(case.operation.path))
    if not bindings:
        return {}
    ids = bindings[number % len(bindings)]
    in_story = case.meta is not None and case.meta.phase.name == "stateful"
    return {"fleet": ids["fleet"]} if in_story else ids


def with_ids(body, number, member=""):
    """The body with an id that exists wherever an id of a known name stands, and with the vehicle of an entry."""
    if isinstance(body, dict):
        return {name: with_ids(value, number, name) for name, value in body.items()}
    if isinstance(body, list):
        return [with_ids(value, number, member) for value in body]
    ids = KNOWN.by_name.get(visits.CALLED.get(member, member))
    if ids and isinstance(body, str) and (UUID.match(body) or member == "vehicle"):
        return ids[number % len(ids)]
    return body


def with_headers(case):
    """Gives the case a key not used before and the version that is there now, where it has such headers."""
    if "Idempotency-Key" in case.headers:
        case.headers["Idempotency-Key"] = str(uuid.uuid4())
    if "If-Match" in case.headers and (tag := tag_of(case)):
        case.headers["If-Match"] = tag


def tag_of(case):
    """The `ETag` of what the case is about, if it can be read."""
    url = case.operation.base_url.rstrip("/") + case.formatted_path.partition(":")[0]
    try:
        request = urllib.request.Request(url, headers={"Authorization": f"Bearer {KEY}"})
        with urllib.request.urlopen(request, timeout=30) as answer:
            return answer.headers["ETag"]
    except (urllib.error.HTTPError, ValueError):
        return None


@schemathesis.hook
def after_call(context, case, response):
    """Notes which operation got which status."""
    name = case.operation.definition.raw["operationId"]
    NOTES.write(json.dumps([name, response.status_code]) + "\n")

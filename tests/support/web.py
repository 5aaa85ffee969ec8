"""Requests to the HTTP interface, with nothing but Python's own library."""

import http.client
import json
import uuid
from urllib.parse import urlsplit


class Answer:
    """What came back."""

    def __init__(self, status, headers, body):
        self.status = status
        self.headers = headers
        self.body = body

    def json(self):
        """The body read as JSON."""
        return json.loads(self.body)

    def __str__(self):
        return f"{self.status}: {self.body.decode(errors='replace')[:2000]}"


class Unanswered(Exception):
    """The request may or may not have been done: no whole answer came."""


class Web:
    """One connection to the server with one access key."""

    def __init__(self, address, key, fleet):
        self.host = urlsplit(address).netloc
        self.key = key
        self.fleet = fleet
        self.connection = None

    def call(self, method, path, body=None, headers=None, once=None):
        """Asks; `path` is below the fleet unless it begins with a slash. `once` is the Idempotency-Key."""
        if not path.startswith("/"):
            path = f"/v1/fleets/{self.fleet}/{path}"
        send = {"Authorization": f"Bearer {self.key}"} | (headers or {})
        if method == "POST":
            send.setdefault("Idempotency-Key", once or str(uuid.uuid4()))
        if body is not None:
            merge = method == "PATCH"
            send.setdefault("Content-Type", "application/merge-patch+json" if merge else "application/json")
            body = body if isinstance(body, bytes) else json.dumps(body).encode()
        try:
            return self._call(method, path, body, send)
        except (OSError, http.client.HTTPException) as cut:
            self.close()
            raise Unanswered(f"{method} {path}: {cut!r}") from cut

    def _call(self, method, path, body, headers):
        if self.connection is None:
            self.connection = http.client.HTTPConnection(self.host, timeout=30)
        self.connection.request(method, path, body, headers)
        answer = self.connection.getresponse()
        return Answer(answer.status, answer.headers, answer.read())

    def close(self):
        """Drops the connection."""
        if self.connection is not None:
            self.connection.close()
            self.connection = None

    def get(self, path):
        """Reads a resource that must be there."""
        return self._wanted(200, "GET", path)

    def create(self, path, body):
        """Makes something, which must succeed."""
        return self._wanted(201, "POST", path, body)

    def all(self, path):
        """Every item of a list, page after page."""
        items, cursor = [], None
        while True:
            joint = "&" if "?" in path else "?"
            page = self.get(path if cursor is None else f"{path}{joint}cursor={cursor}")
            items += page["items"]
            cursor = page["next_cursor"]
            if cursor is None:
                return items

    def _wanted(self, status, method, path, body=None):
        answer = self.call(method, path, body)
        if answer.status != status:
            raise SystemExit(f"FAILED: {method} {path} answered {answer}")
        return answer.json()

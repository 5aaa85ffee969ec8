"""Cron expressions in UTC, against croniter.

    cargo build -p model --example civil_times
    .venv/bin/python tests/oracles/cron_croniter.py target/debug/examples/civil_times

3,000 made-up expressions (the same each time), the next five instants of each. A day field that begins with `*` restricts
nothing, as crontab(5) has it; croniter calls that `implement_cron_bug`. A list that happens to
name every day is left out: croniter takes it for a `*`, crontab(5) does not. Ends with 1 and the first differences if there are any.
"""

import datetime
import random
import subprocess
import sys
from importlib.metadata import version

from croniter import croniter

NAMES = {
    3: "jan feb mar apr may jun jul aug sep oct nov dec".split(),
    4: "sun mon tue wed thu fri sat".split(),
}
RANGES = [(0, 59), (0, 23), (1, 28), (1, 12), (0, 6)]


def number(dice, field, value):
    least = RANGES[field][0]
    return dice.choice([str(value), NAMES[field][value - least]]) if field in NAMES else str(value)


def part(dice, field):
    least, most = RANGES[field]
    first, last = sorted((dice.randint(least, most), dice.randint(least, most)))
    kind = dice.randrange(4)
    if kind == 0:
        return number(dice, field, first)
    if kind == 1 and first < last:
        return f"{number(dice, field, first)}-{number(dice, field, last)}"
    if kind == 2 and first < last:
        return f"{first}-{last}/{dice.randint(1, 7)}"
    return f"*/{dice.randint(2, 7)}"


def expression(dice):
    fields = []
    for field in range(5):
        count = dice.choice([0, 1, 1, 2, 3])
        fields.append(",".join(part(dice, field) for _ in range(count)) or "*")
    return " ".join(fields)


def names_all(text):
    """Whether a day field lists every day without saying `*`."""
    expanded, _ = croniter.expand(text)
    return any(expanded[field] == ["*"] and not text.split()[field].startswith("*") for field in (2, 4))


dice = random.Random(2026)
cases = []
while len(cases) < 3000:
    start = datetime.datetime(2026, 1, 1) + datetime.timedelta(minutes=dice.randrange(3 * 525_600))
    text = expression(dice)
    if not names_all(text):
        cases.append((text, start))
asked = "".join(f"{text}|{start.isoformat()}Z\n" for text, start in cases)
answer = subprocess.run([sys.argv[1], "cron"], input=asked, capture_output=True, text=True, check=True).stdout
lines = answer.splitlines()
if len(lines) != len(cases):
    sys.exit(f"{len(lines)} answers to {len(cases)} expressions")
differences = []
for (text, start), found in zip(cases, lines):
    other = croniter(text, start, implement_cron_bug=True)
    expected = " ".join(other.get_next(datetime.datetime).isoformat() + "Z" for _ in range(5))
    if expected != found:
        differences.append(f"{text} after {start}: {found}, by croniter {expected}")
if differences:
    sys.exit("\n".join([f"{len(differences)} differences", *differences[:20]]))
print(f"{len(cases)} expressions, {5 * len(cases)} instants, 0 differences from croniter {version('croniter')}")

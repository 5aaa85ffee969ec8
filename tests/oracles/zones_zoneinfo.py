"""R3: days and times of day in every zone, against Python's zoneinfo with the same release of the time zone tables.

    cargo build -p model --example civil_times
    .venv/bin/python tests/oracles/zones_zoneinfo.py target/debug/examples/civil_times

For every zone and every day of 2020 to 2040: when the day starts, when 00:30, 01:30, 02:15, 02:30, 12:00 and 23:30 are (in a
gap the first instant after it, in a fold the first pass), and when a job at 02:30 every day runs, which must be once a civil
day. The tables are those of the `tzdata` package, never the machine's. Ends with 1 and the first differences if there are any.
"""

import datetime
import subprocess
import sys
import zoneinfo

import tzdata

UTC = datetime.timezone.utc
DAY = datetime.timedelta(days=1)
MINUTE = datetime.timedelta(minutes=1)
FIRST, LAST = datetime.date(2020, 1, 1), datetime.date(2040, 12, 31)
DAYS = [FIRST + n * DAY for n in range((LAST - FIRST).days + 1)]
TIMES = {
    "day_start": datetime.time(0, 0),
    **{f"{hour:02}:{minute:02}": datetime.time(hour, minute)
       for hour, minute in [(0, 30), (1, 30), (2, 15), (2, 30), (12, 0), (23, 30)]},
    "job": datetime.time(2, 30),
}  # fmt: skip


def instant(civil, zone):
    """The first instant at which the clocks show `civil`, else the first after the gap that it falls in."""
    while True:
        at = civil.replace(tzinfo=zone, fold=0).astimezone(UTC)
        if at.astimezone(zone).replace(tzinfo=None, fold=0) == civil:
            return at
        civil += MINUTE


def quiet_days(zone):
    """The offset of each day around which the clocks do not change, `None` of the others."""
    noon = datetime.time(12, 0)
    offsets = [datetime.datetime.combine(day, noon, zone).utcoffset() for day in [FIRST - DAY, *DAYS, LAST + DAY]]
    triples = zip(offsets, offsets[1:], offsets[2:])
    return [now if before == now == after else None for before, now, after in triples]


def expected(name):
    """The lines of one zone: each day on which a time lies otherwise from UTC than on the day before."""
    zone = zoneinfo.ZoneInfo(name)
    quiet = quiet_days(zone)
    for what, time in TIMES.items():
        before = None
        for day, offset in zip(DAYS, quiet):
            if offset is not None:
                seconds = -int(offset.total_seconds())
            else:
                civil = datetime.datetime.combine(day, time)
                seconds = int((instant(civil, zone) - civil.replace(tzinfo=UTC)).total_seconds())
            if seconds != before:
                yield f"{what} {day} {seconds}"
                before = seconds


zoneinfo.reset_tzpath(to=[])
table = subprocess.run([sys.argv[1], "zones"], capture_output=True, text=True, check=True).stdout
release, *parts = table.split("zone ")
if release.split() != ["release", tzdata.IANA_VERSION]:
    sys.exit(f"{release.strip()}, but the tables here are {tzdata.IANA_VERSION}: pin the tzdata package to the same")
differences, changes = [], 0
for part in parts:
    name, *found = part.splitlines()
    wanted = list(expected(name))
    changes += sum(line.startswith("12:00") for line in wanted) - 1
    if found != wanted:
        differences += [f"{name}: {line}" for line in sorted(set(found) ^ set(wanted))] or [f"{name}: order"]
if len(parts) < 400 or changes < 1000:
    sys.exit(f"{len(parts)} zones with {changes} changes of clocks are too few")
if differences:
    sys.exit("\n".join([f"{len(differences)} differences", *differences[:20]]))
print(f"{len(parts)} zones, {changes} changes of clocks, {len(DAYS)} days, {len(TIMES)} times a day: 0 differences from "
      f"zoneinfo with tzdata {tzdata.IANA_VERSION}")  # fmt: skip

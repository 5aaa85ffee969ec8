"""Months added to a day, against python-dateutil's relativedelta.

    cargo build -p model --example civil_times
    .venv/bin/python tests/oracles/months_dateutil.py target/debug/examples/civil_times

Each day of 2023 and 2024 plus 0 to 400 months, each sum counted from the day itself. Ends with 1 and the first differences
if there are any.
"""

import datetime
import subprocess
import sys
from importlib.metadata import version

from dateutil.relativedelta import relativedelta

table = subprocess.run([sys.argv[1], "months"], capture_output=True, text=True, check=True).stdout
rows = [line.split() for line in table.splitlines()]
differences = []
for day, months, found in rows:
    expected = datetime.date.fromisoformat(day) + relativedelta(months=int(months))
    if expected.isoformat() != found:
        differences.append(f"{day} and {months} months: {found}, by dateutil {expected}")
if len(rows) != 731 * 401:
    sys.exit(f"{len(rows)} sums, not {731 * 401}")
if differences:
    sys.exit("\n".join([f"{len(differences)} differences", *differences[:20]]))
print(f"{len(rows)} sums of days and months, 0 differences from dateutil {version('python-dateutil')}")

"""Freeze points of coolants against CoolProp, and sealed tyres against the gas law written out again.

    cargo build -p gauge --example physical_tables
    .venv/bin/python tests/oracles/coolant_coolprop.py target/debug/examples/physical_tables

AEG and APG are by volume, MEG and MPG by mass; each refuses the other basis. Two kelvins are allowed by volume, one and a
half by mass. Ends with 1 and the first differences if there are any.
"""

import subprocess
import sys
from importlib.metadata import version

from CoolProp.CoolProp import PropsSI

FLUIDS = {
    ("ethylene", "volume"): ("AEG", 2.0),
    ("ethylene", "mass"): ("MEG", 1.5),
    ("propylene", "volume"): ("APG", 2.0),
    ("propylene", "mass"): ("MPG", 1.5),
}
ATMOSPHERE = 101.325


def table(name):
    """The rows of one table, as words."""
    text = subprocess.run([sys.argv[1], name], capture_output=True, text=True, check=True).stdout
    return [line.split() for line in text.splitlines()]


def freezing():
    """Rows compared, the largest difference in kelvins, and those too large."""
    worst, far = 0.0, []
    rows = table("freezing")
    for glycol, basis, percent, kelvin in rows:
        fluid, allowed = FLUIDS[glycol, basis]
        if float(percent) == 0:
            continue
        found = PropsSI("T_FREEZE", "T", 300, "P", 101325, f"INCOMP::{fluid}[{float(percent) / 100}]")
        difference = abs(found - float(kelvin))
        worst = max(worst, difference)
        if difference > allowed:
            far.append(f"{percent} % {glycol} by {basis}: {kelvin} K, by CoolProp {found}")
    return len(rows), worst, far


def pressures():
    """The same of tyres, in kilopascals; 0.001 psi is 0.0069 kPa."""
    worst, far = 0.0, []
    rows = table("pressures")
    for kpa, from_kelvin, to_kelvin, shown in rows:
        expected = (float(kpa) + ATMOSPHERE) * float(to_kelvin) / float(from_kelvin) - ATMOSPHERE
        difference = abs(expected - float(shown))
        worst = max(worst, difference)
        if difference > 0.0069:
            far.append(f"{kpa} kPa from {from_kelvin} to {to_kelvin} K: {shown}, not {expected}")
    return len(rows), worst, far


(points, kelvins, cold), (tyres, kilopascals, soft) = freezing(), pressures()
if points < 400 or tyres != 44:
    sys.exit(f"{points} freeze points and {tyres} tyres: a table is short")
if cold or soft:
    sys.exit("\n".join([f"{len(cold) + len(soft)} differences", *(cold + soft)[:20]]))
print(f"{points} freeze points within {kelvins:.3f} K of CoolProp {version('CoolProp')}; {tyres} tyres within {kilopascals:.6f} kPa")

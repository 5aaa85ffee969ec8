"""Reference values for the days on which wear limits are met (crates/forecast, crates/engine), computed independently.

    python3 -m venv .venv && .venv/bin/pip install -r tests/oracles/requirements.txt
    .venv/bin/python tests/oracles/wear_dates.py [FOLDER]

writes one file into crates/forecast/tests, or into FOLDER. The same library versions give the same file.

The posterior of (d0, c) is found by numpy.linalg.lstsq with the prior as rows, the chance that the limit is met before an
expected wear z by scipy.stats.norm, distances by brentq of that, the days by brentq of the mean of scipy.stats.betaprime.sf
over the distances at 1/18, 3/18 ... 17/18.
"""

import csv
import pathlib
import sys

import numpy
import scipy
from scipy.optimize import brentq
from scipy.stats import betaprime, norm

from wear_capacity import OUT, posterior

BAND = [0.1, 0.5, 0.9]
MIDDLES = [part / 18.0 for part in range(1, 18, 2)]
# Those of the world in the engine's test: eleven gaps of nine days at 100 km a day.
GAPS = [(9.0, 900.0)] * 11
HALF_LIFE = 120.0


def usage(a, p, q, gaps, kappa):
    """a', P and Q with fading: the mean weight of each gap by numerical integration of 2^(-age/half-life)."""
    days = km = age = 0.0
    for length, driven in reversed(gaps):
        weight = scipy.integrate.quad(lambda t: 2.0 ** (-t / HALF_LIFE), age, age + length, epsabs=1e-13)[0] / length
        days, km, age = days + weight * length, km + weight * driven, age + length
    return a / kappa, p + a / kappa * days, kappa * q + km


def nine_digits(value):
    """The program rounds parameters so before it forecasts from them."""
    return float(f"{value:.8e}")


def row(name, start, tau, sd, limit, readings, wear_now, mm_per_km, of_usage):
    mean, covariance = posterior(start, [z for z, _ in readings], [d for _, d in readings], tau, sd)

    def met_by(z):
        vector = numpy.array([1.0, -z])
        return norm.cdf((limit - vector @ mean) / (vector @ covariance @ vector) ** 0.5)

    def km_at(quantile):
        z = brentq(lambda z: met_by(z) - quantile, 0.01, 500.0, xtol=1e-12)
        return (z - wear_now) / mm_per_km

    nine = numpy.array([km_at(quantile) for quantile in MIDDLES])
    a, shape, scale = map(nine_digits, of_usage)

    def reached(days):
        return numpy.mean(betaprime.sf(nine / scale, a * days, shape))

    days = [brentq(lambda days, q=quantile: reached(days) - q, 1e-3, 1e5, xtol=1e-9) for quantile in BAND]
    told = ";".join(f"{z!r}:{d!r}" for z, d in readings)
    start = "" if start is None else start
    return [name, start, tau, sd, limit, told, wear_now, mm_per_km, a, shape, scale, *map(km_at, BAND), *days]


def rows():
    # Of a cohort that back-tests have not measured: 1.5 times as wide as computed.
    driving = usage(1.0, 6.0, 400.0, GAPS, 1.5)
    # 100 km a day in front from new: measured after 4,500 and 9,900 km.
    yield row(
        "front_then_measured", 8.0, 0.3, 0.2, 2.3875, [(0.72, 7.1), (1.584, 6.0)], 1.584, 1.6e-4, driving
    )  # fmt: skip
    random = numpy.random.default_rng(6)
    for number in range(24):
        count = int(random.integers(2, 6))
        start = 8.0 if number % 2 == 0 else None
        tau, sd = float(random.choice([0.1, 0.2, 0.3])), float(random.choice([0.2, 0.3]))
        wear = numpy.sort(random.uniform(0.0, 4.0, count)).round(3).tolist()
        depth = [round(8.0 - random.normal(1.0, tau) * z + random.normal(0.0, sd), 2) for z in wear]
        b = float(random.choice([1.6e-4, 0.9e-4]))
        of_usage = float(random.uniform(0.3, 3.0)), float(random.uniform(6.0, 150.0)), float(random.uniform(400.0, 2e4))
        yield row(f"any_{number}", start, tau, sd, 2.4, list(zip(wear, depth)), wear[-1], b, of_usage)


def main():
    out = pathlib.Path(sys.argv[1]) if len(sys.argv) > 1 else OUT
    columns = ["name", "start", "tau", "gauge_sd", "limit", "readings", "wear_now", "mm_per_km", "a", "shape", "scale"]
    columns += [f"{kind}_{which}" for kind in ("km", "days") for which in ("early", "likely", "late")]
    with open(out / "wear_dates.csv", "w", newline="") as file:
        file.write(f"# scipy {scipy.__version__}, numpy {numpy.__version__}; invented, numpy.random.default_rng(6); ")
        file.write("numpy.linalg.lstsq, brentq of norm.cdf, brentq of the mean of betaprime.sf over nine distances\n")
        file.write("# Written by tests/oracles/wear_dates.py; do not edit.\n")
        table = csv.writer(file, lineterminator="\n")
        table.writerow(columns)
        for one in rows():
            table.writerow([repr(float(cell)) if isinstance(cell, float) else cell for cell in one])


if __name__ == "__main__":
    main()

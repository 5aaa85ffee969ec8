"""Reference values for the usage forecast (crates/forecast), computed independently of the program.

    python3 -m venv .venv && .venv/bin/pip install -r tests/oracles/requirements.txt
    .venv/bin/python tests/oracles/usage_betaprime.py [FOLDER]

writes four files into crates/forecast/tests, or into FOLDER. The same library versions give the same files.

Every probability is taken from scipy.stats.betaprime and compared with 30-digit quadrature of the same density by mpmath
(`exact_sf`); where the two differ by more than 1e-11, mpmath's value is written and the row is marked `mpmath`.
"""

import csv
import math
import pathlib
import sys

import mpmath
import numpy
import scipy
from scipy.optimize import bisect, brentq
from scipy.stats import betaprime

OUT = pathlib.Path(__file__).resolve().parents[2] / "crates" / "forecast" / "tests"
VERSIONS = f"scipy {scipy.__version__}, numpy {numpy.__version__}, mpmath {mpmath.__version__}"
MOST_DAYS = 3650.0


def exact_sf(ratio, first, second):
    """P(BetaPrime(first, second) >= ratio), by quadrature of the density of ln(X/Q) in 30 digits."""
    with mpmath.workdps(30):
        ratio, first, second = mpmath.mpf(ratio), mpmath.mpf(first), mpmath.mpf(second)
        log_beta = mpmath.loggamma(first) + mpmath.loggamma(second) - mpmath.loggamma(first + second)

        def density(u):
            return mpmath.exp(first * u - (first + second) * mpmath.log1p(mpmath.exp(u)) - log_beta)

        mode = mpmath.log(first / second)
        width = mpmath.sqrt(1 / first + 1 / second)
        start = mpmath.log(ratio)
        # The side of the mode away from which less is left is integrated; the other is its complement.
        upwards = start > mode
        sign = 1 if upwards else -1
        decay = second if upwards else first
        reach = max(16 * width, 45 / decay * mpmath.mpf(1.2), 45 * width * width)
        points = [start + sign * reach * k / 12 for k in range(13)]
        points.append(points[-1] + sign * 60 / decay)
        tail = mpmath.quad(density, points if upwards else points[::-1])
        return float(tail if upwards else 1 - tail)


def probability(ratio, first, second):
    """The value to be written, and which library it is from."""
    by_scipy = float(betaprime.sf(ratio, first, second))
    by_mpmath = exact_sf(ratio, first, second)
    if abs(by_scipy - by_mpmath) > 1e-11:
        print(f"scipy {by_scipy!r} mpmath {by_mpmath!r} at ratio {ratio}, shapes {first}, {second}")
        return by_mpmath, "mpmath"
    return by_scipy, "scipy"


def posterior(a, p, q, kappa, half_life, gaps):
    """a', P, Q as the design writes them: omega by powers of two, sums over t_j."""
    times = numpy.concatenate([[0.0], numpy.cumsum([days for days, _ in gaps])])
    shape, scale = p, kappa * q
    for (days, km), begin, end in zip(gaps, times[:-1], times[1:]):
        omega = 1.0
        if half_life is not None:
            omega = (half_life / (math.log(2) * days)) * (
                2.0 ** (-(times[-1] - end) / half_life) - 2.0 ** (-(times[-1] - begin) / half_life)
            )
        shape += a / kappa * omega * days
        scale += omega * km
    return a / kappa, shape, scale


def written(gaps):
    return ";".join(f"{days!r}:{km!r}" for days, km in gaps)


def random_gaps(random, count, daily_km, longest):
    gaps = []
    for _ in range(count):
        days = round(float(random.uniform(0.5, longest)), 2)
        gaps.append((days, round(float(random.gamma(0.8 * days, daily_km / 0.8)), 1)))
    return gaps


def states():
    """Vehicles: direct posteriors over the whole range in use, then posteriors from readings."""
    for a in [0.02, 0.3, 1.0, 5.0, 20.0, 40.0]:
        for p, q in [(2.05, 90.0), (6.0, 400.0), (60.0, 4800.0), (800.0, 70000.0), (6000.0, 480000.0)]:
            yield a, p, q, 1.0, None, []
    random = numpy.random.default_rng(20270301)
    for count, daily_km, longest in [(1, 70.0, 30.0), (3, 140.0, 9.0), (12, 95.0, 20.0), (60, 210.0, 14.0)]:
        gaps = random_gaps(random, count, daily_km, longest)
        for half_life in [None, 120.0, 30.0]:
            for kappa in {None: [1.0, 6.0], 120.0: [1.0, 0.5, 1.5, 20.0], 30.0: [1.0]}[half_life]:
                yield 0.8, 5.5, 480.0, kappa, half_life, gaps


def probability_rows():
    for a, p, q, kappa, half_life, gaps in states():
        rate, shape, scale = posterior(a, p, q, kappa, half_life, gaps)
        for days in [14.0, 70.0, 200.0] if gaps else [0.25, 3.0, 14.0, 70.0, 200.0, 3650.0]:
            # Distances from far in one tail to far in the other, about the median.
            middle = float(betaprime.median(rate * days, shape))
            if middle * scale < 1e-6:
                middle = 1.0  # So little time that half of all vehicles have hardly moved.
            for part in [1e-3, 0.3, 0.8, 0.98, 1.0, 1.02, 1.25, 4.0, 1e3]:
                if gaps and part in (1e-3, 0.98, 1.02, 1e3):
                    continue  # The far tails and the steepest places are covered by the direct states.
                distance = float(f"{middle * part * scale:.6g}")
                value, library = probability(distance / scale, rate * days, shape)
                yield [a, p, q, kappa, half_life or "", written(gaps), rate, shape, scale, distance, days, value, library]


def quantile_rows():
    for a, p, q, kappa, half_life, gaps in states():
        rate, shape, scale = posterior(a, p, q, kappa, half_life, gaps)
        for quantile in [0.1, 0.5, 0.9]:
            for days in [3.0, 70.0, 900.0]:
                km = scale * float(betaprime.ppf(quantile, rate * days, shape))
                # ppf is itself a search: it is kept only where the survival function confirms it.
                if km > 1e-9 and abs(betaprime.sf(km / scale, rate * days, shape) - (1 - quantile)) < 1e-12:
                    yield [rate, shape, scale, quantile, "distance_after", days, km]
            for distance in [40.0, 1500.0, 24000.0]:
                def excess(days):
                    return betaprime.sf(distance / scale, rate * days, shape) - quantile

                days = ""
                if excess(MOST_DAYS) >= 0:
                    days = brentq(excess, 1e-9, MOST_DAYS, xtol=1e-12, rtol=1e-14)
                yield [rate, shape, scale, quantile, "days_until", distance, days]


def data_sets():
    """Invented cohorts: named, each a list of vehicles, each a list of gaps."""
    random = numpy.random.default_rng(314159)

    def vehicles(count, regularity, shape, scale, gaps_of):
        result = []
        for _ in range(count):
            rate = random.gamma(shape, 1.0 / scale)
            gaps = []
            for _ in range(gaps_of()):
                days = round(float(random.uniform(1.0, 16.0)), 2)
                gaps.append((days, round(float(random.gamma(regularity * days, 1.0 / rate)), 2)))
            result.append(gaps)
        return result

    yield "ordinary", vehicles(24, 0.9, 6.0, 450.0, lambda: int(random.integers(4, 30)))
    yield "regular", vehicles(15, 7.0, 20.0, 230.0, lambda: int(random.integers(10, 25)))
    yield "erratic", vehicles(40, 0.08, 3.0, 2500.0, lambda: int(random.integers(5, 40)))
    yield "some_short", vehicles(18, 1.2, 4.0, 260.0, lambda: int(random.integers(1, 8)))
    yield "seven", vehicles(7, 1.0, 6.0, 400.0, lambda: 12)
    yield "two_gaps_each", vehicles(12, 1.0, 6.0, 400.0, lambda: 2)
    yield "one_parked", vehicles(9, 1.0, 6.0, 400.0, lambda: 9) + [[(20.0, 0.0), (10.0, 0.0), (8.0, 0.0)]]
    # Exactly even: no regularity is high enough, and no spread between the vehicles is left.
    yield "clockwork", [[(7.0, 560.0)] * 6 for _ in range(9)]
    # All in one gap: no regularity is low enough.
    yield "all_at_once", [[(10.0, 0.0), (0.5, 900.0 + 40.0 * number), (30.0, 0.0)] for number in range(9)]


def regularity_of(histories):
    kept = [(numpy.array(gaps)[:, 0], numpy.array(gaps)[:, 1]) for gaps in histories if len(gaps) >= 3]
    kept = [(dt, dx) for dt, dx in kept if dx.sum() > 0]
    if not kept:
        return None

    def equation(a):
        total = 0.0
        for dt, dx in kept:
            f, w = dx / dx.sum(), dt / dt.sum()
            total += dt.sum() * (numpy.sum((f - w) ** 2 / w) - (len(dt) - 1) / (a * dt.sum() + 1))
        return total

    low, high = 0.02, 20.0
    if equation(low) * equation(high) > 0:
        return low if equation(low) > 0 else high
    return bisect(equation, low, high, xtol=1e-13, rtol=1e-14, maxiter=200)


def prior_of(histories, a):
    totals = [numpy.array(gaps).sum(axis=0) for gaps in histories]
    days, km = numpy.array([total for total in totals if total[0] >= 30.0]).reshape(-1, 2).T
    if len(days) < 8:
        return None
    rates = km / days
    m, s2, c = rates.mean(), rates.var(ddof=1), (1 / (a * days)).mean()
    v = max((s2 - m**2 * c) / (1 + c), (0.1 * m) ** 2)
    p = max(2 + m**2 / v, 2.05)
    return p, m * (p - 1) / a


def write(name, call, columns, rows):
    with open((pathlib.Path(sys.argv[1]) if len(sys.argv) > 1 else OUT) / name, "w", newline="") as file:
        file.write(f"# {VERSIONS}; {call}\n# Written by tests/oracles/usage_betaprime.py; do not edit.\n")
        table = csv.writer(file, lineterminator="\n")
        table.writerow(columns)
        table.writerows([repr(float(cell)) if isinstance(cell, float) else cell for cell in row] for row in rows)


def main():
    write(
        "usage_betaprime.csv",
        "scipy.stats.betaprime.sf(distance / Q, a' * days, P), checked against 30-digit quadrature by mpmath",
        "a,p,q,kappa,half_life,gaps,a_after,shape,scale,distance_left,days,probability,library".split(","),
        probability_rows(),
    )
    write(
        "usage_quantiles.csv",
        "Q * scipy.stats.betaprime.ppf(quantile, a' * days, P); scipy.optimize.brentq of betaprime.sf in days "
        f"(empty: beyond {MOST_DAYS:.0f} days)",
        "a,shape,scale,quantile,asked,given,answer".split(","),
        quantile_rows(),
    )
    histories, estimates = [], []
    for name, vehicles in data_sets():
        a = regularity_of(vehicles)
        prior = prior_of(vehicles, 1.0 if a is None else a)
        estimates.append([name, "" if a is None else a, *(float(x) for x in prior or [])] + ([] if prior else ["", ""]))
        histories.extend([name, number, written(gaps)] for number, gaps in enumerate(vehicles))
    write("cohort_histories.csv", "invented, numpy.random.default_rng(314159)", ["set", "vehicle", "gaps"], histories)
    write(
        "cohort_estimates.csv",
        "regularity by scipy.optimize.bisect of the estimating equation, prior by numpy (with a = 1 where it is empty)",
        ["set", "regularity", "p", "q"],
        estimates,
    )


if __name__ == "__main__":
    main()

"""Reference values for wear and for capacity loss (crates/forecast), computed independently of the program.

    python3 -m venv .venv && .venv/bin/pip install -r tests/oracles/requirements.txt
    .venv/bin/python tests/oracles/wear_capacity.py [FOLDER]

writes three files into crates/forecast/tests, or into FOLDER. The same library versions give the same files.
"""

import csv
import pathlib
import sys

import numpy
import scipy
import statsmodels
import statsmodels.api
from scipy.optimize import brentq, nnls
from scipy.stats import norm, t

OUT = pathlib.Path(__file__).resolve().parents[2] / "crates" / "forecast" / "tests"
VERSIONS = f"scipy {scipy.__version__}, numpy {numpy.__version__}, statsmodels {statsmodels.__version__}"

# An invented tread series: depth in 32nds of an inch over miles.
MILES = [0.0, 6200.0, 11850.0, 18400.0, 24100.0, 30300.0, 36500.0]
DEPTH = [10.0, 9.1, 8.4, 7.4, 6.7, 5.7, 4.9]


def ols_rows():
    """The series by ordinary least squares; the limit's interval by inverting the confidence band of the mean."""
    model = statsmodels.api.OLS(DEPTH, statsmodels.api.add_constant(numpy.array(MILES) / 1000.0)).fit()
    yield "intercept", model.params[0]
    yield "slope", model.params[1]
    yield "s", model.mse_resid**0.5
    yield "t_95", t.ppf(0.975, model.df_resid)
    at_45 = model.get_prediction([[1.0, 45.0]]).summary_frame(alpha=0.05).iloc[0]
    for column in ["mean", "mean_ci_lower", "mean_ci_upper", "obs_ci_lower", "obs_ci_upper"]:
        yield f"{column}_at_45", at_45[column]

    def bound(column):
        def excess(thousand_miles):
            frame = model.get_prediction([[1.0, thousand_miles]]).summary_frame(alpha=0.05)
            return frame[column].iloc[0] - 4.0

        return brentq(excess, 20.0, 80.0, xtol=1e-12)

    yield "at_limit", bound("mean")
    yield "at_limit_lower", bound("mean_ci_lower")
    yield "at_limit_upper", bound("mean_ci_upper")
    # For a reading, whose own error comes on top, in place of the true depth.
    yield "reading_at_limit_lower", bound("obs_ci_lower")
    yield "reading_at_limit_upper", bound("obs_ci_upper")


def posterior(start, wear, depth, tau, sd):
    """Mean and covariance of (d0, c) by generalised least squares, the prior of c as one more row."""
    rows, values, sds = [[0.0, 1.0]], [1.0], [tau]
    if start is not None:
        # A known depth is a row that is known very well; the program has it exactly.
        rows, values, sds = rows + [[1.0, 0.0]], values + [start], sds + [1e-6]
    rows += [[1.0, -z] for z in wear]
    values, sds = values + list(depth), sds + [sd] * len(wear)
    scaled = numpy.array(rows) / numpy.array(sds)[:, None]
    mean = numpy.linalg.lstsq(scaled, numpy.array(values) / sds, rcond=None)[0]
    root = numpy.linalg.inv(numpy.linalg.qr(scaled, mode="r"))
    return mean, root @ root.T


def wear_rows():
    random = numpy.random.default_rng(8128)
    for number in range(40):
        count = int(random.integers(0 if number % 2 == 0 else 1, 7))
        tau, sd = float(random.choice([0.1, 0.2, 0.3])), float(random.choice([0.2, 0.3]))
        wear = numpy.sort(random.uniform(0.0, 5.0, count)).round(3)
        depth = (8.0 - random.normal(1.0, tau) * wear + random.normal(0.0, sd, count)).round(2)
        start = 8.0 if number % 2 == 0 else None
        limit = 1.6
        mean, covariance = posterior(start, wear, depth, tau, sd)

        def sooner(z):
            """P(the limit is met before an expected wear z): that the depth there is below it."""
            row = numpy.array([1.0, -z])
            return norm.cdf((limit - row @ mean) / (row @ covariance @ row) ** 0.5)

        middles = [
            brentq(lambda z, part=part: sooner(z) - part / 18.0, 0.01, 200.0, xtol=1e-12) for part in range(1, 18, 2)
        ]
        readings = ";".join(f"{z!r}:{d!r}" for z, d in zip(wear.tolist(), depth.tolist()))
        yield ["" if start is None else start, tau, sd, limit, readings, mean[1], covariance[1, 1] ** 0.5, *middles]


def capacity_rows():
    def row(years, km, loss):
        root = numpy.sqrt(years)
        alone = numpy.linalg.lstsq(root[:, None], loss, rcond=None)[0][0]
        # Kilometres in thousands, so that both columns are of one size.
        (by_age, by_distance), _ = nnls(numpy.column_stack([root, km / 1000.0]), loss)
        readings = ";".join(f"{t!r}:{x!r}:{y!r}" for t, x, y in zip(years.tolist(), km.tolist(), loss.tolist()))
        return [readings, alone, alone * 8.0**0.5, by_age, by_distance / 1000.0]

    years, loss = numpy.array([0.5, 1.0, 2.0, 3.0, 4.0]), numpy.array([2.0, 2.9, 4.2, 5.1, 5.8])
    yield row(years, 18000.0 * years, loss)
    random = numpy.random.default_rng(496)
    for number in range(20):
        count = int(random.integers(5, 15))
        years = numpy.sort(random.uniform(0.2, 8.0, count)).round(2)
        km = (random.uniform(8000.0, 60000.0) * years * random.uniform(0.7, 1.3, count)).round(0)
        share = [1.0, 0.0, 0.5][number % 3]
        loss = share * 2.9 * numpy.sqrt(years) + (1.0 - share) * 6e-5 * km + random.normal(0.0, 0.4, count)
        yield row(years, km, loss.round(2))


def write(name, call, columns, rows):
    with open((pathlib.Path(sys.argv[1]) if len(sys.argv) > 1 else OUT) / name, "w", newline="") as file:
        file.write(f"# {VERSIONS}; {call}\n# Written by tests/oracles/wear_capacity.py; do not edit.\n")
        table = csv.writer(file, lineterminator="\n")
        table.writerow(columns)
        for row in rows:
            table.writerow([repr(float(cell)) if isinstance(cell, float) else cell for cell in row])


def main():
    write(
        "wear_ols.csv",
        "OLS(...).fit().get_prediction(...), thousand miles and 32nds of an inch; crossing of 4/32 by scipy.optimize.brentq "
        "of its confidence bounds, which is Fieller's interval",
        ["quantity", "value"],
        ols_rows(),
    )
    write(
        "wear_crossings.csv",
        "invented, numpy.random.default_rng(8128); numpy.linalg.lstsq with the prior as a row; expected wear at the limit "
        "by brentq of scipy.stats.norm.cdf at 1/18 to 17/18",
        ["start", "tau", "gauge_sd", "limit", "readings", "pace", "pace_sd", *(f"part_{part}" for part in range(1, 18, 2))],
        wear_rows(),
    )
    write(
        "capacity_loss.csv",
        "first row: worked example, others invented, numpy.random.default_rng(496); numpy.linalg.lstsq and scipy.optimize.nnls",
        ["readings", "per_root_year_alone", "loss_after_8_years", "per_root_year", "per_km"],
        capacity_rows(),
    )


if __name__ == "__main__":
    main()

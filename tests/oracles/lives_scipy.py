"""Achieved lives with censored parts against SciPy: Kaplan-Meier by `ecdf` with its log-log bounds, Weibull by maximum likelihood.

    cargo build -p forecast --example lives
    .venv/bin/python tests/oracles/lives_scipy.py target/debug/examples/lives

Sixty invented groups, many with ties. SciPy's search for the maximum is a general one: what is held is that no
likelihood of its is better than ours by more than a millionth, and that shape and scale agree within a thousandth. Ends
with 1 and the first differences if there are any.
"""

import subprocess
import sys
import warnings

import numpy
import scipy
from scipy.stats import CensoredData, ecdf, weibull_min

# Where no part is left, SciPy says that there are no bounds; nor do we tell any.
warnings.filterwarnings("ignore", message="The confidence interval is undefined")
GROUPS = 60
dice = numpy.random.default_rng(20261126)
groups = []
for number in range(GROUPS):
    size = int(dice.integers(8, 80))
    lengths = 40_000 * dice.weibull(dice.uniform(0.8, 4), size) + 1
    ends = dice.uniform(5_000, 90_000, size)
    if number % 3 == 0:
        lengths, ends = numpy.ceil(lengths / 5_000) * 5_000, numpy.ceil(ends / 5_000) * 5_000
    failed = lengths <= ends
    failed[0] = failed[1] = True
    lengths[1] = lengths[0] * 1.5
    groups.append((numpy.where(failed, lengths, ends), failed))

lines = [" ".join(f"{'f' if failed else 'c'}{length!r}" for length, failed in zip(*map(lambda a: a.tolist(), group))) for group in groups]
answers = subprocess.run([sys.argv[1]], input="\n".join(lines), capture_output=True, text=True, check=True).stdout.splitlines()
if len(answers) != GROUPS:
    sys.exit(f"{len(answers)} answers, not {GROUPS}")

differences, worst = [], 0.0
for number, (line, (lengths, failed)) in enumerate(zip(answers, groups)):
    shape, scale, likelihood, *steps = line.split()
    shape, scale, likelihood = float(shape), float(scale), float(likelihood)
    data = CensoredData(uncensored=lengths[failed], right=lengths[~failed])
    curve = ecdf(data).sf
    told = [[float(number) for number in step.split(":")] for step in steps]
    ours = {at: share for at, share, _, _ in told}
    bounds = curve.confidence_interval(confidence_level=0.8, method="log-log")
    for at, share, low, high in told:
        same = [abs(low - bounds.low.evaluate(at)), abs(high - bounds.high.evaluate(at))]
        if share > 0 and not max(same) < 1e-9:
            differences.append(f"group {number}: bounds {low} and {high} at {at}")
    theirs = {at: curve.evaluate(at) for at in sorted(set(lengths[failed]))}
    if sorted(ours) != sorted(theirs) or any(abs(ours[at] - theirs[at]) > 1e-9 for at in theirs):
        differences.append(f"group {number}: another survival curve")
    found_shape, _, found_scale = weibull_min.fit(data, floc=0)
    best = weibull_min.logpdf(lengths[failed], found_shape, scale=found_scale).sum()
    best += weibull_min.logsf(lengths[~failed], found_shape, scale=found_scale).sum()
    own = weibull_min.logpdf(lengths[failed], shape, scale=scale).sum()
    own += weibull_min.logsf(lengths[~failed], shape, scale=scale).sum()
    worst = max(worst, abs(shape / found_shape - 1), abs(scale / found_scale - 1))
    if best - own > 1e-6 or abs(own - likelihood) > 1e-6:
        differences.append(f"group {number}: log-likelihood {likelihood}, recomputed {own}, SciPy's best {best}")
    if abs(shape / found_shape - 1) > 1e-3 or abs(scale / found_scale - 1) > 1e-3:
        differences.append(f"group {number}: shape {shape} scale {scale}, by SciPy {found_shape} {found_scale}")
if differences:
    sys.exit("\n".join([f"{len(differences)} differences", *differences[:20]]))
print(f"{GROUPS} groups of parts: curves and their bounds as by scipy {scipy.__version__}, Weibull within {worst:.1e}, no better likelihood found")

"""Scores of made-up forecasts by general-purpose libraries, for the table in tests/scores.rs.

Run by hand, never by the tests:

    python -m venv venv && venv/bin/pip install numpy scipy properscoring scoringrules
    venv/bin/python tests/checks/scores.py            # prints the rows of tests/checks/scores.csv
    venv/bin/python tests/checks/scores.py --check     # compares them with the stored file

The forecasts come from a small generator that the Rust test repeats (steps of a linear congruential sequence), so
that only scores are stored, not draws.
"""

import sys
from pathlib import Path

import numpy as np
import properscoring
import scipy
import scipy.stats
import scoringrules

STORED = Path(__file__).with_name("scores.csv")
CASES = 40


def case(number):
    """Returns draws and outcome of one case: an odd mixture with empty weeks in every third case."""
    state = 12345 + number

    def even():
        nonlocal state
        state = (state * 1103515245 + 12345) % 2147483648
        return state / 2147483648

    for _ in range(3):
        even()
    draws = []
    for _ in range(5 + number * 3):
        u, v = even(), even()
        amount = 4.0 * u * u + v
        draws.append(0.0 if number % 3 == 0 and v < 0.4 else amount)
    u, v = even(), even()
    actual = 0.0 if number % 3 == 0 and v < 0.4 else 5.0 * u * u + v
    return np.array(draws), actual


def row(number):
    """Returns the scores of one case, each by the library named in the header."""
    draws, y = case(number)
    q10, q25, q50, q75, q90 = np.quantile(draws, [0.1, 0.25, 0.5, 0.75, 0.9])
    plain = properscoring.crps_ensemble(y, draws)
    other = scoringrules.crps_ensemble(y, draws, estimator="nrg")
    assert abs(plain - other) <= 1e-9 * max(1.0, plain), (number, plain, other)
    fair = scoringrules.crps_ensemble(y, draws, estimator="fair")
    weights = np.arange(1.0, len(draws) + 1.0)
    weights /= weights.sum()
    weighted = properscoring.crps_ensemble(y, draws, weights=weights)
    pinball = scoringrules.quantile_score(y, q90, 0.9)
    interval = scoringrules.interval_score(y, q10, q90, 0.2)
    # Mean of the doubled quantile losses: scoringrules 0.10.0 without numba adds the median itself, not its distance
    # from the outcome, in weighted_interval_score.
    wis = np.mean([2 * scoringrules.quantile_score(y, q, p)
                   for q, p in zip([q10, q25, q50, q75, q90], [0.1, 0.25, 0.5, 0.75, 0.9])])
    mean, sd = draws.mean() + 0.1, draws.std() + 0.1
    normal = properscoring.crps_gaussian(y, mean, sd)
    assert abs(normal - scoringrules.crps_normal(y, mean, sd)) < 1e-9
    lognormal = scoringrules.crps_lognormal(y + 0.01, np.log(mean), 0.4)
    hits, cases = number % 12, 11 + number
    exact = scipy.stats.binomtest(hits, cases, 0.8)
    low, high = exact.proportion_ci(0.95, "exact")
    wlow, whigh = exact.proportion_ci(0.95, "wilson")
    return [number, plain, fair, weighted, pinball, interval, wis, normal, lognormal,
            exact.pvalue, low, high, wlow, whigh]


HEADER = ["case", "crps_plain", "crps_fair", "crps_weighted", "pinball_90", "interval_80", "wis", "crps_normal",
          "crps_lognormal", "exact_test", "exact_low", "exact_high", "wilson_low", "wilson_high"]


def text():
    """Returns the whole table as text."""
    versions = (f"# python {sys.version.split()[0]}, numpy {np.__version__}, scipy {scipy.__version__}, "
                f"properscoring 0.1, scoringrules {scoringrules.__version__}")
    what = "# crps_plain, crps_weighted, crps_normal: properscoring; other scores: scoringrules; the rest: scipy.stats"
    lines = [versions, what, ",".join(HEADER)]
    for number in range(CASES):
        values = row(number)
        lines.append(",".join([str(values[0])] + [repr(float(v)) for v in values[1:]]))
    return "\n".join(lines) + "\n"


def main():
    if "--check" not in sys.argv:
        sys.stdout.write(text())
        return
    stored, fresh = STORED.read_text().splitlines()[3:], text().splitlines()[3:]
    worst = 0.0
    for old, new in zip(stored, fresh, strict=True):
        for a, b in zip(map(float, old.split(",")), map(float, new.split(","))):
            worst = max(worst, abs(a - b) / max(1.0, abs(a)))
    print(f"{len(fresh)} cases, greatest relative difference {worst:.1e}")
    sys.exit(worst > 1e-9)


main()

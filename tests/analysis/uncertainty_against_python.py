"""Deckle's statistics of draws against numpy, and its first-order uncertainties against python3-uncertainties.

Usage: uncertainty_against_python.py PROGRAM      (print_uncertainty)
Ranks of the interval: JCGM 101:2008, 7.7. Deviations of lognormal and triangular spreads: scipy.stats.
"""
import json
import math
import subprocess
import sys

try:
    import numpy
    import uncertainties
    from scipy import stats
    from uncertainties import umath
except ImportError as missing:
    print(f"skipped: {missing}")
    sys.exit(77)


def close(found, expected, relative, what):
    assert math.isclose(found, expected, rel_tol=relative), f"{what}: {found!r}, expected {expected!r}"


def interval_ranks(count):
    """Steps q that the interval reaches over, and rank r of its lower end [from 1]."""
    q = 0.95 * count if count * 19 % 20 == 0 else math.floor(0.95 * count + 0.5)
    q = round(q)
    r = (count - q) // 2 if (count - q) % 2 == 0 else (count - q + 1) // 2
    return q, r


def check_statistics(record):
    draws = numpy.array(record["draws"])
    count = len(draws)
    # of values below 10, sums of up to 40,001: rounding stays below 1e-12
    close(record["mean"], draws.mean(), 1e-12, "mean")
    close(record["u"], draws.std(ddof=1), 1e-12, "standard uncertainty")
    close(record["error_mean"], stats.sem(draws), 1e-12, "error of the mean")
    fourth = stats.moment(draws, 4)
    variance = draws.var(ddof=1)
    close(record["error_u"], math.sqrt((fourth - variance ** 2) / (4 * variance * count)), 1e-9, "error of u")
    assert record["median"] == numpy.median(draws), "median"
    ordered = numpy.sort(draws)
    q, r = interval_ranks(count)
    if record["interval"] == "shortest":
        widths = ordered[q:] - ordered[:-q]
        r = int(numpy.argmin(widths)) + 1
    assert record["low"] == ordered[r - 1], "lower end"
    assert record["high"] == ordered[r + q - 1], "upper end"
    if record["interval"] == "symmetric":
        assert record["low"] == numpy.quantile(draws, (r - 0.5) / count, method="inverted_cdf")
        step = math.ceil(math.sqrt(count * 0.025 * 0.975))
        assert record["error_low"] == (ordered[r - 1 + step] - ordered[max(0, r - 1 - step)]) / 2, "error of the end"


def lognormal(median, gsd):
    return uncertainties.ufloat(median, stats.lognorm.std(math.log(gsd), scale=median))


def mixed():
    a, b = uncertainties.ufloat(1.5, 0.1), lognormal(0.7, 1.2)
    c = uncertainties.ufloat(2.0, stats.triang.std(0.25, loc=1.5, scale=2.0))
    d = uncertainties.ufloat(4.0, stats.uniform.std(loc=3, scale=2))
    return umath.exp(a * b) / (c + umath.sqrt(d)) - umath.log(a)


def loop():
    c01, c10 = uncertainties.ufloat(0.3, 0.02), uncertainties.ufloat(0.5, 0.04)
    b1 = uncertainties.ufloat(2.0, 0.1)
    return (1.5 + c01 * b1) / (1 - c01 * c10)


MODELS = {"mixed": mixed, "loop": loop}


def main():
    text = subprocess.run([sys.argv[1]], check=True, stdout=subprocess.PIPE).stdout.decode()
    records = [json.loads(line) for line in text.splitlines()]
    for record in records:
        if "model" not in record:
            check_statistics(record)
            continue
        expected = MODELS[record["model"]]()
        close(record["value"], expected.nominal_value, 1e-13, record["model"])
        close(record["u"], expected.std_dev, 1e-9, record["model"] + ", uncertainty")
    assert len(records) == 11, "eleven records were expected"


main()

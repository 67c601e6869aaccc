"""Every shape of spread against scipy.stats: its values at given shares, its mean and standard
deviation, and 100,000 of its draws: mean, standard deviation and the Kolmogorov distance.

The curvilinear trapezoid, which scipy lacks, is integrated from its definition (JCGM 101:2008, 6.4.3:
lower end c uniform in a +- d, then uniform from c to a + b - c). Correlated draws of different shapes
are held against the normal copula: rank correlation 6 / pi * asin(r / 2).

Usage: spreads_against_scipy.py PRINT_SPREADS
"""
import subprocess
import sys

try:
    import numpy
    from scipy import integrate, stats
except ImportError:
    print("SKIPPED: python3-scipy is not installed")
    sys.exit(77)

DRAWS = 100_000
HALF_WIDTH_95 = 1.959963984540054
KOLMOGOROV = 1.95 / numpy.sqrt(DRAWS)  # exceeded once in a thousand by a true sample (Smirnov)
ERRORS = 5.0  # standard errors that a mean or deviation of the draws may be off


class Trapezoid:
    """F(x) as the mean of the uniform distribution functions over the lower end, which is uniform."""

    def __init__(self, low, high, inexact_by):
        self.low, self.high, self.by = low, high, inexact_by
        nodes, self.weights = numpy.polynomial.legendre.leggauss(64)
        self.nodes = 0.5 * (nodes + 1.0)

    def cdf(self, x):
        x = numpy.atleast_1d(numpy.asarray(x, dtype=float))
        middle = 0.5 * (self.low + self.high)
        off = numpy.abs(x - middle)[:, None]
        half = 0.5 * (self.high - self.low)
        start, end = half - self.by, half + self.by
        # half-widths below `off` leave nothing outside; above it the uniform leaves (1 - off / h) / 2
        first = numpy.clip(off, start, end)
        h = first + (end - first) * self.nodes
        outside = numpy.sum(self.weights * 0.5 * (1.0 - off / h), axis=1) * 0.5 * (end - first[:, 0])
        tail = outside / (end - start)
        return numpy.where(x < middle, tail, 1.0 - tail)

    def _moment(self, power):
        half = 0.5 * (self.high - self.low)
        inner = lambda h: h ** power / (power + 1)  # of the uniform within +- h, even powers
        return integrate.quad(inner, half - self.by, half + self.by)[0] / (2.0 * self.by)

    def mean(self):
        return 0.5 * (self.low + self.high)

    def std(self):
        return numpy.sqrt(self._moment(2))

    def kurtosis(self):
        return self._moment(4) / self._moment(2) ** 2


class Scipy:
    def __init__(self, frozen):
        self.frozen = frozen
        self.cdf, self.sf, self.mean, self.std = frozen.cdf, frozen.sf, frozen.mean, frozen.std

    def kurtosis(self):
        return float(self.frozen.stats(moments="k")) + 3.0


def expected(name, value, a, b, c):
    if name == "normal":
        return Scipy(stats.norm(value, a / HALF_WIDTH_95))
    if name == "lognormal":
        return Scipy(stats.lognorm(numpy.log(a) / HALF_WIDTH_95, scale=value))
    if name == "triangular":
        return Scipy(stats.triang((value - a) / (b - a), a, b - a))
    if name == "uniform":
        return Scipy(stats.uniform(a, b - a))
    if name == "arcsine":
        return Scipy(stats.arcsine(a, b - a))
    if name == "curvilinear_trapezoid":
        return Trapezoid(a, b, c)
    if name == "student_t":
        return Scipy(stats.t(b, value, a))
    sigma = a / HALF_WIDTH_95
    return Scipy(stats.truncnorm((b - value) / sigma, (c - value) / sigma, value, sigma))


problems = []


def check(passes, text):
    if not passes:
        problems.append(text)


def run(*words):
    return subprocess.run([sys.argv[1], *words], check=True, capture_output=True).stdout


lines = [line.split() for line in run().decode().splitlines()]
draws = numpy.frombuffer(run("draws")).reshape(-1, DRAWS)
kinds = set()
for line, drawn in zip(lines, draws):
    name, (value, a, b, c, mean, deviation), rest = line[0], map(float, line[1:7]), map(float, line[7:])
    true = expected(name, value, a, b, c)
    what = f"{name} {line[1:5]}"
    kinds.add(name)
    pairs = numpy.array(list(rest)).reshape(-1, 2)
    rounding = 4.0 * numpy.finfo(float).eps * max(abs(value), abs(a), abs(b) if b < 1e300 else 0.0)
    for p, at in pairs:
        if name == "student_t" and b > 1e5:  # beyond what scipy's distribution function resolves
            z = stats.norm.ppf(p)
            t = z + (z ** 3 + z) / (4.0 * b) + (5.0 * z ** 5 + 16.0 * z ** 3 + 3.0 * z) / (96.0 * b ** 2)
            check(abs(at - value - a * t) < 1e-13 * a * (1.0 + abs(t)) + rounding, f"{what}: {at!r} at {p!r}")
            continue
        below, above = float(true.cdf(at - rounding)), float(true.cdf(at + rounding))
        check(below * (1.0 - 1e-11) - 1e-15 <= p <= above * (1.0 + 1e-11) + 1e-15,
              f"{what}: the shares about {at!r} are {below!r} to {above!r}, not {p!r}")
    check(abs(mean - true.mean()) <= 1e-12 * (abs(mean) + deviation), f"{what}: mean {mean}, {true.mean()}")
    check(abs(deviation / true.std() - 1.0) < 1e-10, f"{what}: deviation {deviation}, {true.std()}")
    check(len(set(drawn)) > DRAWS - 10, f"{what}: draws repeat")
    off = numpy.max(numpy.abs(true.cdf(numpy.sort(drawn)) - (numpy.arange(DRAWS) + 0.5) / DRAWS))
    check(off < KOLMOGOROV, f"{what}: Kolmogorov distance {off}")
    check(abs(drawn.mean() - true.mean()) < ERRORS * true.std() / numpy.sqrt(DRAWS), f"{what}: mean of draws")
    kurtosis = true.kurtosis()
    if numpy.isfinite(kurtosis) and kurtosis < 50.0:
        error = numpy.sqrt((kurtosis - 1.0) / (4.0 * DRAWS))
        check(abs(drawn.std() / true.std() - 1.0) < ERRORS * error, f"{what}: deviation of draws")

together = draws[len(lines):]
for i in range(len(together)):
    for j in range(i):
        r = 0.8 ** (i - j)
        found = stats.spearmanr(together[i], together[j])[0]
        check(abs(found - 6.0 / numpy.pi * numpy.arcsin(r / 2.0)) < ERRORS / numpy.sqrt(DRAWS),
              f"correlated inputs {j} and {i}: rank correlation {found}, normals {r}")
    own = lines[(0, 1, 5, 11, 17)[i]]
    true = expected(own[0], *map(float, own[1:5]))
    off = numpy.max(numpy.abs(true.cdf(numpy.sort(together[i])) - (numpy.arange(DRAWS) + 0.5) / DRAWS))
    check(off < KOLMOGOROV, f"correlated input {i}: Kolmogorov distance {off}")
print("\n".join(problems) if problems else f"{len(lines)} spreads of {len(kinds)} shapes agree")
sys.exit(1 if problems or len(kinds) != 8 or len(together) != 5 else 0)

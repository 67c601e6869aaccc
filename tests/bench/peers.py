"""What numpy and scipy need for the same work; one peer a call, so that its memory is its own.

Usage: peers.py network FILE | lognormal | draws FILE | statistics FILE
Prints seconds: the median of several rounds.
"""
import json
import math
import sys
import time

import numpy


def median(work, rounds):
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return sorted(times)[len(times) // 2]


def network(path):
    """Strong components, the loop last in elimination order, SuperLU, all indicators at once.

    SuperLU alone, with any of its own orderings, does not finish in half a minute on such a network.
    """
    from scipy.sparse import csc_matrix, identity
    from scipy.sparse.csgraph import connected_components
    from scipy.sparse.linalg import splu

    with open(path, encoding="utf-8") as file:
        processes, loop, indicators, count = map(int, file.readline().split())
        rest = numpy.array(file.read().split(), dtype=float)
    triples = rest[:3 * count].reshape(count, 3)
    direct = rest[3 * count:3 * count + processes * indicators].reshape(processes, indicators)
    expected = rest[3 * count + processes * indicators:]
    buyer, seller = triples[:, 0].astype(int), triples[:, 1].astype(int)
    a = csc_matrix(identity(processes) - csc_matrix((triples[:, 2], (buyer, seller)), shape=(processes, processes)))
    result = {}

    def work():
        _, label = connected_components(a, directed=True, connection="strong")
        size = numpy.bincount(label)[label]
        # supplier before buyer, the loop first; inside the loop SuperLU's own minimum degree
        order = numpy.concatenate([numpy.flatnonzero(size > 1), numpy.flatnonzero(size == 1)])
        n = int(numpy.count_nonzero(size > 1))
        arranged = a[order][:, order].tocsr()
        block = splu(arranged[:n, :n].tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0)
        b = direct[order]
        x = numpy.empty_like(b)
        x[:n] = block.solve(b[:n])
        below = splu(arranged[n:, n:].tocsc(), permc_spec="NATURAL", diag_pivot_thresh=0.0)
        x[n:] = below.solve(b[n:] - arranged[n:, :n] @ x[:n])
        result["last"] = x[numpy.flatnonzero(order == processes - 1)[0]]

    seconds = median(work, 9)
    off = numpy.max(numpy.abs(result["last"] / expected - 1.0))
    assert off < 1e-11, f"the peer gets another answer ({off:.1e})"
    return seconds


def lognormal():
    """Seconds a number."""
    generator = numpy.random.default_rng(42)
    count = 2_000_000
    return median(lambda: generator.lognormal(0.0, 0.1, count), 9) / count


def draws(path, statistics=None):
    """The mill that print_mill wrote, at as many draws: the same structure and spreads, another generator.

    Means agree within what so many draws leave open, so that the sums are the same.
    """
    with open(path, encoding="utf-8") as file:
        mill = json.load(file)
    generator = numpy.random.default_rng(42)
    count = mill["draws"]
    sigma = math.log(mill["factor"]) / 1.959963984540054
    values = numpy.array(mill["shared"])[:, None]
    own_values = numpy.array(mill["own"]).reshape(-1, 10, 1)
    expected = numpy.array(mill["means"]).reshape(-1, 6)
    # of a difference of two means of `count` draws each
    error = numpy.array(mill["uncertainties"]).reshape(-1, 6) * math.sqrt(2.0 / count)
    means = numpy.empty_like(expected)

    def work(check=False):
        shared = values * numpy.exp(sigma * generator.standard_normal((len(values), count)))
        made = []
        for loop in mill["loops"]:
            size = loop["size"]
            a = numpy.zeros((count, size, size))
            a[:, numpy.arange(size), numpy.arange(size)] = 1.0
            for row, column, k in loop["entries"]:
                a[:, row, column] -= shared[k] * loop["scale"]
            b = shared[loop["right_sides"]].T.reshape(count, size, 6)
            made.append(numpy.linalg.solve(a, b))
        made = numpy.ascontiguousarray(numpy.concatenate(made, axis=1).transpose(1, 2, 0))
        for product, amounts in enumerate(own_values):
            own = amounts * numpy.exp(sigma * generator.standard_normal((10, count)))
            used = made[(product + numpy.arange(10)) % 20]
            figures = numpy.einsum("kd,kid->id", own, used)
            if check:
                means[product] = figures.mean(axis=1)
            if statistics:
                statistics(figures)

    work(check=True)
    off = numpy.max(numpy.abs(means - expected) / error)
    assert off < 5.0, f"the peer gets other means ({off:.1f} standard errors)"
    return median(work, 3)


def statistics(path):
    """The same with mean, standard deviation and three percentiles of every indicator."""
    def take(figures):
        count = figures.shape[1]
        figures.mean(axis=1)
        figures.std(axis=1, ddof=1)
        ranks = [count // 40, count // 2, count - count // 40 - 1]
        numpy.partition(figures, ranks, axis=1)[:, ranks]

    return draws(path, take)


PEERS = {"network": network, "lognormal": lognormal, "draws": draws, "statistics": statistics}
print(PEERS[sys.argv[1]](*sys.argv[2:]))

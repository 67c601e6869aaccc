"""What numpy and scipy need for the same work; one peer a call, so that its memory is its own.

Usage: peers.py network FILE | lognormal | draws | statistics
Prints seconds: the median of several rounds.
"""
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


def draws(statistics=None):
    """60 shared and 500 x 10 own lognormal inputs, loops of 8 and 12, 6 indicators, 10,000 draws."""
    generator = numpy.random.default_rng(42)
    count, products = 10_000, 500
    rows = {size: numpy.repeat(numpy.arange(size), 4) for size in (8, 12)}
    columns = {size: generator.integers(0, size, 4 * size) for size in (8, 12)}

    def work():
        shared = numpy.exp(0.05 * generator.standard_normal((60, count)))
        made = []
        for size in (8, 12):
            a = numpy.zeros((count, size, size))
            a[:, numpy.arange(size), numpy.arange(size)] = 1.0
            for k, (row, column) in enumerate(zip(rows[size], columns[size])):
                a[:, row, column] -= shared[k] * 0.2 / size
            b = shared[numpy.arange(size * 6) % 60].T.reshape(count, size, 6)
            made.append(numpy.linalg.solve(a, b))
        made = numpy.ascontiguousarray(numpy.concatenate(made, axis=1).transpose(1, 2, 0))
        for product in range(products):
            own = numpy.exp(0.05 * generator.standard_normal((10, count)))
            used = made[(product + numpy.arange(10)) % 20]
            figures = numpy.einsum("kd,kid->id", own, used)
            if statistics:
                statistics(figures)

    return median(work, 3)


def statistics():
    """The same with mean, standard deviation and three percentiles of every indicator."""
    def take(figures):
        count = figures.shape[1]
        figures.mean(axis=1)
        figures.std(axis=1, ddof=1)
        ranks = [count // 40, count // 2, count - count // 40 - 1]
        numpy.partition(figures, ranks, axis=1)[:, ranks]

    return draws(take)


PEERS = {"network": network, "lognormal": lognormal, "draws": draws, "statistics": statistics}
print(PEERS[sys.argv[1]](*sys.argv[2:]))

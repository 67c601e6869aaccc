"""Loops solved by the graph, small and large, against scipy (dense LAPACK and SuperLU).

Usage: loops_against_scipy.py PRINT_LOOPS
"""
import subprocess
import sys

try:
    import numpy
    from scipy.sparse import csc_matrix, identity
    from scipy.sparse.linalg import splu
except ImportError:
    print("SKIPPED: python3-scipy is not installed")
    sys.exit(77)

tokens = subprocess.run([sys.argv[1]], check=True, capture_output=True, text=True).stdout.split()
at, loops, worst = 0, 0, 0.0


def take(count):
    global at
    at += count
    return tokens[at - count:at]


def table(size, sides):
    return numpy.array(take(size * sides), dtype=float).reshape(size, sides)


while at < len(tokens):
    size, sides, entries = map(int, take(3))
    triples = numpy.array(take(3 * entries), dtype=float).reshape(entries, 3)
    c = csc_matrix((triples[:, 2], (triples[:, 0].astype(int), triples[:, 1].astype(int))), shape=(size, size))
    a = csc_matrix(identity(size) - c)  # duplicate places are added up
    b, x, transposed = (table(size, sides) for _ in range(3))
    sparse = splu(a)
    for found, expected in [(x, numpy.linalg.solve(a.toarray(), b)), (x, sparse.solve(b)),
                            (transposed, sparse.solve(b, trans="T"))]:
        off = numpy.max(numpy.abs(found - expected)) / numpy.max(numpy.abs(expected))
        worst = max(worst, off)
    loops += 1
print(f"{loops} loops, largest relative difference {worst:.1e}")
sys.exit(0 if loops == 7 and worst < 1e-12 else 1)

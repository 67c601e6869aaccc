"""First-order budgets of published measurement models against python3-uncertainties, and against what is printed.

Printed values: NIST TN 1900 (2015), examples E13 and E3, and the manual of the NIST Uncertainty Machine, all seen
second-hand and recomputed. Usage: budgets_against_uncertainties.py PRINT_BUDGETS
"""
import math
import subprocess
import sys

try:
    from uncertainties import ufloat, umath
except ImportError:
    print("SKIPPED: python3-uncertainties is not installed")
    sys.exit(77)

BITS = 1e-12


def expansion():
    l0, l1, t0, t1 = (ufloat(v, u, tag=n) for n, v, u in
                      [("l0", 1.4999, 1e-4), ("l1", 1.5021, 2e-4), ("t0", 288.15, 0.02), ("t1", 373.10, 0.05)])
    return (l1 - l0) / (l0 * (t1 - t0))


def viscometer():
    mu, tm, rm, rc, tc, rb = (ufloat(v, u, tag=n) for n, v, u in [
        ("mu_c", 4.63, 0.0463), ("t_m", 61.0, 6.1), ("rho_m", 1180.0, 0.5), ("rho_c", 810.0, 0.5),
        ("t_c", 36.6, 5.49), ("rho_b", 2217.0, 0.5)])
    return mu * tm * (rb - rm) / (tc * (rb - rc))


def radiation():
    h, r, ry, el, al = (ufloat(v, u, tag=n) for n, v, u in [
        ("h", 6.62606957e-34, 0.00000029e-34), ("r", 8.3144621, 0.0000075), ("rydberg", 10973731.568539, 0.000055),
        ("electron", 5.4857990946e-4, 0.0000000022e-4), ("alpha", 7.2973525698e-3, 0.0000000024e-3)])
    return 32 * math.pi ** 5 * h * r ** 4 * ry ** 4 / (15 * el ** 4 * 0.001 ** 4 * 299792458 ** 6 * al ** 8)


def functions():
    x, y = ufloat(1.7, 0.1, tag="x"), ufloat(0.6, 0.05, tag="y")
    return umath.sqrt(x) * umath.exp(-x * y) + umath.log(x + y) * y


PRINTED = {"expansion": (1.7266e-5, 5e-10, 1.76e-6, 5e-9), "viscometer": (5.69, 5e-3, None, None),
           "radiation": (5.67037e-8, 5e-14, 2.05e-13, 5e-16)}


def near(found, expected, what):
    assert abs(found - expected) <= BITS * abs(expected), f"{what}: {found}, expected {expected}"


def main():
    lines = iter(subprocess.run([sys.argv[1]], check=True, capture_output=True, text=True).stdout.splitlines())
    for head in lines:
        name, value, deviation, count = head.split()
        expected = globals()[name]()
        near(float(value), expected.nominal_value, name)
        near(float(deviation), expected.std_dev, f"u of {name}")
        parts = {variable.tag: (expected.derivatives[variable], part)
                 for variable, part in expected.error_components().items()}
        assert len(parts) == int(count)
        for _ in range(int(count)):
            address, derivative, own, share = next(lines).split()
            near(float(derivative), parts[address][0], f"derivative of {name} by {address}")
            near(abs(float(derivative)) * float(own), parts[address][1], f"part of {address} in {name}")
            near(float(share), (parts[address][1] / expected.std_dev) ** 2, f"share of {address} in {name}")
        if name in PRINTED:
            printed, within, u, u_within = PRINTED[name]
            assert abs(float(value) - printed) <= within, name
            assert u is None or abs(float(deviation) - u) <= u_within, name
    print("four budgets agree with python3-uncertainties")


main()

"""Steam and water over a grid against the general library iapws (Debian package python3-iapws).

Usage: steam_against_iapws.py PRINT_STEAM
"""
import subprocess
import sys

try:
    from iapws import iapws97
except ImportError:
    print("SKIPPED: python3-iapws is not installed")
    sys.exit(77)

TOLERANCE = 1e-12  # relative: both evaluate the same published polynomials, in another order


def state(p, t):
    if t > 623.15 or p <= iapws97._PSat_T(t):
        return iapws97._Region2(t, p)
    return iapws97._Region1(t, p)


REFERENCE = {
    "steam_h": lambda p, t: state(p, t)["h"],
    "steam_s": lambda p, t: state(p, t)["s"],
    "liquid_h": lambda p, t: iapws97._Region1(iapws97._TSat_P(p), p)["h"],
    "vapour_h": lambda p, t: iapws97._Region2(iapws97._TSat_P(p), p)["h"],
    "liquid_s": lambda p, t: iapws97._Region1(iapws97._TSat_P(p), p)["s"],
    "vapour_s": lambda p, t: iapws97._Region2(iapws97._TSat_P(p), p)["s"],
    "boiling_t": lambda p, t: iapws97._TSat_P(p),
    "boiling_p": lambda p, t: iapws97._PSat_T(t),
}

def main():
    lines = subprocess.run([sys.argv[1]], check=True, capture_output=True, text=True).stdout.splitlines()
    worst = {}
    for line in lines:
        name, p, t, value = line.split()
        expected = REFERENCE[name](float(p), float(t))
        # enthalpy and entropy pass through zero near the triple point
        off = abs(float(value) - expected) / max(abs(expected), 1.0)
        if off > worst.get(name, (-1.0,))[0]:
            worst[name] = (off, p, t)
    for name in REFERENCE:
        off, p, t = worst[name]
        print(f"{name}: largest relative difference {off:.1e} at p {p} MPa, T {t} K")
    print(len(lines), "values")
    return 0 if len(lines) > 10000 and all(w[0] < TOLERANCE for w in worst.values()) else 1


sys.exit(main())

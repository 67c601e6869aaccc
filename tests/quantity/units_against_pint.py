"""Compares every symbol of the unit table with pint (python3-pint), in exact fractions.

Usage: units_against_pint.py PRINT_UNITS. Fails when a value differs, when a symbol is neither compared
nor listed with its reason, or when a listed difference no longer holds.
"""
import subprocess
import sys
from fractions import Fraction

import pint

# Symbols that pint has under another name, or in a definition that must be chosen.
NAMES = {
    "ADt": None, "klb": "1000 lb", "kt": "1000 t", "MMBtu": "1000000 Btu_it", "Btu": "Btu_it",
    "therm": "100000 Btu_it", "cal": "cal_it", "kcal": "1000 cal_it", "Gcal": "1000000000 cal_it",
    "year": "julian_year", "degC": "delta_degC", "degF": "delta_degF", "barg": "bar",
    "%": None, "points": None, "Nm3": None, "Sm3": None, "scf": None,
    "piece": "count", "roll": None, "sheet": None, "pack": None, "bundle": None, "case": None, "pallet": None,
}
# No such unit in pint: an air-dry tonne, shares, gas at reference conditions, counted things.

BASES = {
    "mass": "kg", "length": "m", "area": "m**2", "volume": "m**3", "time": "s", "temperature": "kelvin",
    "energy": "J", "power": "W", "pressure": "Pa", "force": "N", "pieces": "count",
    "amount of substance": "mol", "current": "A", "voltage": "V", "luminous intensity": "cd",
}

# Where pint's plain name means another unit than ours: (expression, its base, value in that base).
OTHER_DEFINITIONS = {
    "cal": ("cal", "J", Fraction("4.184")),            # thermochemical calorie
    "Btu": ("Btu", "J", Fraction("1055.056")),         # ISO 31-4 rounded
    "therm": ("therm", "J", Fraction("105505600")),    # 1e5 of that Btu
}


def exact(registry, expression, base):
    return Fraction(registry.Quantity(Fraction(1), expression).to(base).magnitude)


def value_in(registry, expression, base):
    number, _, unit = expression.partition(" ")
    return Fraction(number) * exact(registry, unit, base) if unit else exact(registry, expression, base)


def main():
    registry = pint.UnitRegistry(non_int_type=Fraction)
    rows = [line.split("\t") for line in
            subprocess.run([sys.argv[1]], check=True, capture_output=True, text=True).stdout.splitlines()]
    compared, wrong = 0, []
    for symbol, p, q, measures in rows:
        expression = NAMES.get(symbol, symbol)
        if expression is None:
            continue
        ours = Fraction(p) / Fraction(q)
        theirs = value_in(registry, expression, BASES[measures])
        compared += 1
        if ours != theirs:
            wrong.append(f"{symbol}: {ours} here, {theirs} as {expression} in pint")
    for symbol, (expression, base, value) in OTHER_DEFINITIONS.items():
        if exact(registry, expression, base) != value:
            wrong.append(f"{symbol}: the difference to pint's {expression} is not as listed")
    # Offsets: 175 degC and 100 degF in kelvin.
    for expression, kelvin in (("degC", Fraction("448.15")), ("degF", Fraction(100 * 100 + 45967, 180))):
        start = Fraction(175) if expression == "degC" else Fraction(100)
        if abs(Fraction(registry.Quantity(start, expression).to("kelvin").magnitude) - kelvin) > Fraction(1, 10**9):
            wrong.append(f"{expression}: offset differs")
    print(f"{compared} of {len(rows)} symbols compared")
    print("\n".join(wrong))
    return 1 if wrong or compared < 60 else 0


sys.exit(main())

"""Compares the values of 4000 random formulas with Python's own expressions, bit for bit.

Usage: formulas_against_python.py EVALUATE_FORMULAS. ^ is written ** for Python; signs, precedence and the order of
chains are then the same by both grammars (Python Language Reference, 6.17). Division by zero and values outside a
function's domain are left out.
"""
import math
import random
import subprocess
import sys

NAMES = {"a": 1.25, "b": 0.375, "c_d": 7.0}
FUNCTIONS = {"min": min, "max": max, "exp": math.exp, "ln": math.log, "sqrt": math.sqrt}


def any_formula(depth, rng):
    kind = rng.randrange(10) if depth > 0 else rng.randrange(3)
    sub = lambda: any_formula(depth - 1, rng)
    if kind < 2:
        return rng.choice(list(NAMES))
    if kind == 2:
        return rng.choice(["2", "0.5", "3.25", "1e1", "12"])
    if kind < 6:
        return f"{sub()}{rng.choice([' ', ''])}{rng.choice('+-*/')} {sub()}"
    if kind == 6:
        return f"-{sub()}"
    if kind == 7:
        return f"({sub()})"
    if kind == 8:
        # Python reads a ** -b as we do; the base is one name, number, call or parenthesis by both grammars.
        return f"({sub()})^{rng.choice(['2', '3', '-1', '0.5', '-2'])}"
    name = rng.choice(list(FUNCTIONS))
    count = rng.randrange(2, 4) if name in ("min", "max") else 1
    return f"{name}({', '.join(sub() for _ in range(count))})"


def value_in_python(formula):
    value = eval(formula.replace("^", "**"), {"__builtins__": {}}, {**NAMES, **FUNCTIONS})
    if isinstance(value, complex) or not math.isfinite(value):
        raise ValueError
    return float(value)


def main():
    rng = random.Random(20250101)
    cases = []
    while len(cases) < 4000:
        formula = any_formula(rng.randrange(1, 6), rng)
        try:
            cases.append((formula, value_in_python(formula)))
        except (ValueError, ZeroDivisionError, OverflowError, TypeError):
            continue
    text = "\n".join(formula for formula, _ in cases) + "\n"
    lines = subprocess.run([sys.argv[1]], input=text, check=True, capture_output=True, text=True).stdout.split()
    wrong = [f"{formula}: {line}, {value.hex()} in Python"
             for (formula, value), line in zip(cases, lines, strict=True)
             if not line.startswith(("0x", "-0x")) or float.fromhex(line) != value]
    print(f"{len(cases)} formulas compared, {len(wrong)} differ")
    print("\n".join(wrong[:20]))
    return 1 if wrong else 0


sys.exit(main())

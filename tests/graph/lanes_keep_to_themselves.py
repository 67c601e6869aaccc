"""The wide translation units may hand nothing to the linker but their table and their data: a copy of a
library function compiled for a wide processor could be taken for all uses of that function.

Usage: lanes_keep_to_themselves.py OBJECT...
"""
import subprocess
import sys

bad = []
for path in sys.argv[1:]:
    lines = subprocess.run(["nm", "-C", "--defined-only", path], check=True, capture_output=True, text=True)
    for line in lines.stdout.splitlines():
        kind, name = line.split(maxsplit=2)[1:]
        table = kind == "T" and name.startswith("deckle::lanes_")
        own_vector = kind == "W" and "__vector(" in name  # one width is compiled in one file only
        data = kind in "uVRD"
        local = kind.islower() and kind not in "uvw"
        if not (table or own_vector or data or local):
            bad.append(f"{path}: {kind} {name}")
print("\n".join(bad) if bad else f"{len(sys.argv) - 1} objects are clean")
sys.exit(1 if bad or len(sys.argv) < 4 else 0)

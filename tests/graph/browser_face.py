"""Runs the browser face of every operation under node, bit for bit against the engine.

Usage: browser_face.py PRINT_BROWSER
"""
import shutil
import subprocess
import sys

node = shutil.which("node") or shutil.which("nodejs")
if node is None:
    print("SKIPPED: nodejs is not installed")
    sys.exit(77)
script = subprocess.run([sys.argv[1]], check=True, capture_output=True, text=True).stdout
sys.exit(subprocess.run([node, "-"], input=script, text=True).returncode)

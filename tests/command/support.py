"""Runs the deckle command as a person does and looks at what comes back.

Every test module is called with the command and the source folder: MODULE.py DECKLE SOURCE. Only the
standard library and python3-jsonschema are used.
"""
import fcntl
import json
import os
import pathlib
import pty
import select
import shutil
import struct
import subprocess
import sys
import tempfile
import termios
import unittest

HERE = pathlib.Path(__file__).resolve().parent
DECKLE = ""
SOURCE = pathlib.Path()
# The sanitizers see the same faults in each round of a loop and take ten times as long for it.
SANITIZED = False
# Seconds after which a run hangs; no measure of speed, so far above what a slow machine takes.
PATIENCE = 900


class Outcome:
    """Exit status and both streams of one run."""

    def __init__(self, status, out, err):
        self.status, self.out, self.err = status, out, err

    def json(self):
        return json.loads(self.out)


def environment(**more):
    """A plain environment, so that a test does not depend on who runs it."""
    kept = {k: v for k, v in os.environ.items() if k.startswith(("ASAN", "UBSAN", "LSAN", "LD_"))}
    return {"PATH": "/usr/bin:/bin", "LANG": "C.UTF-8", **kept, **more}


def deckle(*words, cwd=None, **streams):
    """Runs the command with both streams caught."""
    streams.setdefault("stdout", subprocess.PIPE)
    done = subprocess.run([DECKLE, *map(str, words)], cwd=cwd, stderr=subprocess.PIPE, env=environment(),
                          stdin=subprocess.DEVNULL, timeout=PATIENCE, **streams)
    out = (done.stdout or b"").decode("utf-8")
    return Outcome(done.returncode, out, done.stderr.decode("utf-8"))


def on_terminal(*words, columns=80, **variables):
    """Runs the command with a terminal of that width as all its streams; returns (status, text)."""
    variables.setdefault("TERM", "xterm-256color")
    child, terminal = pty.fork()
    if child == 0:
        os.execve(DECKLE, [DECKLE, *map(str, words)], environment(**variables))
    fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 40, columns, 0, 0))
    text = b""
    while select.select([terminal], [], [], PATIENCE)[0]:
        try:
            piece = os.read(terminal, 65536)
        except OSError:
            break
        if not piece:
            break
        text += piece
    _, status = os.waitpid(child, 0)
    return os.waitstatus_to_exitcode(status), text.decode("utf-8").replace("\r\n", "\n")


class CommandTest(unittest.TestCase):
    """Adds a scratch folder and the questions that every test asks."""

    def setUp(self):
        scratch = tempfile.TemporaryDirectory()
        self.addCleanup(scratch.cleanup)
        self.scratch = pathlib.Path(scratch.name)

    def write(self, name, text):
        path = self.scratch / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
        return path

    def copy_of(self, study, **replaced):
        """A copy of a shipped study; `replaced` maps file names (dots as __) to a function of their text."""
        folder = self.scratch / study
        folder.mkdir(parents=True)
        for path in (SOURCE / "inventories" / study).iterdir():
            change = replaced.get(path.name.replace(".", "__"))
            text = path.read_text("utf-8")
            changed = change(text) if change else text
            if change:
                self.assertNotEqual(text, changed, f"the change of {path.name} changes nothing")
            (folder / path.name).write_text(changed, "utf-8")
        return folder

    def changed_small(self, file, old, new):
        """The small study with one text in place of another."""
        study = self.scratch / "study"
        shutil.copytree(HERE / "small_study", study)
        text = (study / file).read_text("utf-8")
        self.assertEqual(text.count(old), 1, old)
        (study / file).write_text(text.replace(old, new), "utf-8")
        return study

    def assert_done(self, outcome):
        self.assertEqual(outcome.status, 0, outcome.err)
        self.assertEqual(outcome.err, "")

    def assert_refused(self, outcome, *fragments, status=2):
        """The status, nothing on standard output, and every fragment in the message."""
        self.assertEqual(outcome.status, status, outcome.err)
        self.assertEqual(outcome.out, "")
        for fragment in fragments:
            self.assertIn(fragment, outcome.err)


def study_folder(name):
    return SOURCE / "inventories" / name


def shipped():
    """The studies that are shipped; under the sanitizers the smaller."""
    return [study_folder(name) for name in ("worked_example", "demonstration")[:1 if SANITIZED else None]]


def at_scale(count):
    """So many; under the sanitizers a twentieth."""
    return count // 20 if SANITIZED else count


def main():
    global DECKLE, SOURCE, SANITIZED
    # The module that runs is __main__; tests reach these through this module.
    DECKLE, SOURCE = sys.argv[1], pathlib.Path(sys.argv[2])
    SANITIZED = b"__asan_init" in pathlib.Path(DECKLE).read_bytes()
    unittest.main(module="__main__", argv=[sys.argv[0], *sys.argv[3:]])

"""Transcripts: what the command prints, to the byte, over the small study and in the README; its scripts run.

golden/NAME.txt and every ```console block of README.md hold lines `$ deckle ...` with what is printed under them,
`status N` where it is not 0. In the README a line `...` stands for any lines, and `./get-started` for the footprint
that it prints.
`golden_test.py DECKLE SOURCE --update` writes golden/ and the README anew (but outputs with `...`): read the
difference, the commit says why.
"""
import pathlib
import re
import shlex
import shutil
import subprocess
import sys
import unittest

import support
from support import HERE, CommandTest, deckle

BLOCK = re.compile(r"^```console\n(.*?)^```$", re.M | re.S)
SCRIPT = re.compile(r"^```sh\n(.*?)^```$", re.M | re.S)
GOLDEN = sorted((HERE / "golden").glob("*.txt"))


def printed(line, folder):
    """What `$ deckle ...` prints: standard output, standard error, and the status when it is not 0."""
    outcome = deckle(*shlex.split(line)[1:], cwd=folder)
    text = re.sub(r"deckle \d+\.\d+\.\d+", "deckle VERSION", outcome.out + outcome.err)
    text = text.replace("\r\n", "\n")  # line ends of CSV: footprint_test.py
    return text if outcome.status == 0 else f"{text}status {outcome.status}\n"


def commands_in(text):
    """Pairs of the command typed and what stands under it."""
    text = text.replace("$ ./get-started\n", "$ deckle footprint inventories/demonstration\n")
    parts = re.split(r"^\$ (deckle.*)\n", text, flags=re.M)
    return list(zip(parts[1::2], parts[2::2]))


class Golden(CommandTest):
    maxDiff = None

    def test_transcripts(self):
        self.assertGreater(len(GOLDEN), 5)
        for path in GOLDEN:
            for line, expected in commands_in(path.read_text("utf-8")):
                with self.subTest(line):
                    self.assertEqual(printed(line, HERE), expected)

    def needs_no_sanitizer(self):
        if support.SANITIZED:
            self.skipTest("the transcripts run every verb under the sanitizers")

    def test_readme(self):
        self.needs_no_sanitizer()
        blocks = BLOCK.findall((support.SOURCE / "README.md").read_text("utf-8"))
        commands = [pair for block in blocks for pair in commands_in(block)]
        self.assertGreater(len(commands), 0)
        for line, expected in commands:
            with self.subTest(line):
                pattern = "".join(".*\n(?:.*\n)*?" if one == "...\n" else re.escape(one) for one in expected.splitlines(True))
                found = printed(line, support.SOURCE)
                if not re.fullmatch(pattern, found):
                    self.assertEqual(found, expected)

    def scripts(self):
        """Lines that go on after a backslash are joined."""
        return SCRIPT.findall((support.SOURCE / "README.md").read_text("utf-8").replace("\\\n", " "))

    def test_scripts_of_the_readme_run_one_after_another(self):
        """In a folder that has what a source tree has; batch scripts, which need a cluster, are read below."""
        self.needs_no_sanitizer()
        for folder in ("inventories", "factors"):
            shutil.copytree(support.SOURCE / folder, self.scratch / folder)
        (self.scratch / "bin").mkdir()
        (self.scratch / "bin" / "deckle").symlink_to(support.DECKLE)
        path = f"{self.scratch / 'bin'}:/usr/bin:/bin"
        run = [script for script in self.scripts() if not script.startswith("#!")]
        self.assertGreater(len(run), 3)
        for script in run:
            with self.subTest(script):
                done = subprocess.run(["bash", "-e", "-c", script], cwd=self.scratch, capture_output=True, text=True,
                                      env=support.environment(PATH=path), timeout=support.PATIENCE)
                self.assertEqual((done.returncode, done.stderr), (0, ""))

    def test_options_in_scripts_and_sentences_exist(self):
        text = (support.SOURCE / "README.md").read_text("utf-8")
        for script in self.scripts():
            subprocess.run(["sh", "-n", "-c", script], check=True)
        lines = "\n".join(self.scripts()).splitlines() + re.findall(r"`(deckle [^`]+)`", text)
        for line in lines + re.findall(r"^\$ (deckle .*)$", text, re.M):
            if not line.startswith("deckle "):
                continue
            with self.subTest(line):
                known = deckle(line.split()[1], "--help")
                self.assertEqual(known.status, 0)
                for option in re.findall(r"(?<=\s)--[a-z-]+", line):
                    self.assertIn(option, known.out)


def update():
    support.DECKLE, support.SOURCE = sys.argv[1], pathlib.Path(sys.argv[2])
    for path in GOLDEN:
        commands = re.findall(r"^\$ (deckle.*)$", path.read_text("utf-8"), re.M)
        path.write_text("".join(f"$ {line}\n{printed(line, HERE)}" for line in commands), "utf-8")
    readme = support.SOURCE / "README.md"
    text = readme.read_text("utf-8")
    for block in BLOCK.findall(text):
        for line, expected in commands_in(block):
            if "...\n" not in expected.splitlines(True):
                text = text.replace(f"$ {line}\n{expected}", f"$ {line}\n{printed(line, support.SOURCE)}")
    readme.write_text(text, "utf-8")


if __name__ == "__main__":
    if sys.argv[-1] == "--update":
        update()
    else:
        support.main()

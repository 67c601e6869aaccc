"""The man page and the completion that the build writes: MANUAL_FOLDER is the third argument."""
import pathlib
import re
import subprocess
import sys
import unittest

import support
from support import CommandTest, deckle

FOLDER = pathlib.Path(sys.argv.pop(3))


def options_in(text):
    return set(re.findall(r"(?<![\w-])--[a-z-]+", text))


class ManPage(CommandTest):
    def test_man_shows_it_without_a_warning(self):
        done = subprocess.run(["man", "--warnings", "-E", "UTF-8", "-l", "-Tutf8", "-Z", FOLDER / "deckle.1"],
                              capture_output=True, text=True, timeout=support.PATIENCE, env=support.environment())
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertEqual(done.stderr, "")

    def test_its_lines_are_short_and_begin_no_request_by_chance(self):
        """man-pages(7): lines of the source of at most 80 characters; groff(7): a leading dot is a request."""
        known = (".TH", ".SH", ".SS", ".TP", ".B", ".br", ".PP", ".RS", ".RE", ".nf", ".fi")
        literal = False
        for line in (FOLDER / "deckle.1").read_text("utf-8").splitlines()[3:]:
            literal = line == ".nf" or (literal and line != ".fi")
            if not literal:
                self.assertLessEqual(len(line), 80, line)
            self.assertNotEqual(line[:1], "'", line)
            if line.startswith("."):
                self.assertIn(line.split()[0], known)

    def test_it_has_what_every_help_has(self):
        page = (FOLDER / "deckle.1").read_text("utf-8").replace("\\-", "-")
        for verb in re.findall(r"^  ([a-z]+)  ", deckle("--help").out.split("All verbs")[1], re.M):
            self.assertIn(f".SS {verb}\n", page)
            missing = options_in(deckle(verb, "--help").out) - options_in(page)
            self.assertEqual(missing, set(), verb)

    def test_statuses_and_version(self):
        page = (FOLDER / "deckle.1").read_text("utf-8")
        for status in ("0", "1", "2", "3", "70"):
            self.assertIn(f".TP\n.B {status}\n", page)
        self.assertIn(deckle("--version").out.strip(), page)


class Completion(CommandTest):
    """Asks a real bash what it would offer."""

    def offers(self, *words):
        script = (f'source "{FOLDER / "deckle.bash"}"; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _deckle; '
                  'printf "%s\\n" "${COMPREPLY[@]}"')
        done = subprocess.run(["bash", "--norc", "-c", script, "bash", *words], capture_output=True, text=True,
                              cwd=self.scratch, timeout=support.PATIENCE, env=support.environment())
        self.assertEqual(done.stderr, "")
        return [line for line in done.stdout.splitlines() if line]

    def test_verbs(self):
        self.assertEqual(self.offers("deckle", "f"), ["footprint", "factors"])
        self.assertEqual(self.offers("deckle", "")[:4], ["footprint", "trace", "compare", "check"])

    def test_options_of_the_verb_alone(self):
        self.assertEqual(self.offers("deckle", "trace", "s", "a", "--d"), ["--depth"])
        self.assertEqual(self.offers("deckle", "check", "s", "--d"), [])

    def test_choices(self):
        self.assertEqual(self.offers("deckle", "footprint", "s", "--by", "s"), ["stage", "scope"])
        self.assertEqual(self.offers("deckle", "footprint", "s", "--by", "=", "u"), ["user", "use"])
        self.assertEqual(self.offers("deckle", "trace", "s", "a", "--format", ""), ["text", "json"])

    def test_words_of_the_study(self):
        """As GNU Bash's manual, 8.6, has it: a completion offers what fits the word typed so far."""
        study = str(support.SOURCE / "inventories/demonstration")
        command = str(support.DECKLE)
        self.assertEqual(self.offers(command, "footprint", study, "--indicator", "water_s"), ["water_scarcity"])
        self.assertEqual(self.offers(command, "footprint", study, "--product", "nap"), ["napkin_2ply"])
        self.assertIn("roll", self.offers(command, "footprint", study, "--per", "r"))
        self.assertEqual(self.offers(command, "trace", study, "results.napkin_2ply.t.climate_w"),
                         ["results.napkin_2ply.t.climate_with_uptake"])
        self.assertEqual(self.offers(command, "footprint", "nowhere", "--per", ""), [])

    def test_files_with_spaces(self):
        self.write("my study/study.yaml", "")
        self.assertEqual(self.offers("deckle", "check", "my"), ["my study"])
        self.assertEqual(self.offers("deckle", "check", "x", "-o", "my"), ["my study"])

    def test_every_option_of_every_help_is_offered(self):
        for verb in self.offers("deckle", ""):
            if verb.startswith("-"):
                continue
            offered = set(self.offers("deckle", verb, "s", "--"))
            self.assertEqual(options_in(deckle(verb, "--help").out.split("Example\n")[0]), offered, verb)

    def test_it_registers_itself(self):
        done = subprocess.run(["bash", "--norc", "-c", f'source "{FOLDER / "deckle.bash"}"; complete -p deckle'],
                              capture_output=True, text=True, timeout=support.PATIENCE)
        self.assertEqual(done.stdout.strip(), "complete -F _deckle deckle")


if __name__ == "__main__":
    support.main()

"""What a person sees who types --help, --version or something that does not exist."""
import re
import unittest

import support
from support import CommandTest, deckle

VERBS = ("footprint", "trace", "check", "factors", "sensitivity", "breakeven", "seal", "verify", "difference", "sample", "workbook", "page",
         "demonstration")
PERSONS = ("sustainability officer", "mill energy manager", "auditor", "application engineer")


class Help(CommandTest):
    def test_help_lists_the_verbs_by_person(self):
        outcome = deckle("--help")
        self.assert_done(outcome)
        places = [outcome.out.index(f"\n{person}, who ") for person in PERSONS]
        self.assertEqual(places, sorted(places))
        for verb in VERBS:
            self.assertIn(f"\n  {verb} ", outcome.out)

    def test_every_verb_listed_exists(self):
        for verb in re.findall(r"^  ([a-z]+) ", deckle("--help").out, re.M):
            self.assert_done(deckle(verb, "--help"))

    def test_help_of_every_verb_has_all_parts(self):
        for verb in VERBS:
            with self.subTest(verb):
                text = deckle(verb, "--help").out
                for part in (f"deckle {verb}: ", "usage: ", "\nExample\n", "\nExit status\n", "--help"):
                    self.assertIn(part, text)

    def test_help_says_unit_default_and_choices(self):
        text = " ".join(deckle("footprint", "--help").out.split())
        self.assertIn("climate [kg CO2e]", text)
        self.assertIn("(default: text)", text)
        self.assertIn("one of stage, process, user, use, factor, gas, scope", text)

    def test_help_is_at_most_a_hundred_columns_when_piped(self):
        for words in (["--help"], *([verb, "--help"] for verb in VERBS)):
            for line in deckle(*words).out.splitlines():
                self.assertLessEqual(len(line), 100, line)

    def test_worked_example_of_every_verb_runs(self):
        for verb in VERBS:
            with self.subTest(verb):
                text = deckle(verb, "--help").out
                line = re.search(r"^Example\n  ((?:.+\\\n)*.+)$", text, re.M).group(1)
                self.run_in_shell(line)

    def run_in_shell(self, line):
        bin_folder = self.scratch / "bin"
        bin_folder.mkdir(exist_ok=True)
        link = bin_folder / "deckle"
        if not link.exists():
            link.symlink_to(support.DECKLE)
        done = support.subprocess.run(["bash", "-c", line], cwd=self.scratch, capture_output=True, text=True,
                                      env=support.environment(PATH=f"{bin_folder}:/usr/bin:/bin"), timeout=support.PATIENCE)
        self.assertIn(done.returncode, (0, 1), done.stderr)
        self.assertEqual(done.stderr, "")

    def test_version(self):
        outcome = deckle("--version")
        self.assert_done(outcome)
        self.assertRegex(outcome.out, r"^deckle \d+\.\d+\.\d+\n$")


class Usage(CommandTest):
    def test_nothing_typed(self):
        self.assert_refused(deckle(), "needs a verb", "deckle --help", "[usage]")

    def test_unknown_verb_names_the_nearest(self):
        self.assert_refused(deckle("footprnt"), "no verb `footprnt`", "did you mean footprint?")

    def test_unknown_verb_far_from_all_lists_them(self):
        self.assert_refused(deckle("zzz"), "it has footprint, trace, compare, check, factors, uncertainty, merge, sensitivity, breakeven, seal, verify, keys, difference, sample, workbook, disclose, page, demonstration")

    def test_unknown_option_names_the_nearest(self):
        self.assert_refused(deckle("footprint", ".", "--prodct", "x"), "no option --prodct", "did you mean --product?")

    def test_option_of_another_verb(self):
        self.assert_refused(deckle("trace", ".", "a", "--by", "stage"), "trace has no option --by")

    def test_wrong_choice_names_the_nearest(self):
        self.assert_refused(deckle("footprint", ".", "--by", "stages"), "--by does not take `stages`", "did you mean stage?")

    def test_missing_places(self):
        self.assert_refused(deckle("footprint"), "footprint needs STUDY")
        self.assert_refused(deckle("trace", "."), "trace needs ADDRESS")

    def test_too_many_places(self):
        self.assert_refused(deckle("check", ".", "more"), "takes nothing more", "`more`")

    def test_missing_value(self):
        self.assert_refused(deckle("check", ".", "--format"), "--format needs FORM")

    def test_same_option_twice(self):
        self.assert_refused(deckle("check", ".", "--format", "text", "--format", "csv"), "--format was typed twice")

    def test_two_dashes_end_the_options(self):
        """POSIX.1-2017, 12.2, guideline 10."""
        small = support.HERE / "small_study"
        self.assertEqual(deckle("check", "--format", "csv", "--", small).out, deckle("check", small, "--format", "csv").out)
        self.assert_refused(deckle("check", "--", "--format"), "--format", "[missing-file]")

    def test_numbers(self):
        for typed in ("0", "-3", "3.5", "x", "1e3", "99999999999999999999", ""):
            with self.subTest(typed):
                self.assert_refused(deckle("trace", ".", "a", f"--depth={typed}"), "--depth", "[usage]")

    def test_process_without_by_user(self):
        self.assert_refused(deckle("footprint", ".", "--process", "x"), "--by user")

    def test_typed_escapes_are_shown_not_obeyed(self):
        outcome = deckle("\x1b[31mred\u202e\n")
        self.assert_refused(outcome, r"\x1b[31mred\u202e\n")
        self.assertNotIn("\x1b", outcome.err)


if __name__ == "__main__":
    support.main()

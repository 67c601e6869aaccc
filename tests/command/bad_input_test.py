"""Files that no one should type: an error with its place, or the right answer; never a crash or half a result."""
import json
import os
import re
import shutil
import subprocess
import threading
import time
import unittest

import support
from support import HERE, CommandTest, deckle

SMALL = HERE / "small_study"
PRINTED = re.compile(r"^(?:[^\n:]+:\d+:\d+: )?error: .+ \[[a-z0-9-]+\]$", re.M)


class BadInput(CommandTest):
    def setUp(self):
        super().setUp()
        self.study = self.scratch / "study"
        shutil.copytree(SMALL, self.study)

    def change(self, name, old, new):
        path = self.study / name
        text = path.read_text("utf-8")
        self.assertEqual(text.count(old), 1, f"{old} in {name}")
        path.write_text(text.replace(old, new), "utf-8")

    def assert_bad(self, *fragments, status=2):
        """Refused by every verb that reads a study, in the same words."""
        outcomes = [deckle(*words, cwd=self.scratch) for words in
                    (("footprint", "study"), ("check", "study"), ("trace", "study", "results.towel.roll.climate"))]
        for outcome in outcomes:
            self.assert_refused(outcome, *fragments, status=status)
            self.assertRegex(outcome.err, PRINTED)
            self.assertEqual(outcome.err, outcomes[0].err)
        return outcomes[0].err

    def same_figures(self):
        """The changed files mean the same as the ones they came from."""
        expected = deckle("footprint", SMALL, "--format", "json")
        outcome = deckle("footprint", self.study, "--format", "json")
        self.assert_done(outcome)
        self.assertEqual(outcome.json()["results"], expected.json()["results"])


class Places(BadInput):
    def test_a_study_that_is_not_there(self):
        self.assert_refused(deckle("footprint", "none.yaml", cwd=self.scratch), "none.yaml", "[missing-file]")

    def test_a_folder_without_a_study(self):
        self.write("empty/other.yaml", "")
        self.assert_refused(deckle("footprint", "empty", cwd=self.scratch), "study.yaml", "[missing-file]")

    def test_a_file_that_the_study_names_and_is_not_there(self):
        self.change("study.yaml", "prices.yaml]", "price.yaml]")
        err = self.assert_bad("price.yaml", "[missing-file]")
        self.assertIn("study/study.yaml:13:54: error", err)

    def test_a_folder_in_place_of_a_file(self):
        self.change("study.yaml", "mills: [mill.yaml]", "mills: [..]")
        self.assert_bad("study/study.yaml:14:9: error", "[not-a-file]")

    def test_a_device_in_place_of_a_file(self):
        self.change("study.yaml", "mills: [mill.yaml]", "mills: [/dev/zero]")
        self.assert_bad("[not-a-file]")

    def test_a_pipe_in_place_of_a_file(self):
        os.mkfifo(self.study / "pipe.yaml")
        self.change("study.yaml", "mills: [mill.yaml]", "mills: [pipe.yaml]")
        self.assert_bad("[not-a-file]")

    @unittest.skipIf(os.geteuid() == 0, "root may read everything")
    def test_a_file_without_permission(self):
        (self.study / "mill.yaml").chmod(0)
        self.assert_bad("[unreadable-file]")

    def test_a_name_with_escapes_is_shown(self):
        outcome = deckle("footprint", "no\x1b[31m\nne", cwd=self.scratch)
        self.assert_refused(outcome, r"no\x1b[31m\nne")
        self.assertNotIn("\x1b", outcome.err)


class Bytes(BadInput):
    def test_crlf_means_the_same(self):
        for path in self.study.iterdir():
            path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
        self.same_figures()

    def test_crlf_moves_no_place(self):
        self.change("mill.yaml", "losses: 9 %", "losses: 9 bananas")
        plain = self.assert_bad("[unknown-unit]")
        path = self.study / "mill.yaml"
        path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
        self.assertEqual(self.assert_bad("[unknown-unit]"), plain)

    def test_a_byte_order_mark_means_nothing(self):
        for path in self.study.iterdir():
            path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
        self.same_figures()

    def test_latin_1(self):
        path = self.study / "products.yaml"
        path.write_bytes(path.read_bytes().replace(b"Kitchen towel", b"K\xfcchenrolle"))
        shown = self.assert_bad("products.yaml:3:13", "0xfc", "UTF-8", "[not-utf8]")
        self.assertIn("title: K?chenrolle", shown)  # the line, and what is wrong in it

    def test_utf_16(self):
        path = self.study / "mill.yaml"
        path.write_bytes(path.read_text("utf-8").encode("utf-16"))
        self.assert_bad("mill.yaml", "[not-utf8]")

    def test_binary_junk(self):
        junk = bytes((i * 73 + (i >> 3)) % 256 for i in range(4096))
        for name, code in (("mill.yaml", r"\[(binary-file|not-utf8)\]"), ("labels.csv", r"\[(binary-file|not-utf8)\]"),
                           ("study.yaml", r"\[(binary-file|not-utf8)\]")):
            with self.subTest(name):
                kept = (self.study / name).read_bytes()
                (self.study / name).write_bytes(junk)
                self.assertRegex(self.assert_bad(name), code)
                (self.study / name).write_bytes(kept)

    def test_a_null_byte(self):
        path = self.study / "mill.yaml"
        path.write_bytes(path.read_bytes().replace(b"Gas boiler", b"Gas\x00boiler"))
        self.assert_bad("0x00", "[binary-file]")

    def test_an_empty_file(self):
        for name in ("study.yaml", "mill.yaml", "factors.yaml", "products.yaml", "labels.csv"):
            for content in (b"", b"\n \n", b"# nothing\n"):
                with self.subTest(name, content=content):
                    kept = (self.study / name).read_bytes()
                    (self.study / name).write_bytes(content)
                    self.assert_bad(name)
                    (self.study / name).write_bytes(kept)

    def test_a_file_of_a_hundred_megabytes(self):
        with open(self.study / "factors.yaml", "ab") as file:
            file.truncate(100_000_000)
        started = time.monotonic()
        self.assert_bad("factors.yaml has 100 MB", "up to 64 MB", "[file-too-large]")
        self.assertLess(time.monotonic() - started, 10)

    def test_a_large_file_that_is_allowed(self):
        """60 MB of comments between the factors take seconds, not minutes, and change nothing."""
        path = self.study / "factors.yaml"
        path.write_text(path.read_text("utf-8") + "# nothing to see in this line\n" * support.at_scale(2_000_000), "utf-8")
        self.same_figures()


    def test_a_table_in_one_line(self):
        """What json.dumps writes: 40,000 factors in a line of 6 MB, each looked at once."""
        factor = {"title": "Starch", "kind": "chemical", "per": "1 kg",
                  "climate": {"fossil": "1 kg", "biogenic": "0 kg", "land_use": "0 kg", "characterization": "ar6_100"}}
        table = {"table": "many", "title": "Many factors", "source": {"title": "Invented", "year": 2026},
                 "factors": {f"starch_{i}": factor for i in range(support.at_scale(40_000))}}
        self.write("study/many.yaml", json.dumps(table))
        self.change("study.yaml", "factors.yaml,", "factors.yaml, many.yaml,")
        self.same_figures()


class Bombs(BadInput):
    def test_aliases(self):
        """The billion laughs, in YAML."""
        levels = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
        for i in range(1, 12):
            levels.append(f"a{i}: &a{i} [" + ", ".join([f"*a{i - 1}"] * 9) + "]")
        self.write("study/mill.yaml", "\n".join(levels) + "\n")
        self.assert_bad("mill.yaml:1:", "[yaml-feature]")

    def test_an_alias_of_itself(self):
        self.write("study/mill.yaml", "mill: &a [*a]\n")
        self.assert_bad("[yaml-feature]")

    def test_depth(self):
        for opening, closing in (("[", "]"), ("{a: ", "}")):
            for depth in (33, 1000, support.at_scale(200_000)):
                for end in (closing * depth, ""):
                    with self.subTest(opening=opening, depth=depth, closed=bool(end)):
                        self.write("study/mill.yaml", "mill: " + opening * depth + end + "\n")
                        self.assertRegex(self.assert_bad("mill.yaml"), r"\[(too-deep|yaml-syntax)\]")

    def test_depth_by_indentation(self):
        self.write("study/mill.yaml", "".join(" " * i + f"k{i}:\n" for i in range(2000)))
        self.assertRegex(self.assert_bad("mill.yaml"), r"\[(too-deep|yaml-syntax)\]")

    def test_long_and_deep_formulas(self):
        formula = "reel_dryness / press_dryness - 1"
        for new, code in (("(" * 300 + "reel_dryness" + ")" * 300, "formula-too-deep"),
                          ("(" * 100_000 + "reel_dryness" + ")" * 100_000, "formula-too-long"),
                          ("reel_dryness" + " + reel_dryness" * 2000, "formula-too-long")):
            self.change("mill.yaml", formula, new)
            self.assert_bad("study/mill.yaml:7:", f"[{code}]")
            shutil.copy(SMALL / "mill.yaml", self.study / "mill.yaml")

    def test_parentheses_that_are_allowed(self):
        self.change("mill.yaml", "reel_dryness / press_dryness - 1", "(" * 200 + "reel_dryness / press_dryness" + ")" * 200 + " - 1")
        self.same_figures()

    def test_a_long_quantity(self):
        self.change("products.yaml", "grammage: 21 g/m2", "grammage: 21 g/m2" + " " * 5000 + "x")
        self.assert_bad("study/products.yaml:6:15", "[text-too-long]")

    def test_a_line_of_a_million_characters(self):
        self.change("mill.yaml", "losses: 9 %", "losses: " + "9" * 1_000_000)
        err = self.assert_bad("mill.yaml")
        self.assertLess(len(err), 20_000)

    def test_a_million_keys(self):
        self.write("study/mill.yaml", "mill: vorrelby\n" + "".join(f"k{i}: {i}\n" for i in range(support.at_scale(300_000))))
        err = self.assert_bad("[unknown-key]", "more\n")
        self.assertLess(len(err.splitlines()), 400)

    def test_a_long_chain_of_processes(self):
        """5,000 processes in a row are no loop: the answer is the last one's, 5,000 kWh a unit."""
        count = support.at_scale(5000)
        lines = ["  p0:\n    stage: energy\n    makes: {x0: {amount: 1 kWh, kind: electricity}}\n    uses: {grid: 1 kWh}\n"]
        for i in range(1, count):
            lines.append(f"  p{i}:\n    stage: energy\n    makes: {{x{i}: {{amount: 1 kWh, kind: electricity}}}}\n"
                         f"    uses: {{x{i - 1}: 1 kWh, grid: 1 kWh}}\n")
        path = self.study / "mill.yaml"
        path.write_text(path.read_text("utf-8") + "".join(lines), "utf-8")
        outcome = deckle("footprint", self.study, "--format", "json", "--product", f"x{count - 1}", "--indicator", "climate")
        self.assert_done(outcome)
        self.assertAlmostEqual(outcome.json()["results"][0]["location"], 0.2 * count, delta=1e-9)
        self.assert_done(deckle("trace", self.study, f"results.x{count - 1}.kWh.climate"))


class Numbers(BadInput):
    def test_what_is_no_number(self):
        whole = "{gas: 1.1 GJ LHV, electricity: 4 kWh}"
        for typed in (".nan", ".NaN", "nan GJ", ".inf", "-.inf GJ", "inf GJ", "1e400 GJ", "1e-400 GJ", "0x10 GJ", "GJ",
                      "''", "~", "null", "", "--1 GJ", "1..2 GJ", "'1,100 GJ LHV'", "'1,1 GJ LHV'", "yes", "1 GJ GJ",
                      "1 / 0 GJ"):
            with self.subTest(typed):
                shutil.copy(SMALL / "mill.yaml", self.study / "mill.yaml")
                self.change("mill.yaml", whole, whole.replace("1.1 GJ LHV", typed))
                self.assert_bad("study/mill.yaml:17:")

    def test_an_empty_value_is_never_nothing(self):
        for name, old, new in (("mill.yaml", "{river: 8 m3,", "{river: ,"), ("mill.yaml", "trim: 0.04 t", "trim:"),
                               ("mill.yaml", "press_dryness: 40 %", "press_dryness:"),
                               ("mill.yaml", "composition: sheet}", "composition: }"),
                               ("factors.yaml", "co2_fossil: 56 kg", "co2_fossil: ~"),
                               ("factors.yaml", "{gas_supply: 1 GJ LHV}", "{gas_supply: }"),
                               ("factors.yaml", "fibre: 0.9 t", "fibre:"),
                               ("climate.yaml", "ch4_fossil: 30 kg", "ch4_fossil:"),
                               ("prices.yaml", "small.gas: 10 EUR_2025/GJ LHV", "small.gas:"),
                               ("products.yaml", "{film: 8 g}", "{film: }"),
                               ("study.yaml", "{towel: 12e6 roll}", "{towel: }"),
                               ("study.yaml", "{balance_water: 5 %}", "{balance_water: }")):
            with self.subTest(name, new=new):
                shutil.copy(SMALL / name, self.study / name)
                self.change(name, old, new)
                self.assert_bad(f"study/{name}:", "[empty-value]")
                shutil.copy(SMALL / name, self.study / name)

    def test_an_empty_item_is_never_nothing(self):
        self.change("study.yaml", "[climate.yaml, scarcity.yaml", "[climate.yaml, ~, scarcity.yaml")
        self.assert_bad("study/study.yaml:13:25: error", "[not-text]")

    def test_a_negative_amount(self):
        self.change("mill.yaml", "{gas: 1.1 GJ LHV", "{gas: -1.1 GJ LHV")
        self.assert_bad("study/mill.yaml:17:17: error", "[negative-amount]")

    def test_nothing_made(self):
        self.change("mill.yaml", "{steam: {amount: 1 GJ", "{steam: {amount: 0 GJ")
        self.assert_bad("study/mill.yaml:15:", "[not-positive]")

    def test_division_by_zero_in_a_formula(self):
        self.change("mill.yaml", "press_dryness: 40 %", "press_dryness: 0 %")
        self.change("mill.yaml", "steam as yankee: {amount: 1.9 t,", "steam as yankee: {amount: evaporated * 0.8,")
        outcome = deckle("footprint", self.study)
        self.assertIn(outcome.status, (2, 3), outcome.err)
        self.assertEqual(outcome.out, "")

    def test_figures_at_the_edge_of_double_precision(self):
        self.change("mill.yaml", "{gas: 1.1 GJ LHV", "{gas: 1e307 GJ LHV")
        self.assert_bad("no finite value", "[not-finite]", status=3)


class Loops(BadInput):
    def test_a_loop_that_needs_more_of_itself_than_it_makes(self):
        self.change("mill.yaml", "uses: {grid: rest}", "uses: {grid: 0.1 kWh, electricity: 1.2 kWh}")
        self.assert_bad("[unsolvable-loop]", "electricity", status=3)

    def test_a_loop_that_only_feeds_itself(self):
        self.change("mill.yaml", "uses: {grid: rest}", "uses: {grid: 0.1 kWh, electricity: 1 kWh}")
        self.assert_bad("[unsolvable-loop]", status=3)

    def test_a_negative_rest(self):
        self.change("mill.yaml", "uses: {grid: rest}", "uses: {grid: rest, grid_residual: 1.5 kWh}")
        self.assert_bad("[negative-rest]", "grid", status=3)


class AllAtOnce(BadInput):
    def test_all_problems_of_a_load_are_listed_by_place(self):
        self.change("mill.yaml", "losses: 9 %", "losses: 9 bananas")
        self.change("mill.yaml", "resin: {amount: 5 kg dry", "resn: {amount: 5 kg dry")
        self.change("products.yaml", "grammage: 21 g/m2", "grammage: 21 g")
        self.change("study.yaml", "boundary:", "boundry:")
        err = self.assert_bad("[unknown-unit]", "[unknown-key]", "did you mean boundary?")
        self.assertRegex(err, r"\n\d errors, nothing computed\n$")
        places = re.findall(r"^(\S+?):(\d+):\d+: error", err, re.M)
        self.assertGreaterEqual(len(places), 3)
        for file in {file for file, _ in places}:
            lines = [int(line) for name, line in places if name == file]
            self.assertEqual(lines, sorted(lines))

    def test_a_syntax_error_in_one_file_does_not_hide_another_file(self):
        self.change("mill.yaml", "{steam: {amount: 1 GJ, kind: heat}}", "{steam: {amount: 1 GJ, kind: heat}")
        self.change("products.yaml", "grammage: 21 g/m2", "grammage: 21 g")
        self.assert_bad("[yaml-syntax]", "products.yaml:6:18")


class Interrupted(BadInput):
    def test_a_study_that_changes_while_it_is_read_never_crashes(self):
        """Another program saves the mill again and again meanwhile."""
        path, text = self.study / "mill.yaml", (self.study / "mill.yaml").read_bytes()
        stop = threading.Event()

        def rewrite():
            while not stop.is_set():
                path.write_bytes(text[: len(text) // 2])
                path.write_bytes(text)

        writer = threading.Thread(target=rewrite)
        writer.start()
        try:
            for _ in range(20):
                outcome = deckle("footprint", self.study)
                self.assertIn(outcome.status, (0, 2), outcome.err)
                self.assertEqual(bool(outcome.out), outcome.status == 0)
        finally:
            stop.set()
            writer.join()

    def test_ending_the_command_leaves_no_file(self):
        target = self.scratch / "out.txt"
        for wait in (0.0, 0.002, 0.01, 0.02):
            process = subprocess.Popen([support.DECKLE, "footprint", self.study, "-o", target],
                                       env=support.environment(), stderr=subprocess.DEVNULL)
            time.sleep(wait)
            process.terminate()
            process.wait(timeout=support.PATIENCE)
        left = {path.name for path in self.scratch.iterdir()} - {"study", "out.txt"}
        self.assertEqual(left, set())


class Hints(CommandTest):
    def test_the_cut_of_a_spread_that_is_too_wide_can_be_typed(self):
        """Of a share, of an amount, of what must stay above zero and of what must leave something."""
        for file, key, amount, spread in (("mill.yaml", "  reel_dryness: ", "95 %", "± 6 points"),
                                          ("mill.yaml", "      gas as hood: ", "2 GJ HHV", "± 40 % of value"),
                                          ("mill.yaml", "      electricity: ", "900 kWh/t", "± 400 kWh/t"),
                                          ("mill.yaml", "    losses: ", "9 %", "± 8 points"),
                                          ("products.yaml", "    grammage: ", "21 g/m2", "± 40 % of value"),
                                          ("products.yaml", "    roll: {diameter: ", "115 mm", "± 40 % of value")):
            with self.subTest(key + amount):
                text = (HERE / "small_study" / file).read_text("utf-8").replace("95 % ± 1 points", "95 %")
                wide = self.copy_of_small(file, text.replace(key + amount, f"{key}{amount} {spread}", 1))
                outcome = deckle("footprint", wide)
                self.assert_refused(outcome, "spread-too-wide")
                cut = re.search(r"or cut it: (spread: \{.*\})", outcome.err).group(1)
                narrower = self.copy_of_small(file, text.replace(key + amount, f"{key}{{amount: {amount}, {cut}}}", 1))
                self.assert_done(deckle("footprint", narrower))

    def copy_of_small(self, file, text):
        study = self.scratch / f"study_{len(list(self.scratch.iterdir()))}"
        shutil.copytree(HERE / "small_study", study)
        (study / file).write_text(text, "utf-8")
        return study


if __name__ == "__main__":
    support.main()

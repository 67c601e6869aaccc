"""The uncertainty report in its three forms, its shards, and what it refuses."""
import csv
import io
import json
import re
import unittest

import jsonschema

import support
from support import HERE, CommandTest, deckle, on_terminal, study_folder

SMALL = HERE / "small_study"
SCHEMA = json.loads((HERE / "uncertainty.schema.json").read_text("utf-8"))
QUICK = ("--draws", 3000)


class Uncertainty(CommandTest):
    def report(self, study, *options):
        draws = () if "--draws" in options else QUICK
        outcome = deckle("uncertainty", study, "--format", "json", *draws, *options)
        self.assert_done(outcome)
        jsonschema.validate(outcome.json(), SCHEMA)
        return outcome.json()

    def test_json_follows_its_schema(self):
        jsonschema.Draft7Validator.check_schema(SCHEMA)
        for study in SMALL, study_folder("worked_example"), study_folder("demonstration"):
            report = self.report(study, "--per", "t")
            self.assertGreater(len(report["results"]), 0)
        changed = self.report(SMALL)
        changed["results"][0]["drawn"]["mean"] = None
        with self.assertRaises(jsonschema.ValidationError):
            jsonschema.validate(changed, SCHEMA)

    def test_the_figure_at_the_inputs_is_the_footprint(self):
        footprint = deckle("footprint", study_folder("demonstration"), "--format", "json").json()
        values = {one["address"]: one["value"] for one in footprint["results"]}
        rows = self.report(study_folder("demonstration"))["results"]
        for row in rows:
            self.assertEqual(row["value"], values[row["address"]])
        self.assertIn("roll_unrounded", {row["per"] for row in rows})
        self.assertNotIn("roll", {row["per"] for row in rows if row["of"] == "bath_2ply"})

    def test_a_scenario_is_drawn_around_its_own_footprint(self):
        """Its mean lies within five standard errors of its own figure, linear to well below that, and far from today's."""
        study, options = study_folder("demonstration"), ("--product", "bath_2ply", "--per", "t", "--indicator", "climate")
        today = self.report(study, *options)["results"][0]
        changed = self.report(study, "--scenario", "heat_pump", *options)["results"][0]
        footprint = deckle("footprint", study, "--scenario", "heat_pump", "--product", "bath_2ply", "--per", "t_unrounded",
                           "--indicator", "climate", "--format", "json").json()
        self.assertEqual(changed["value"], footprint["results"][0]["value"])
        drawn = changed["drawn"]
        near = 5 * drawn["standard_errors"]["mean"]
        self.assertLess(abs(drawn["mean"] - changed["value"]), near)
        self.assertGreater(abs(drawn["mean"] - today["value"]), 10 * near)

    def test_csv_says_what_json_says(self):
        options = ("--against", "towel", "--unpaired", "--per", "t")
        report = self.report(SMALL, *options)
        text = deckle("uncertainty", SMALL, "--format", "csv", *QUICK, *options).out
        rows = list(csv.DictReader(io.StringIO(text, newline="")))
        self.assertEqual(len(rows), len(report["results"]))
        for row, result in zip(rows, report["results"]):
            self.assertEqual(row["address"], result["address"])
            self.assertEqual(float(row["mean"]), result["drawn"]["mean"])
            self.assertEqual(float(row["first_order_standard_uncertainty"]), result["first_order"]["standard_uncertainty"])
            if result["against"]:
                self.assertEqual(float(row["unpaired_difference_low"]), result["against"]["unpaired"]["difference"]["low"])

    def test_as_many_digits_as_were_asked_for(self):
        study = self.copy_of("worked_example", mill__yaml=lambda text: text.replace("930 kWh/t", "930 kWh/t ± 8 % of value"))
        text = deckle("uncertainty", study, "--product", "bath_3ply", "--per", "t", "--indicator", "climate",
                      "--draws", "adaptive", "--digits", "3").out
        row = next(line.split() for line in text.splitlines() if line.startswith("bath_3ply"))
        self.assertEqual(len(row[4].replace(".", "").lstrip("0")), 3, row)

    def test_what_subtracts_a_part_that_is_not_whole_is_at_most(self):
        """The core of the roll states no carbon: with its uptake, which is subtracted, the figure would be lower."""
        options = ("--product", "bath_3ply", "--per", "roll", "--indicator", "climate_with_uptake")
        row = self.report(study_folder("worked_example"), *options)["results"][0]
        self.assertEqual((row["coverage"], row["bound"]), ("at_least", "at_most"))
        text = " ".join(deckle("uncertainty", study_folder("worked_example"), *QUICK, *options).out.split())
        self.assertIn(f" ≤{row['value']:.4g}", text)
        self.assertIn("≤ is at most: what it subtracts is itself at least.", text)
        self.assertNotIn("≥", text)

    def test_a_spread_that_cancels_is_no_uncertainty(self):
        options = ("--product", "towel", "--per", "roll", "--indicator", "climate")
        row = self.report(SMALL, *options)["results"][0]
        self.assertEqual(row["drawn"]["standard_uncertainty"], 0)
        self.assertEqual((row["drawn"]["low"], row["drawn"]["high"]), (row["value"], row["value"]))
        text = deckle("uncertainty", SMALL, *QUICK, *options).out
        self.assertNotIn("DIFFERS", text)
        self.assertIn("moves the figure by no more than rounding", " ".join(text.split()))

    def test_a_normal_input_by_hand(self):
        """One input with a spread, ± 10 % of value, all of the burden: its 95 % ends are ± 10 %."""
        study = self.scratch / "one"
        self.write("one/study.yaml", "study: one\ntitle: One input\nperiod: 2025-01-01 .. 2025-12-31\n"
                   "boundary: cradle_to_gate\ncharacterization: w\nfactors: [f.yaml, w.yaml]\nmills: [m.yaml]\n")
        self.write("one/w.yaml", "characterization: w\ntitle: W\nsource: {title: Invented, year: 2026}\ngases: {co2_fossil: 1 kg}\n")
        self.write("one/f.yaml", "table: f\ntitle: F\nsource: {title: Invented, year: 2026}\nfactors:\n  thing:\n"
                   "    title: Thing\n    kind: other\n    per: 1 kg\n    releases: {co2_fossil: 2 kg ± 10 % of value}\n")
        self.write("one/m.yaml", "mill: m\ntitle: M\nperiod: 2025-01-01 .. 2025-12-31\nprocesses:\n  p:\n    title: P\n"
                   "    stage: papermaking\n    makes: {goods: 1 t}\n    uses: {thing: 100 kg}\n")
        row = self.report(study, "--draws", 200000, "--indicator", "climate")["results"][0]
        self.assertEqual(row["value"], 200)
        self.assertAlmostEqual(row["first_order"]["standard_uncertainty"], 20 / 1.959963984540054, places=9)
        for end, expected in ("low", 180), ("high", 220):
            self.assertLess(abs(row["drawn"][end] - expected), 4.5 * row["drawn"]["standard_errors"][end])
        self.assertEqual(row["first_order"]["verdict"], "accepted")

    def test_seeds_and_threads(self):
        base = deckle("uncertainty", SMALL, *QUICK).out
        self.assertEqual(base, deckle("uncertainty", SMALL, *QUICK, "--threads", 7, "--seed", 1).out)
        self.assertNotEqual(base, deckle("uncertainty", SMALL, *QUICK, "--seed", 2).out)
        self.assertIn("seed 1", base)
        self.assertIn("have a spread", base)

    def test_adaptive_draws(self):
        report = self.report(SMALL, "--draws", "adaptive", "--digits", "1", "--indicator", "climate", "--per", "t")
        self.assertIsNone(report["run"]["draws"])
        for row in report["results"]:
            self.assertEqual(row["drawn"]["draws"] % 16384, 0)
            self.assertGreaterEqual(row["drawn"]["digits_that_hold"], 1)
            self.assertNotEqual(row["first_order"]["verdict"], "undecided")

    def test_progress_on_a_terminal(self):
        status, text = on_terminal("uncertainty", study_folder("demonstration"), "--draws",
                                   150_000 if support.SANITIZED else 1_000_000, "--threads", 1)
        self.assertEqual(status, 0)
        self.assertIn("drawing", text)

    def test_usage(self):
        for options, fragments in [(("--draws", "0"), ["whole number", "from 2 to"]),
                                   (("--draws", "1"), ["from 2 to"]),
                                   (("--draws", "many"), ["`many`"]),
                                   (("--seed", "-1"), ["--seed"]),
                                   (("--threads", "0"), ["--threads takes a whole number from 1 to", "but `0` was typed"]),
                                   (("--digits", "2"), ["--draws adaptive"]),
                                   (("--draws", "adaptive", "--interval", "shortest"), ["shortest one are not judged", "symmetric"]),
                                   (("--unpaired",), ["--against"]),
                                   (("--shard", "3/2"), ["i/n"]),
                                   (("--shard", "0/2"), ["i/n"]),
                                   (("--shard", "1"), ["i/n"]),
                                   (("--shard", "1/1"), ["i/n"]),
                                   (("--interval", "wide"), ["symmetric, shortest"]),
                                   (("--against", "towl"), ["unknown-reference", "towel"]),
                                   (("--scenario", "later"), ["unknown-scenario"]),
                                   (("--product", "towl"), ["unknown-product", "towel"]),
                                   (("--per", "moon"), ["unknown-per"]),
                                   (("--product", "towel", "--against", "towel"), ["nothing-to-compare"])]:
            with self.subTest(options):
                self.assert_refused(deckle("uncertainty", SMALL, *options), *fragments)

    def test_a_draw_without_an_answer(self):
        study = self.copy_of("worked_example", mill__yaml=lambda text: text.replace("engine_steam: 0.25 GJ", "engine_steam: 0.25 GJ ×÷ 6"))
        outcome = deckle("uncertainty", study, *QUICK)
        self.assert_refused(outcome, "draw ", "boiler_steam", "negative-rest", status=3)


class Merge(CommandTest):
    OPTIONS = ("--against", "towel", "--unpaired", "--indicator", "climate", *QUICK)

    def shards(self, count, study=SMALL, options=OPTIONS):
        files = []
        for part in range(1, count + 1):
            path = self.scratch / f"{part}_of_{count}.json"
            self.assert_done(deckle("uncertainty", study, *options, "--shard", f"{part}/{count}",
                                    "--format", "json", "-o", path))
            jsonschema.validate(json.loads(path.read_text("utf-8")), SCHEMA)
            files.append(path)
        return files

    def test_merged_shards_are_one_run_to_the_byte(self):
        many = ("--against", "bath_2ply", "--unpaired", "--indicator", "climate", *QUICK)
        adaptive = ("--draws", "adaptive", "--digits", "1", "--indicator", "climate", "--per", "t")
        cases = [(study_folder("demonstration"), many, 3), (SMALL, adaptive, 3),
                 (SMALL, self.OPTIONS, 20)]  # more shards than products: some hold nothing
        for study, options, count in cases[1:] if support.SANITIZED else cases:
            files = self.shards(count, study, options)
            for form in "json", "csv", "text":
                whole = deckle("uncertainty", study, *options, "--format", form)
                merged = deckle("merge", *reversed(files), "--format", form)
                self.assert_done(merged)
                self.assertEqual(merged.out, whole.out)

    def test_shards_that_do_not_belong_together(self):
        first, second, third = self.shards(3)
        self.assert_refused(deckle("merge", first, second), "shard-missing", "3")
        self.assert_refused(deckle("merge", first, second, third, third), "named twice")
        copy = self.write("copy.json", third.read_bytes())
        self.assert_refused(deckle("merge", first, second, third, copy), "shard-twice")
        for what, changed in [("seed", ("--seed", "2")), ("draws", ("--draws", "2000")), ("against", ("--against", "towel_long")),
                              ("interval", ("--interval", "shortest"))]:
            options = [*self.OPTIONS, *changed]
            if changed[0] in self.OPTIONS:
                at = options.index(changed[0])
                del options[at:at + 2]
            other = self.scratch / "other.json"
            self.assert_done(deckle("uncertainty", SMALL, *options, "--shard", "3/3", "--format", "json", "-o", other))
            self.assert_refused(deckle("merge", first, second, other), "shards-differ", what)
        text = third.read_text("utf-8")
        version = self.write("version.json", text.replace('"deckle ', '"deckle 9'))
        self.assert_refused(deckle("merge", first, second, version), "other-version")
        files = json.loads(text)["run"]["study_files"]
        bytes_differ = self.write("bytes.json", text.replace(files, "0" * 16))
        self.assert_refused(deckle("merge", first, second, bytes_differ), "shards-differ", "files of the study")

    def test_a_shard_that_was_edited(self):
        first, second = self.shards(2)
        text = second.read_text("utf-8")
        mean = re.search(r'"mean": [0-9]', text).group()
        edited = self.write("edited.json", text.replace(mean, mean[:-1] + "9" + mean[-1], 1))
        self.assert_refused(deckle("merge", first, edited), "edited.json", "shard-changed")
        self.assert_refused(deckle("merge", first, self.write("other.json", re.sub('"digest": "[0-9a-f]{8}', '"digest": "00000000', text))),
                            "shard-changed")
        # other line ends say the same
        self.assert_done(deckle("merge", first, self.write("lines.json", text.replace("\n", "\r\n"))))

    def test_what_is_no_shard(self):
        good = self.shards(2)[0]
        whole = self.scratch / "whole.json"
        deckle("uncertainty", SMALL, *self.OPTIONS, "--format", "json", "-o", whole)
        text = good.read_text("utf-8")
        for content in whole.read_text("utf-8"), "", "{", "[]", text[:-40], text.replace("deckle-uncertainty", "deckle-footprint"), \
                text.replace('"part": 1', '"part": 5'), text.replace('"part": 1', '"part": -1'), text.replace('"median"', '"medium"'), \
                text.replace('"below"', '"beside"', 1):
            bad = self.write("bad.json", content)
            outcome = deckle("merge", bad)
            self.assert_refused(outcome)
            self.assertRegex(outcome.err, "not-a-shard|shard-missing|shard-changed")
        self.assert_refused(deckle("merge", self.scratch / "none.json"), "missing-file")
        self.assert_refused(deckle("merge"), "merge needs FILE")

    def test_a_shard_is_not_overwritten(self):
        first, second = self.shards(2)
        self.assert_refused(deckle("merge", first, second, "-o", first), "cannot-write")


if __name__ == "__main__":
    support.main()

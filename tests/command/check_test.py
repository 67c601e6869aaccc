"""The check in its three forms: balances re-added, findings in their place, the exit status."""
import csv
import io
import json
import re
import shutil
import unittest

import jsonschema

import support
from support import HERE, CommandTest, deckle, study_folder

SMALL = HERE / "small_study"
SCHEMA = json.loads((HERE / "check.schema.json").read_text("utf-8"))


class Check(CommandTest):
    def changed(self, **changes):
        folder = self.scratch / "study"
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(SMALL, folder)
        for name, (old, new) in changes.items():
            path = folder / f"{name}.yaml"
            text = path.read_text("utf-8")
            self.assertEqual(text.count(old), 1, old)
            path.write_text(text.replace(old, new), "utf-8")
        return folder

    def report(self, study, status=0):
        outcome = deckle("check", study, "--format", "json")
        self.assertEqual(outcome.status, status, outcome.err)
        report = outcome.json()
        jsonschema.validate(report, SCHEMA)
        return report

    def test_json_follows_its_schema(self):
        jsonschema.Draft7Validator.check_schema(SCHEMA)
        self.report(SMALL)
        outcome = deckle("check", study_folder("demonstration"), "--format", "json")
        jsonschema.validate(outcome.json(), SCHEMA)
        self.assertEqual(outcome.status, 1 if outcome.json()["above_limit"] else 0)

    def test_gaps_are_those_of_in_and_out(self):
        """gap = (in − out) / in"""
        for balance in self.report(SMALL)["balances"]:
            expected = 100 * (balance["in"] - balance["out"]) / balance["in"]
            self.assertAlmostEqual(balance["gap_percent"], expected, delta=1e-9, msg=balance)

    def test_water_of_the_machine(self):
        """by hand: in 8 + 0.2 m3 and what comes with pulp and resin; out 6.9 + 1.4 m3 and the sheet's moisture."""
        water = next(b for b in self.report(SMALL)["balances"] if (b["of"], b["kind"]) == ("vorrelby.machine", "water"))
        pulp, resin, trim, sheet = 1 - 0.9, 5 * (1 / 0.2 - 1) / 1000, 0.04 * 0.05, 0.05
        self.assertAlmostEqual(water["in"], 8.2 + pulp + resin + trim, delta=1e-12)
        self.assertAlmostEqual(water["out"], 6.9 + 1.4 + sheet, delta=1e-12)

    def test_a_finding_above_its_limit_sets_status_1(self):
        study = self.changed(mill=("gives_back: {river: 6.9 m3}", "gives_back: {river: 4.9 m3}"))
        report = self.report(study, status=1)
        self.assertTrue(report["above_limit"])
        finding = next(f for f in report["findings"] if f["above_limit"])
        self.assertEqual((finding["code"], finding["limit"], finding["unit"]), ("balance-water", 5, "%"))
        self.assertGreater(finding["measured"], 5)
        self.assertEqual(finding["at"]["file"], str(study / "mill.yaml"))
        text = deckle("check", study)
        self.assertEqual((text.status, text.err), (1, ""))
        self.assertRegex(text.out, r"mill\.yaml:\d+:\d+: ABOVE ITS LIMIT: ")
        self.assertRegex(text.out, r"\d+ findings, \d+ above (its limit|their limits)\.\n$")

    def test_without_a_limit_the_same_finding_sets_no_status(self):
        study = self.changed(mill=("gives_back: {river: 6.9 m3}", "gives_back: {river: 4.9 m3}"),
                             study=("  limits: {balance_water: 5 %}\n", ""))
        self.assertFalse(self.report(study)["above_limit"])

    def test_a_misspelt_limit_stops_check_and_no_other_verb(self):
        """Whatever the form of the report: a limit that nothing meets would let everything pass."""
        study = self.changed(mill=("gives_back: {river: 6.9 m3}", "gives_back: {river: 4.9 m3}"),
                             study=("limits: {balance_water: 5 %}", "limits: {balance_watr: 5 %}"))
        for form in ("text", "json", "csv"):
            self.assert_refused(deckle("check", study, "--format", form), "study.yaml:23:26: error: ", "balance_watr",
                                "did you mean balance_water?", "[unknown-key]")
            self.assert_done(deckle("footprint", study, "--format", form))

    def test_a_finding_changes_no_figure(self):
        study = self.changed(mill=("gives_back: {river: 6.9 m3}", "gives_back: {river: 6.9 m3}\n    note: checked"))
        figures = [deckle("footprint", s, "--format", "csv").out for s in (SMALL, study)]
        self.assertEqual(*figures)

    def test_csv_says_what_json_says(self):
        report = self.report(SMALL)
        rows = list(csv.DictReader(io.StringIO(deckle("check", SMALL, "--format", "csv").out, newline="")))
        balances = [row for row in rows if row["record"] == "balance"]
        findings = [row for row in rows if row["record"] == "finding"]
        self.assertEqual([(b["code"], b["of"], float(b["gap_percent"])) for b in balances],
                         [(b["kind"], b["of"], b["gap_percent"]) for b in report["balances"]])
        self.assertEqual([(f["code"], f["message"], f["line"]) for f in findings],
                         [(f["code"], f["message"], str(f["at"]["line"]) if f["at"] else "") for f in report["findings"]])

    def test_text_holds_every_finding(self):
        text = " ".join(deckle("check", SMALL).out.split())
        findings = self.report(SMALL)["findings"]
        for finding in findings:
            self.assertIn(f"[{finding['code']}]", text)
            self.assertIn(" ".join(finding["message"].split()), text)
        self.assertIn(f"{len(findings)} findings, none above a limit.", text)

    def test_a_message_cannot_run_in_a_spreadsheet_or_act_on_a_terminal(self):
        study = self.changed(study=("what: Buildings", r'what: "=1+1\e[31m"'), )
        for form in ("text", "csv", "json"):
            self.assertNotIn("\x1b", deckle("check", study, "--format", form).out)
        for row in csv.reader(io.StringIO(deckle("check", study, "--format", "csv").out, newline="")):
            for cell in row:
                self.assertFalse(re.match(r"[=@\t]|[+-][^0-9.]", cell), cell)


if __name__ == "__main__":
    support.main()

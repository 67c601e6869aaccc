"""deckle sample and check --found: the fewest by trying, the random ones by a Philox of its own, sums re-added."""
import csv
import io
import itertools
import json
import shutil
import unittest

import jsonschema

import support
from support import HERE, CommandTest, deckle, study_folder

SMALL = HERE / "small_study"
RESULT = "results.sheet.t.climate"
MASK = 0xFFFFFFFF


def philox(counter, key):
    """Philox4x32-10: Salmon, Moraes, Dror, Shaw, SC11 (2011)."""
    for _ in range(10):
        low, high = counter[0] * 0xD2511F53, counter[2] * 0xCD9E8D57
        counter = [(high >> 32) ^ counter[1] ^ key[0], high & MASK, (low >> 32) ^ counter[3] ^ key[1], low & MASK]
        key = [(key[0] + 0x9E3779B9) & MASK, (key[1] + 0xBB67AE85) & MASK]
    return counter


def fnv(text):
    """FNV-1a, 64 bits: Fowler, Noll, Vo; draft-eastlake-fnv."""
    value = 0xCBF29CE484222325
    for byte in text.encode():
        value = ((value ^ byte) * 0x100000001B3) % 2 ** 64
    return value


def lot(address, seed):
    number = fnv(address)
    words = philox([number & MASK, number >> 32, 0, 0], [seed & MASK, seed >> 32])
    return words[1] << 32 | words[0], address


def valid(report, name):
    jsonschema.validate(report, json.loads((HERE / f"{name}.schema.json").read_text("utf-8")))
    return report


def sample(study, result, *more):
    return valid(deckle("sample", study, result, "--format", "json", *more).json(), "sample")


class Chosen(CommandTest):
    def test_the_generator_of_this_test(self):
        """Known answers of the authors' library, Random123, kat_vectors."""
        self.assertEqual(philox([0] * 4, [0] * 2), [0x6627E8D5, 0xE169C58D, 0xBC57AC4C, 0x9B00DBD8])
        self.assertEqual(philox([MASK] * 4, [MASK] * 2), [0x408F276D, 0x41C83B0E, 0xA20BC7C6, 0x6D5451FD])

    def test_the_largest_reach_the_share_and_no_fewer_do(self):
        for study, result in ((SMALL, RESULT), (study_folder("worked_example"), "results.bath_3ply.t.climate")):
            inputs = deckle("sensitivity", study, result, "--format", "json").json()["inputs"]
            found = sample(study, result)["sample"]
            kinds = {one["address"]: one["kind"] for one in sample(study, result, "--random", "9999")["sample"]}
            self.assertEqual(set(kinds), {one["address"] for one in inputs})
            for kind in ("input", "factor", "weight"):
                sizes = {one["address"]: abs(one["elasticity"] or 0) for one in inputs if kinds[one["address"]] == kind}
                taken = [one["address"] for one in found if one["kind"] == kind and one["chosen"] == "largest"]
                reached = sum(sizes[address] for address in taken)
                self.assertGreaterEqual(reached, 0.8 * sum(sizes.values()) * (1 - 1e-12))
                best = sum(itertools.islice(sorted(sizes.values(), reverse=True), len(taken) - 1))
                self.assertLess(best, 0.8 * sum(sizes.values()))

    def test_what_an_operation_comes_to_is_told_in_the_unit_in_which_it_goes_on(self):
        """By hand: 1.01 air-dry tonnes are 1.01 × 0.9 t dry."""
        found = sample(study_folder("worked_example"), "results.bath_3ply.t.climate", "--random", "9999")["sample"]
        enters = {one["address"]: one["enters"] for one in found}
        self.assertEqual(enters["vellomere.tissue_machine.uses.bleached_pulp"], "1.01 ADt × 0.9 = 0.909 t dry")

    def test_kinds_are_where_a_number_is_typed(self):
        for one in sample(SMALL, RESULT, "--random", "9999")["sample"]:
            head = one["address"].split(".")[0]
            self.assertEqual(one["kind"], {"small": "factor", "weights": "weight"}.get(head, "input"), one["address"])

    def test_the_random_ones_follow_from_addresses_and_seed(self):
        everything = {one["address"] for one in sample(SMALL, RESULT, "--random", "9999")["sample"]}
        chosen = set()
        for seed in (1, 2, 654321):
            found = sample(SMALL, RESULT, "--random", "5", "--seed", str(seed))["sample"]
            largest = {one["address"] for one in found if one["chosen"] == "largest"}
            drawn = [one["address"] for one in found if one["chosen"] == "random"]
            self.assertEqual(drawn, sorted(everything - largest, key=lambda address: lot(address, seed))[:5])
            chosen.add(tuple(drawn))
        self.assertEqual(len(chosen), 3)

    def test_documents_and_operands(self):
        found = {one["address"]: one for one in sample(SMALL, RESULT)["sample"]}
        pulp = found["small.pulp.climate.fossil"]
        self.assertEqual(pulp["document"], "Invented for the test, 2026")
        self.assertEqual(pulp["enters"], "1 ADt × 400 kg CO2e/ADt")
        self.assertTrue(pulp["at"]["file"].endswith("factors.yaml"))
        fuels = sample(study_folder("demonstration"), "results.bath_2ply.t.climate", "--random", "9999")["sample"]
        pages = [one["page"] for one in fuels if one["kind"] == "factor"]
        self.assertTrue(any((page or "").startswith(("table ", "chapter ", "volume ", "page ")) for page in pages), pages)
        cited = sample(study_folder("worked_example"), "results.bath_3ply.t.climate", "--random", "9999")["sample"]
        gas = next(one for one in cited if one["address"] == "example.natural_gas.releases.co2_fossil")
        self.assertEqual(gas["page"], "volume 2, chapter 2, table 2.3")
        weight = next(one for one in cited if one["address"].startswith("ar6_100."))
        self.assertEqual(weight["page"], "chapter 7, table 7.15")


class Found(CommandTest):
    def filled(self, values, result=RESULT, study=SMALL):
        rows = list(csv.reader(io.StringIO(deckle("sample", study, result, "--format", "csv", "--random", "9999").out)))
        address, found = rows[0].index("address"), rows[0].index("found")
        self.assertEqual({row[found] for row in rows[1:]}, {""})
        for row in rows[1:]:
            row[found] = values.get(row[address], "")
        text = io.StringIO()
        csv.writer(text).writerows(rows)
        return self.write("found.csv", text.getvalue())

    def check(self, path, *more):
        return deckle("check", SMALL, "--found", path, *more)

    def value(self, **changes):
        folder = self.scratch / f"changed{len(list(self.scratch.iterdir()))}"
        shutil.copytree(SMALL, folder)
        for old, new in changes.values():
            text = (folder / "mill.yaml").read_text("utf-8")
            self.assertEqual(text.count(old), 1)
            (folder / "mill.yaml").write_text(text.replace(old, new), "utf-8")
        results = deckle("footprint", folder, "--format", "json").json()["results"]
        return next(one["value"] for one in results if one["address"] == RESULT)

    def test_each_deviation_is_what_the_edited_file_gives(self):
        path = self.filled({"vorrelby.machine.uses.electricity": "930", "vorrelby.machine.uses.pulp": "0.98 ADt"})
        found = valid(self.check(path, "--format", "json").json(), "deviations")["results"][0]
        moves = {one["address"]: one["moves"] for one in found["deviations"]}
        power, pulp = ("electricity: 900 kWh/t", "electricity: 930 kWh/t"), ("amount: 1.0 ADt", "amount: 0.98 ADt")
        before = self.value()
        self.assertAlmostEqual(moves["vorrelby.machine.uses.electricity"], self.value(a=power) - before, delta=1e-9)
        self.assertAlmostEqual(moves["vorrelby.machine.uses.pulp"], self.value(a=pulp) - before, delta=1e-9)
        self.assertAlmostEqual(found["together"], self.value(a=power, b=pulp) - before, delta=1e-9)
        self.assertAlmostEqual(found["with_sign"], sum(moves.values()), delta=1e-12)
        self.assertAlmostEqual(found["without_sign"], sum(map(abs, moves.values())), delta=1e-12)

    def test_the_limit_with_and_without_sign(self):
        """ISO 14064-3:2019, 5.1.7 (from memory): the limit is agreed; what cancels still counts."""
        path = self.filled({"vorrelby.machine.uses.electricity": "950", "vorrelby.machine.uses.pulp": "0.94"})
        found = valid(self.check(path, "--format", "json").json(), "deviations")["results"][0]
        value = found["result"]["value"]
        signed, unsigned = abs(found["with_sign"]) / value, found["without_sign"] / value
        self.assertLess(signed, unsigned)
        # without a word of the user 5 % of the result holds
        self.assertLess(unsigned, 0.05)
        self.assertEqual(self.check(path).status, 0)
        self.assertIn("Within the limit of 5 %", self.check(path).out)
        self.assertEqual(self.check(path, "--limit", f"{100 * unsigned * 1.01:.6f} %").status, 0)
        outcome = self.check(path, "--limit", f"{100 * unsigned * 0.99:.6f} %")
        self.assertEqual(outcome.status, 1)
        self.assertIn("[above-limit]", outcome.out)
        far = self.filled({"vorrelby.machine.uses.electricity": "1800"})
        moved = self.check(far, "--format", "json").json()["results"][0]
        self.assertGreater(moved["without_sign"] / value, 0.05)
        self.assertEqual(self.check(far).status, 1)

    def test_other_units_and_other_forms(self):
        path = self.filled({"vorrelby.machine.uses.electricity": "0.93 MWh/t"})
        lines = list(csv.DictReader(io.StringIO(self.check(path, "--format", "csv").out)))
        self.assertEqual(float(lines[0]["found"]), 930)
        self.assertIn("sum without sign", self.check(path).out)

    def test_the_unit_that_an_input_was_typed_in(self):
        """400 kg is typed, kg CO2e meant: 440 kg found is a tenth more."""
        path = self.filled({"small.pulp.climate.fossil": "440 kg"})
        lines = list(csv.DictReader(io.StringIO(self.check(path, "--format", "csv").out)))
        self.assertAlmostEqual(float(lines[0]["found"]), 1.1 * float(lines[0]["value"]), places=9)

    def test_every_bad_row_at_its_line(self):
        head = "result,address,found\n"
        path = self.write("bad.csv", head + f"{RESULT},vorrelby.machine.uses.pulpp,1\n{RESULT},vorrelby.machine.uses.pulp,1 km\n")
        self.assert_refused(self.check(path), "bad.csv:2:", "[unknown-input]", "bad.csv:3:", "[wrong-unit]")
        path = self.write("semicolons.csv", "result;address;found\n")
        self.assert_refused(self.check(path), "[csv-head]", "semicolons")
        missing = self.check(self.scratch / "none.csv")
        self.assertNotIn("relative to the study's folder", missing.err)

    def test_blanks_and_what_was_typed_otherwise_since_are_told(self):
        path = self.filled({"vorrelby.machine.uses.electricity": "910"})
        rows = len(list(csv.DictReader(io.StringIO(path.read_text("utf-8")))))
        report = valid(self.check(path, "--format", "json").json(), "deviations")["results"][0]
        self.assertEqual((report["blank"], report["typed_since"]), (rows - 1, []))
        self.assertIn(f"{rows - 1} of {rows} rows are blank under found", self.check(path).out)
        self.assertNotIn("Typed otherwise", self.check(path).out)
        since = self.scratch / "since"
        shutil.copytree(SMALL, since)
        text = (since / "mill.yaml").read_text("utf-8")
        (since / "mill.yaml").write_text(text.replace("amount: 1.0 ADt", "amount: 1.02 ADt"), "utf-8")
        out = deckle("check", since, "--found", path).out
        self.assertIn("Typed otherwise since the sample was drawn: vorrelby.machine.uses.pulp: 1.0 ADt, now 1.02 ADt", out)

    def test_nothing_found(self):
        self.assertIn("Nothing was filled in", self.check(self.filled({})).out)

    def test_bad_files(self):
        def bad(text, *fragments):
            self.assert_refused(self.check(self.write("bad.csv", text)), *fragments)
        head = "result,address,found\n"
        bad("", "[empty-file]")
        bad("result,address\n", "no column found", "[csv-head]")
        bad(head + "a,b\n", "[csv-columns]")
        bad(head + f"{RESULT},vorrelby.machine.uses.pulpp,1\n", "[unknown-input]")
        bad(head + "results.x.t.climate,vorrelby.machine.uses.pulp,1\n", "[unknown-result]")
        bad(head + f"{RESULT},vorrelby.machine.uses.pulp,1 km\n", "[wrong-unit]")
        bad(head + f"{RESULT},vorrelby.machine.uses.pulp,x\n", "vorrelby.machine.uses.pulp")
        bad(head + f"{RESULT},vorrelby.machine.uses.pulp,-1\n", "[outside-bounds]")
        self.assert_refused(deckle("check", SMALL, "--limit", "5 %"), "--found")
        self.assert_refused(self.check(self.scratch / "none.csv"), "[missing-file]")


if __name__ == "__main__":
    support.main()

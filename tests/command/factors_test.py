"""deckle factors: what the tables of a study hold, held against the text of the tables, and of a study that does not load."""
import csv
import io
import json
import re
import unittest

import jsonschema

import support
from support import HERE, CommandTest, deckle, study_folder

SMALL = HERE / "small_study"


def listed(study, *words):
    report = deckle("factors", study, *words, "--format", "json").json()
    jsonschema.validate(report, json.loads((HERE / "factors.schema.json").read_text("utf-8")))
    return {one["address"]: one for one in report["factors"]}


class Lists(CommandTest):
    def test_every_factor_of_the_tables_once_in_their_order(self):
        """The ids are the keys below `factors:`, two spaces in."""
        text = (SMALL / "factors.yaml").read_text("utf-8")
        table = re.search(r"^table: (\w+)", text, re.M).group(1)
        keys = re.findall(r"^  (\w+):", text.split("\nfactors:\n")[1], re.M)
        self.assertEqual([address for address in listed(SMALL) if address.startswith(table)], [f"{table}.{key}" for key in keys])

    def test_a_factor_is_told_as_typed(self):
        one = listed(study_folder("demonstration"))["fuels_eu.natural_gas_by_volume"]
        self.assertEqual((one["kind"], one["per"], one["region"]), ("fuel", "1 TJ LHV", "eu27"))
        self.assertIn({"what": "releases.co2_fossil", "typed": "56.1 t"}, one["states"])
        self.assertEqual(one["brings"], [{"factor": "natural_gas_supply", "typed": "1 TJ LHV"}])
        self.assertIn("2018/2066", one["source"])
        lines = (support.SOURCE / "factors" / "fuels_eu.yaml").read_text("utf-8").splitlines()
        self.assertEqual(lines[one["at"]["line"] - 1].strip(), "natural_gas_by_volume:")

    def test_words_and_kinds_narrow(self):
        study = study_folder("demonstration")
        everything = listed(study)
        fuels = listed(study, "--kind", "fuel")
        self.assertEqual(set(fuels), {address for address, one in everything.items() if one["kind"] == "fuel"})
        gas = listed(study, "GAS", "--kind", "fuel")
        self.assertEqual(set(gas), {address for address, one in fuels.items()
                                    if "gas" in f"{address} {one['title']}".lower()})
        self.assertLess(len(gas), len(fuels))
        self.assertIn("invented_energy.northern_grid", listed(study, "electricity", "northern"))

    def test_csv_has_the_same(self):
        rows = list(csv.DictReader(io.StringIO(deckle("factors", SMALL, "--format", "csv").out)))
        self.assertEqual([row["address"] for row in rows], list(listed(SMALL)))

    def test_a_study_that_names_an_unknown_factor_still_lists_what_there_is(self):
        folder = self.copy_of("worked_example", mill__yaml=lambda text: text.replace("      broke: 0.05 t", "      fuel: 0.05 t", 1))
        self.assert_refused(deckle("footprint", folder), "deckle factors STUDY fuel lists them", "[unknown-use]")
        self.assertIn("example.natural_gas", listed(folder, "fuel"))

    def test_what_fits_nothing(self):
        self.assert_refused(deckle("factors", SMALL, "unobtainium"), "no factor of this study fits", "[unknown-factor]")
        self.assert_refused(deckle("factors", SMALL, "--kind", "fuell"), "did you mean fuel", "[unknown-kind]")
        self.assert_refused(deckle("factors", "nowhere"), "[missing-file]")


if __name__ == "__main__":
    support.main()

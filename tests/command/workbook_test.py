"""deckle workbook: recalculated by LibreOffice it gives the engine's figures; hostile texts; limits; whole files."""
import os
import pathlib
import re
import resource
import subprocess
import sys
import unittest
from xml.etree import ElementTree

import spreadsheet
import support
from support import HERE, CommandTest, deckle, study_folder

SMALL = HERE / "small_study"
WRITER = pathlib.Path(sys.argv.pop(3))
TOLERANCE = 1e-9  # relative: what an auditor can hold against both
STATED_LINES = {"total": "CO2e given as one number", "fossil": "CO2e, fossil", "biogenic": "CO2e, biogenic", "land_use": "CO2e, land use",
                "land_management": "CO2e, land management"}
BREAKOUTS = {"stage": "stage", "scope": "scope", "gas": "gas", "process": "process", "input": "factor"}
needs_office = unittest.skipIf(spreadsheet.OFFICE is None, "LibreOffice is not installed (Debian package libreoffice-calc-nogui)")


def footprint(study, *more):
    outcome = deckle("footprint", study, "--format", "json", *more)
    assert outcome.status == 0, outcome.err
    return outcome.json()["results"]


def shown_group(by, name):
    """How the workbook shows a group that the engine names."""
    shown = {"scope": "scope " + name, "gas": STATED_LINES.get(name, name)}
    return shown.get(by, name) or "(none)"


class Recalculated(CommandTest):
    """Comparisons of sheets with the engine's JSON."""

    def workbook(self, study, *more, name="study.xlsx"):
        path = self.scratch / name
        self.assert_done(deckle("workbook", study, "-o", path, *more))
        return path

    def assert_close(self, found, expected, where):
        self.assertLessEqual(abs(float(found) - expected), TOLERANCE * abs(expected), f"{where}: {found}, engine {expected}")

    def assert_results(self, sheet, results, address=lambda result: result["address"]):
        """Every result of the engine stands in the sheet with its value, and no other does."""
        self.assertEqual(sheet[0][6], "value (live)")
        rows = {row[0]: row for row in sheet[1:]}
        self.assertEqual(len(rows), len(sheet) - 1)
        self.assertEqual(set(rows), {address(result) for result in results})
        for result in results:
            row = rows[address(result)]
            if result["coverage"] == "not_covered":
                self.assertEqual(row[5:12], ["not covered"] + [""] * 6)
                continue
            for column, key in ((6, "value"), (10, "market"), (11, "location")):
                self.assert_close(row[column], result[key], f"{row[0]} {key}")

    def tables(self, sheet):
        """{(title, by, unit, per): {column: {group: value}}} of the break-out."""
        found = {}
        for number, row in enumerate(sheet):
            head = re.fullmatch(r"(.*) by (\w+) \[(.*) per (.*)\]", row[0]) if row and row[0] else None
            if head is None:
                continue
            columns = [text for text in sheet[number + 1][1:] if text]
            table = found[head.groups()] = {column: {} for column in columns}
            for line in sheet[number + 2:]:
                for column, value in zip(columns, line[1:]):
                    table[column][line[0]] = float(value)
                if line[0] == "the result less this sum":
                    break
        return found

    def assert_breakouts(self, sheet, study, scenario=None):
        """Groups of the engine with their values; what the engine does not name is zero."""
        tables = self.tables(sheet)
        self.assertGreater(len(tables), 3)
        titles = {}
        more = ["--scenario", scenario] if scenario else []
        for result in footprint(study, *more, "--by", "stage", "--by", "gas", "--by", "process", "--by", "factor"):
            titles[(result["of"], result["per"], result["indicator"])] = result
        for result in footprint(study, *more, "--by", "scope", "--indicator", "climate"):
            titles[(result["of"], result["per"], "climate")]["by"].update(result["by"])
        compared = 0
        for (title, by, unit, per), table in tables.items():
            indicator = "climate" if title.startswith("climate") else "water_consumed"
            for product, groups in table.items():
                engine = titles[(product, per, indicator)]
                self.assertEqual(unit, engine["unit"])
                expected = {shown_group(by, one["name"]): one["value"] for one in engine["by"][BREAKOUTS[by]]}
                size = sum(map(abs, expected.values()))
                self.assertLessEqual(abs(groups.pop("the result less this sum")), TOLERANCE * size)
                self.assertLessEqual(abs(groups.pop("sum") - engine["value"]), TOLERANCE * size)
                self.assertLessEqual(set(expected), set(groups))
                for group, value in groups.items():
                    self.assertLessEqual(abs(value - expected.get(group, 0.0)), TOLERANCE * size, f"{product} {title} {group}")
                    compared += 1
        self.assertGreater(compared, 30)


@needs_office
class SpreadsheetProgram(Recalculated):
    def test_every_shipped_study(self):
        """All results and break-outs from spoilt files; with scenarios too."""
        studies = {name: study_folder(name) for name in ("worked_example", "demonstration")}
        studies["small_study"] = SMALL
        paths = {name: self.workbook(study, name=f"{name}.xlsx") for name, study in studies.items()}
        scenarios = ("--scenario", "heat_pump", "--scenario", "contracted_power", "--product", "bath_2ply")
        with_scenarios = self.workbook(studies["demonstration"], *scenarios, name="scenarios.xlsx")
        market = self.workbook(studies["demonstration"], "--electricity", "market", "--product", "bath_2ply", name="market.xlsx")
        found = spreadsheet.recalculated([*paths.values(), with_scenarios, market])
        for name, study in studies.items():
            with self.subTest(name):
                book = found[paths[name]]
                self.assert_results(book["Results"], footprint(study))
                self.assert_breakouts(book["Breakout"], study)
                said = {row[0]: row[1] for row in book["How to read"]}
                self.assertLess(float(said["Largest difference"]), TOLERANCE)
                self.assertEqual(said["That is"], "every result equals the engine's")
                self.assertFalse([row for sheet in book.values() for row in sheet if any(
                    re.match("#|Err:", cell) for cell in row)])
        self.assert_results(found[with_scenarios]["Results"], footprint(studies["demonstration"], *scenarios))
        results = footprint(studies["demonstration"], "--electricity", "market", "--product", "bath_2ply")
        self.assert_results(found[market]["Results"], results)

    def changed(self, name, shares):
        """A study with a scenario that scales inputs, and its workbook with the same cells changed."""
        lines = "".join(f"      - {{scale: {address}, by: {share}, reason: a test}}\n" for address, share in shares.items())
        folder = self.copy_of(name, study__yaml=lambda text: re.sub(r"\n(scenarios: .*)?$", "\nscenarios: [changed.yaml]\n", re.sub(
            r"\nscenarios: .*", "", text).replace("../../factors", str(support.SOURCE / "factors")), count=1))
        self.write(f"{name}/changed.yaml", f"scenarios:\n  changed:\n    title: Changed\n    changes:\n{lines}")
        path = self.workbook(folder, name=f"{name}.xlsx")
        files = spreadsheet.members(path)
        spreadsheet.change_inputs(files, {address: lambda value, share=share: value * share for address, share in shares.items()})
        spreadsheet.write(path, files)
        return folder, path

    def assert_follows(self, folder, book):
        results = footprint(folder, "--scenario", "changed")
        self.assert_results(book["Results"], results, lambda result: result["address"].replace("@changed", ""))
        self.assert_breakouts(book["Breakout"], folder, "changed")
        said = {row[0]: row[1] for row in book["How to read"]}
        self.assertTrue(said["That is"].startswith("not the engine's results"))

    def test_a_changed_cell_changes_what_the_engine_changes(self):
        """A scenario that scales an amount is the engine's way to the same change. Amounts, a coefficient of a loop,
        the moisture of a sheet, factors, products."""
        worked = {"vellomere.figures.press_dryness": 1.05, "vellomere.converting.makes.broke": 1.5,
                  "vellomere.tissue_machine.uses.natural_gas": 0.8, "products.bath_3ply.grammage": 1.04,
                  "vellomere.tissue_machine.uses.bleached_pulp.freight.1.distance": 0.3}
        demonstration = {"fennaby.bath_machine.uses.hood_burners": 0.9, "fennaby.gas_boilers.uses.pipeline_gas": 1.02,
                         "products.bath_2ply.grammage": 1.03, "marrowen.tissue_machine.uses.through_air_fans": 0.85}
        books = {name: self.changed(name, shares) for name, shares in
                 (("worked_example", worked), ("demonstration", demonstration))}
        found = spreadsheet.recalculated([path for _, path in books.values()])
        for name, (folder, path) in books.items():
            with self.subTest(name):
                self.assert_follows(folder, found[path])

    def test_graphs_that_no_study_has(self):
        """Random graphs with every operation; sums, products and choices of 3,000 numbers; 3,000 uses of one burden."""
        subprocess.run([WRITER, self.scratch], check=True)
        found = spreadsheet.recalculated(sorted(self.scratch.glob("*.xlsx")))
        compared = 0
        for path, book in found.items():
            for line in path.with_suffix(".txt").read_text("utf-8").splitlines():
                kind, place, value = line.split()
                sheet, column, row = re.fullmatch(r"(\w+)!([A-Z]+)(\d+)", place).groups()
                text = book[sheet][int(row) - 1][ord(column) - ord("A")]
                if kind == "cell":
                    self.assert_close(text, float(value), f"{path.name} {place}")
                else:
                    self.assertLessEqual(abs(float(text)), TOLERANCE * abs(float(value)), f"{path.name} {place}")
                compared += 1
        self.assertGreater(compared, 10000)
        texts = [formula for path in found for _, _, formula in spreadsheet.formulas(spreadsheet.members(path))]
        self.assertLess(max(map(len, texts)), 8192)  # ECMA-376 leaves it open; programs take 8,192
        self.assertGreater(max(map(len, texts)), 7000)
        for formula in texts:
            if re.match("M(IN|AX)\\(", formula):
                self.assertLessEqual(formula.count(",") + 1, 255)


HOSTILE = ["=cmd|' /C calc'!A0", "@SUM(1+1)*cmd|'x'!A0", "+1+1", "-2+3", "=HYPERLINK(\"http://x.invalid\",\"y\")",
           "<script>alert(1)</script>", "a\u202eb", "one\ntwo", "\u0001\u0007", "_x0041_", "&amp;\"'", "*", "\t=1+1", "￾￿"]


class Texts(Recalculated):
    """Names that would like to be formulas, markup or controls."""

    def hostile(self):
        quoted = iter(HOSTILE * 20)

        def texts(old):
            """Titles, owners and publishers, on lines of their own and within a line."""
            within = r"(?<=[{,])( *)(title|owner|publisher|note): (?:\"[^\"]*\"|[^,}\n\"]*)(?=[,}])"
            alone = r"(?m)^( *)(title|owner|publisher|note): .*$"
            for pattern in (within, alone):
                old = re.sub(pattern, lambda hit: f"{hit[1]}{hit[2]}: {support.json.dumps(next(quoted))}", old)
            return old

        names = ("study__yaml", "mill__yaml", "factors__yaml", "products__yaml")
        folder = self.copy_of("worked_example", **dict.fromkeys(names, texts))
        study = (folder / "study.yaml").read_text("utf-8")
        (folder / "study.yaml").write_text(re.sub("(?m)^title: .*", lambda _: f"title: \"{HOSTILE[0]}\"", study), "utf-8")
        return folder

    def setUp(self):
        super().setUp()
        self.path = self.workbook(self.hostile())
        self.files = spreadsheet.members(self.path)

    def test_every_member_is_well_formed_and_nothing_reaches_outside(self):
        for name, content in self.files.items():
            ElementTree.fromstring(content)
            self.assertNotRegex(name, "(?i)macro|vba|external|embed")
        for name in (one for one in self.files if one.endswith(".rels")):
            self.assertNotIn(b"TargetMode", self.files[name])

    def test_formulas_hold_our_words_alone(self):
        """Functions, references, numbers, operators, and the two sentences of the first sheet."""
        functions = r"(?:ABS|AND|EXACT|IF|INDEX|INT|LN|MAX|MIN|MINVERSE|MMULT|NA|OR|SQRT|SUM|SUMPRODUCT|EXP|FALSE)\b"
        word = re.compile(rf"{functions}|(?:Inputs|Calculation|Loops|Derivatives|Burdens|Results)!|\$?[A-Z]{{1,3}}\$?\d+"
                          r"|\d+(?:\.\d+)?(?:E[+-]?\d+)?|[-+*/^(),:=<>]|\"every result equals the engine's\""
                          r"|\"not the engine's results: an input was changed, or the program at hand computes otherwise\"")
        count = 0
        for sheet, cell, formula in spreadsheet.formulas(self.files):
            self.assertEqual(word.sub("", formula), "", f"{sheet}!{cell}")
            count += 1
        self.assertGreater(count, 1000)

    def test_texts_are_strings_with_visible_escapes(self):
        texts = spreadsheet.shared_texts(self.files)
        for hostile in ("=cmd|' /C calc'!A0", "+1+1", "<script>alert(1)</script>", "*"):
            self.assertTrue(any(hostile in text for text in texts), hostile)
        self.assertTrue(any(r"\u202e" in text for text in texts))
        self.assertTrue(any("_x005F_x0041_" in text for text in texts))
        for text in texts:
            self.assertNotRegex(text, "[\x00-\x1f\u202a-\u202e\u2066-\u2069\ufffe\uffff]")

    @needs_office
    def test_a_spreadsheet_program_shows_them_as_they_are(self):
        book = spreadsheet.recalculated([self.path])[self.path]
        cells = {cell for sheet in book.values() for row in sheet for cell in row}
        texts = spreadsheet.shared_texts(self.files)
        hostile = {text.replace("_x005F_", "_") for text in texts if any(text.startswith(one[:4]) for one in HOSTILE)}
        self.assertGreater(len(hostile), 4)
        self.assertLessEqual(hostile, cells)
        self.assertEqual(book["How to read"][0][0], HOSTILE[0])
        said = {row[0]: row[1] for row in book["How to read"]}
        self.assertEqual(said["That is"], "every result equals the engine's")


class Files(Recalculated):
    def write_into(self, target, *, limit=None, **variables):
        """Runs the command with no file above `limit` bytes: the kernel's way to say that the disk is full."""
        def limits():
            if limit is not None:
                resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
        done = subprocess.run([support.DECKLE, "workbook", SMALL, "-o", target], preexec_fn=limits, capture_output=True,
                              env=support.environment(**variables))
        return support.Outcome(done.returncode, done.stdout.decode("utf-8", "replace"), done.stderr.decode("utf-8"))

    def test_same_study_same_bytes(self):
        first = self.workbook(SMALL, name="first.xlsx").read_bytes()
        self.assertEqual(first, self.workbook(SMALL, name="second.xlsx").read_bytes())
        self.assertEqual(first[:4], b"PK\x03\x04")
        relative = self.scratch / "relative.xlsx"
        self.assert_done(deckle("workbook", SMALL.name, "-o", relative, cwd=SMALL.parent))
        self.assertEqual(first, relative.read_bytes(), "the same from whichever folder it is made")

    def test_it_goes_to_standard_output_only_when_asked(self):
        self.assert_refused(deckle("workbook", SMALL), "-o study.xlsx", "[usage]")
        to_file = self.workbook(SMALL).read_bytes()
        self.assertEqual(subprocess.run([support.DECKLE, "workbook", SMALL, "-o", "-"], capture_output=True, check=True,
                                        env=support.environment()).stdout, to_file)

    def test_a_full_disk_at_any_point_leaves_the_old_file_and_nothing_else(self):
        """The library does not look whether its temporary files could be written: the whole is read back."""
        whole = self.workbook(SMALL).stat().st_size
        longest = max(map(len, spreadsheet.members(self.scratch / "study.xlsx").values()))
        self.assertGreater(longest, whole)
        (self.scratch / "study.xlsx").unlink()
        path = self.write("report.xlsx", "old")
        temporary = self.scratch / "temporary"
        temporary.mkdir()
        limits = [1, 500, 4096, 20000, whole - 1, whole + 1, longest - 1]
        for limit in limits:
            with self.subTest(limit):
                outcome = self.write_into(path, limit=limit, TMPDIR=str(temporary))
                self.assert_refused(outcome, "cannot write", "[cannot-write]")
                self.assertNotIn("[ERROR]", outcome.err)
                self.assertEqual(path.read_text("utf-8"), "old")
                self.assertEqual(sorted(os.listdir(self.scratch)), ["report.xlsx", "temporary"])
                self.assertEqual(os.listdir(temporary), [])
        self.assert_done(self.write_into(path, TMPDIR=str(temporary)))
        self.assertEqual(os.listdir(temporary), [])

    def test_no_folder_for_temporary_files(self):
        self.assert_refused(self.write_into(self.scratch / "a.xlsx", TMPDIR=str(self.scratch / "none")), "TMPDIR", "[cannot-write]")
        self.assertEqual(os.listdir(self.scratch), [])

    def test_a_study_is_never_overwritten(self):
        folder = self.copy_of("worked_example")
        self.assert_refused(deckle("workbook", folder, "-o", folder / "mill.yaml"), "it is a file of the study")

    def test_what_is_not_there(self):
        for option, word, code in (("--product", "twoel", "unknown-product"), ("--per", "tt", "unknown-per"),
                                   ("--indicator", "climat", "unknown-indicator"), ("--scenario", "none", "unknown-scenario")):
            self.assert_refused(deckle("workbook", SMALL, option, word, "-o", self.scratch / "a.xlsx"), f"[{code}]")
        self.assertEqual(os.listdir(self.scratch), [])

    def test_options_narrow_the_results(self):
        path = self.workbook(SMALL, "--product", "towel", "--per", "t", "--indicator", "climate")
        files = spreadsheet.members(path)
        rows = re.findall(r'<c r="A\d+"[^>]* t="s"><v>(\d+)</v>', files[spreadsheet.sheets(files)["Results"]].decode("utf-8"))
        texts = spreadsheet.shared_texts(files)
        self.assertEqual([texts[int(row)] for row in rows], ["address", "results.towel.t.climate"])


if __name__ == "__main__":
    support.main()

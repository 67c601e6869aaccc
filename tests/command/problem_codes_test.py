"""Every problem that the engine can report, each with a bad study, its place and its whole text.

bad/CODE.case changes the small study and says what deckle prints:

    # why it is bad
    in FILE          text of a file to change: lines of "<" become lines of ">"
    put FILE         or a whole file: lines of ">"
    expect STATUS    exit status, then the whole of standard error

The caret must stand under the text between « and » (taken out before the run); that is checked apart from the
printed text. `problem_codes_test.py DECKLE SOURCE --update` writes the printed texts anew: read the difference.
"""
import re
import shutil
import sys
import unittest

import support
from support import HERE, CommandTest, deckle

SMALL = HERE / "small_study"
CASES = sorted((HERE / "bad").glob("*.case"))

# Codes without a case here, and why.
EXCUSED = {
    "file-too-large": "100 MB do not belong here: bad_input_test.py makes the file",
    "not-utf8": "a case is text: bad_input_test.py makes the bytes",
    "unreadable-file": "permissions are not kept in a repository: bad_input_test.py",
    "not-finite": "bad_input_test.py, status 3; status 2 is a case",
    "no-break-out": "no result that a study can ask for is a ratio yet",
    "draw-outside-bounds": "uncertainty has no verb yet: tests/graph",
    "text-too-long": "4,096 characters do not read well: bad_input_test.py",
    "formula-too-long": "16,384 characters do not read well: bad_input_test.py",
    "formula-too-deep": "256 parentheses do not read well: bad_input_test.py",
    "formula-without-figures": "only mills take formulas, so a name always meets figures",
    "brings-too-much": "a thousand links do not read well: tests/data/bad/tables.cases",
    "unknown-result": "asked on the command line: sensitivity_test.py",
    "not-covered": "asked on the command line: sensitivity_test.py",
    "no-spread": "asked on the command line: sensitivity_test.py",
    "no-variance": "spreads narrower than a step: tests/analysis/sobol_test.cpp",
    "unknown-input": "asked on the command line: breakeven_test.py",
    "not-an-input": "asked on the command line: breakeven_test.py",
    "does-not-rest-on": "asked on the command line: breakeven_test.py",
    "no-equality": "asked on the command line: breakeven_test.py",
    "unlike-results": "asked on the command line: breakeven_test.py",
    "bad-index": "asked on the command line: breakeven_test.py",
    "bad-range": "asked on the command line: breakeven_test.py",
    "range-outside-bounds": "asked on the command line: tests/analysis/breakeven_test.cpp",
    "unlike-coverage": "asked on the command line: tests/analysis/breakeven_test.cpp",
    "reference-not-positive": "asked on the command line: tests/analysis/breakeven_test.cpp",
    "same-result": "asked on the command line: tests/analysis/breakeven_test.cpp",
    "same-input": "asked on the command line: tests/analysis/breakeven_test.cpp",
    "spread-not-wanted": "asked on the command line: tests/analysis/breakeven_test.cpp",
    "recalculation-due": "a finding of difference: difference_test.py",
    "change-above-limit": "a finding of difference: difference_test.py",
    "part-above-limit": "a finding of difference: difference_test.py",
    "parts-above-limit": "a finding of difference: difference_test.py",
    "too-old": "a finding of difference: difference_test.py",
    "outside-bounds": "asked on the command line: sample_test.py",
    "loose-level": "levels of packing that hold each other: tests/data/bad/products.cases",
    "no-such-result": "asked on the command line: tests/command/golden/compare.txt",
    "unknown-reference": "asked on the command line: tests/analysis/compare_test.cpp",
    "unlike-function": "asked on the command line: tests/analysis/compare_test.cpp",
    "unlike-rules": "asked on the command line: tests/analysis/compare_test.cpp",
    "no-disclosure": "asked by disclose: disclose_test.py",
    "undeclared-product": "asked by disclose: disclose_test.py",
    "wrong-declared-unit": "asked by disclose: disclose_test.py",
    "unknown-potentials": "asked by disclose: disclose_test.py",
    "no-biogenic-carbon": "asked by disclose: declared_test.py",
    "no-fossil-carbon": "asked by disclose: disclose_test.py",
    "not-added-up": "asked by disclose: disclose_test.py",
    "second-edition": "asked by disclose: disclose_test.py",
    "line-not-carried": "a file of a supplier beside the tables: tests/data/bad/tables.cases",
    "several-footprints": "a file of a supplier beside the tables: tests/data/bad/tables.cases",
    "total-not-its-terms": "a file of a supplier beside the tables: tests/data/bad/tables.cases",
    "stated-twice": "a file of a supplier beside the tables: tests/data/bad/tables.cases",
    "unit-not-carried": "a file of a supplier beside the tables: tests/data/bad/tables.cases",
    "property-expected": "files of others: disclose_test.py",
    "property-form": "files of others: disclose_test.py",
    "property-list": "files of others: disclose_test.py",
    "property-missing": "files of others: disclose_test.py",
    "property-sign": "files of others: disclose_test.py",
    "property-type": "files of others: disclose_test.py",
    "property-unknown": "files of others: disclose_test.py",
    "property-word": "files of others: disclose_test.py",
    "not-settled": "a draw that the adaptive number does not settle: tests/analysis",
    "bad-lanes": "an environment variable of tests/graph",
}
# Words with hyphens in the engine's sources that are no codes.
NO_CODES = {"world-eq", "cut-off"}


class Case:
    """One bad study: the changes, the place to be found, what is printed."""

    def __init__(self, path):
        self.path, self.code = path, path.stem.split(".")[0]
        head, _, self.printed = path.read_text("utf-8").partition("\nexpect ")
        self.status, _, self.printed = self.printed.partition("\n")
        self.changes = []
        for line in head.splitlines():
            if line.startswith(("in ", "put ")):
                self.changes.append((line.split(" ", 1)[1], [], []))
            elif line.startswith(("<", ">")):
                self.changes[-1][1 if line[0] == "<" else 2].append(line[2:])

    def apply(self, folder):
        """Changes the study; returns (file, line, column in bytes, marked text), or None without a mark."""
        marked = None
        for name, old_lines, new_lines in self.changes:
            path, old, new = folder / name, "\n".join(old_lines), "\n".join(new_lines)
            before, after = "", ""
            if old:
                whole = path.read_text("utf-8")
                assert whole.count(old) == 1, f"{self.path.name}: {old!r} stands {whole.count(old)} times in {name}"
                before, after = whole.split(old)
            if "«" in new:
                start = (before + new[: new.index("«")]).encode("utf-8")
                text = new[new.index("«") + 1: new.index("»")]
                marked = name, start.count(b"\n") + 1, len(start) - start.rfind(b"\n"), text
            path.write_text(before + new.replace("«", "").replace("»", "") + after, "utf-8")
        return marked

    def update(self, printed):
        head = self.path.read_text("utf-8").partition("\nexpect ")[0]
        self.path.write_text(f"{head}\nexpect {self.status}\n{printed}", "utf-8")


def run(case, scratch):
    folder = scratch / "study"
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(SMALL, folder)
    marked = case.apply(folder)
    return marked, deckle("check", "study", cwd=scratch)


class Cases(CommandTest):
    def test_every_case(self):
        for path in CASES:
            with self.subTest(path.stem):
                case = Case(path)
                marked, outcome = run(case, self.scratch)
                self.assertEqual((outcome.status, outcome.out), (int(case.status), ""), outcome.err)
                self.assert_place(case, marked, outcome.err)
                self.assertEqual(outcome.err, case.printed)

    def assert_place(self, case, marked, printed):
        """One line of the output is `FILE:LINE:COLUMN: error: ... [CODE]`, its caret as long as the mark."""
        lines = printed.splitlines()
        where = "" if marked is None else "study/{}:{}:{}: ".format(*marked)
        found = [i for i, line in enumerate(lines) if line.startswith(f"{where}error: ") and line.endswith(f"[{case.code}]")]
        self.assertTrue(found, f"no {where}error [{case.code}] in\n{printed}")
        shows_line = case.code != "binary-file"  # a control character is not shown
        if marked and marked[3] and shows_line and len(lines[found[0] + 1]) < 160:
            carets = lines[found[0] + 2].strip()
            self.assertEqual(carets, "^" * max(1, len(marked[3])), printed)


class Completeness(CommandTest):
    def codes_in_the_engine(self):
        literal = re.compile(r'"([a-z0-9]+(?:-[a-z0-9]+)+)"')
        found = set()
        for path in (support.SOURCE / "engine").rglob("*"):
            if path.suffix in (".cpp", ".h") and not path.name.startswith("check"):
                found |= {code for code in literal.findall(path.read_text("utf-8")) if not re.search(r"\d-|-\d", code)}
        return found - NO_CODES

    def findings(self):
        """Codes of findings, which are no errors: those that the sources of check list."""
        text = "".join(path.read_text("utf-8") for path in (support.SOURCE / "engine" / "analysis").glob("check*.cpp"))
        return set(re.findall(r'"([a-z0-9]+(?:-[a-z0-9]+)+)"', text))

    def test_every_code_has_a_case_or_an_excuse(self):
        have = {Case(path).code for path in CASES}
        missing = self.codes_in_the_engine() - have - set(EXCUSED) - self.findings()
        self.assertEqual(missing, set(), "write tests/command/bad/CODE.case")

    def test_no_case_or_excuse_is_left_over(self):
        known = self.codes_in_the_engine()
        self.assertEqual({Case(path).code for path in CASES} - known, set())
        self.assertEqual(set(EXCUSED) - known, set())
        self.assertEqual({code for code, why in EXCUSED.items() if not why}, set())


def update():
    import pathlib
    import tempfile
    support.DECKLE, support.SOURCE = sys.argv[1], pathlib.Path(sys.argv[2])
    with tempfile.TemporaryDirectory() as scratch:
        for path in CASES:
            case = Case(path)
            case.update(run(case, pathlib.Path(scratch))[1].err)


if __name__ == "__main__":
    if sys.argv[-1] == "--update":
        update()
    else:
        support.main()

"""Every problem that deckle can report, each with a bad study or question, its place and its whole text.

bad/CODE.case changes the small study and says what deckle prints:

    # why it is bad
    in FILE          text of a file to change: lines of "<" become lines of ">"
    put FILE         or a whole file: lines of ">"
    ask VERB ...     the command, of the study in the folder `study`; else `check study`
    expect STATUS    exit status, then the whole of standard error

The caret must stand under the text between « and » (taken out before the run); that is checked apart from the
printed text. `problem_codes_test.py DECKLE SOURCE --update` writes the printed texts anew: read the difference.
"""
import re
import shlex
import shutil
import sys
import unittest

import support
from support import HERE, CommandTest, deckle

SMALL = HERE / "small_study"
CASES = sorted((HERE / "bad").glob("*.case"))

# Codes without a case here: why, and the test that knows them.
BYTES = "a case is text, and shorter"
SUPPLIER = "a supplier's file beside the tables", "tests/data/bad/tables.cases"
DIFFERENCE = "a finding of difference, on standard output", "tests/command/difference_test.py"
DECLARATION = "a finding of disclose --check, on standard output", "tests/command/declaration_check_test.py"
REMARK = "a remark of disclose, which ends well", "tests/command/disclose_test.py"
ARCHIVE = "a seal is bytes", "tests/command/seal_test.py"
VERIFIED = "a finding of verify, on standard output", "tests/command/seal_test.py"
ALTERED = "a finding of verify about another program's results", "tests/seal/seal_test.cpp"
SHARDS = "needs the reports of other shards", "tests/command/uncertainty_test.py"
EXCUSED = {
    "file-too-large": (BYTES, "tests/command/bad_input_test.py"),
    "not-utf8": (BYTES, "tests/command/bad_input_test.py"),
    "text-too-long": (BYTES, "tests/command/bad_input_test.py"),
    "formula-too-long": (BYTES, "tests/command/bad_input_test.py"),
    "formula-too-deep": (BYTES, "tests/command/bad_input_test.py"),
    "brings-too-much": (BYTES, "tests/data/bad/tables.cases"),
    "unreadable-file": ("permissions are not kept in a repository", "tests/command/bad_input_test.py"),
    "draw-outside-bounds": ("the reader refuses spreads that leave the bounds in more than one draw of a thousand million",
                            "tests/graph/lanes_test.cpp"),
    "formula-without-figures": ("only mills take formulas, so a name always meets figures", "tests/data/bad/quantities.cases"),
    "no-variance": ("spreads narrower than a step", "tests/analysis/sobol_test.cpp"),
    "not-settled": ("a hundred million draws", None),
    "unlike-coverage": ("needs two products with other gaps", "tests/analysis/breakeven_test.cpp"),
    "loose-level": ("levels of packing that hold each other", "tests/data/bad/products.cases"),
    "no-biogenic-carbon": ("needs a study that states all else that customers ask for", "tests/command/declared_test.py"),
    "second-edition": ("needs a supplier's file of the second edition", "tests/command/disclose_test.py"),
    "bad-lanes": ("an environment variable of the tests", None),
    "out-of-memory": ("a computer without memory left", None),
    "workbook-too-large": ("a study of a million rows", None),
    "no-demonstration": ("a program torn out of its installation", "tests/command/install_test.py"),
    "bad-graph": ("only tests read graphs back", "tests/graph/graph_json_test.cpp"),
    "broken-seal": ("a seal is bytes", "tests/command/difference_test.py"),
    **dict.fromkeys(["recalculation-due", "change-above-limit", "part-above-limit", "parts-above-limit", "too-old"], DIFFERENCE),
    **dict.fromkeys(["line-not-carried", "several-footprints", "stated-twice", "total-not-its-terms", "unit-not-carried"], SUPPLIER),
    **dict.fromkeys([f"property-{what}" for what in
                     ("edition", "expected", "form", "list", "lost", "missing", "sign", "type", "unknown", "word")], DECLARATION),
    **dict.fromkeys(["amounts-not-primary", "exemptions-not-stated", "outside-sector-rules", "rests-on-second-edition"], REMARK),
    **dict.fromkeys(["cannot-seal", "duplicate-entry", "loose-key", "other-layout", "path-too-long", "trailing-data", "too-large",
                     "unsafe-entry", "unsafe-path"], ARCHIVE),
    **dict.fromkeys(["bad-signature", "figure-differs", "file-differs", "file-missing", "file-not-sealed", "not-signed",
                     "other-key"], VERIFIED),
    **dict.fromkeys(["input-not-read", "not-worked-out", "other-manifest", "result-differs"], ALTERED),
    **dict.fromkeys(["other-version", "shard-changed", "shard-missing", "shard-twice", "shards-differ"], SHARDS),
}
# Words with hyphens in the sources that are no codes.
NO_CODES = {"world-eq", "cut-off", "market-based", "location-based"}


class Case:
    """One bad study: the changes, the place to be found, what is printed."""

    def __init__(self, path):
        self.path, self.code = path, path.stem.split(".")[0]
        head, _, self.printed = path.read_text("utf-8").partition("\nexpect ")
        self.status, _, self.printed = self.printed.partition("\n")
        self.changes, self.ask = [], ["check", "study"]
        for line in head.splitlines():
            if line.startswith("ask "):
                self.ask = shlex.split(line)[1:]
            elif line.startswith(("in ", "put ")):
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
    return marked, deckle(*case.ask, cwd=scratch)


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
    def findings(self):
        """Codes of findings, which are no errors: the rows of their table."""
        table = (support.SOURCE / "engine" / "analysis" / "check_codes.cpp").read_text("utf-8")
        return set(re.findall(r'CodeRow\{\s*"([a-z0-9-]+)"', table))

    def codes(self):
        """Whatever looks like a code in the sources, but findings and names of formats."""
        literal = re.compile(r'"([a-z0-9]+(?:-[a-z0-9]+)+)"')
        found = set()
        for path in (path for room in ("engine", "reports") for path in (support.SOURCE / room).rglob("*")):
            if path.suffix in (".cpp", ".h"):
                found |= {code for code in literal.findall(path.read_text("utf-8")) if not re.search(r"\d-|-\d|^deckle-", code)}
        return found - NO_CODES - self.findings()

    def test_every_code_has_a_case_or_an_excuse(self):
        self.assertGreater(len(self.codes()), 200)
        self.assertGreater(len(self.findings()), 50)
        have = {Case(path).code for path in CASES}
        self.assertEqual(self.codes() - have - set(EXCUSED), set(), "write tests/command/bad/CODE.case")
        self.assertEqual(have & set(EXCUSED), set(), "no excuse is needed")

    def test_no_case_or_excuse_is_left_over(self):
        known = self.codes()
        self.assertEqual({Case(path).code for path in CASES} - known, set())
        self.assertEqual(set(EXCUSED) - known, set())

    def test_every_excuse_names_the_test_that_knows_the_code(self):
        for code, (why, where) in EXCUSED.items():
            self.assertTrue(why)
            if where is not None:
                known = re.findall(r"[a-z0-9]+(?:-[a-z0-9]+)+", (support.SOURCE / where).read_text("utf-8"))
                self.assertTrue(code in known, f"{where} does not know {code}")


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

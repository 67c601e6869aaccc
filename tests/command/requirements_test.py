"""reports/REQUIREMENTS.md: sixty rows, each with a test that exists under that name, or a reason why there is none."""
import re
import unittest

import support
from support import CommandTest

COUNTS = {"PACT": 25, "ISO67": 8, "GHGP": 7, "H2O": 4, "PEF": 4, "TRADE": 3, "VER": 9}


class Requirements(CommandTest):
    def rows(self):
        text = (support.SOURCE / "reports" / "REQUIREMENTS.md").read_text("utf-8")
        return [[cell.strip() for cell in line.strip("|").split("|")] for line in text.splitlines() if line.startswith("| R-")]

    def test_every_id_once(self):
        expected = [f"R-{group}-{number:02}" for group, count in COUNTS.items() for number in range(1, count + 1)]
        self.assertEqual([row[0] for row in self.rows()], expected)

    def test_every_test_named_exists(self):
        found = 0
        for name, _, shown in self.rows():
            with self.subTest(name):
                path, tests = None, 0
                for span in re.findall(r"`([^`]+)`", shown):
                    if span.startswith("tests/"):
                        path = support.SOURCE / span
                        self.assertTrue(path.is_file(), span)
                    elif path is not None and not span.startswith("deckle "):
                        text = re.sub(r'"\s*\n\s*"', "", path.read_text("utf-8"))
                        wanted = f"def {span}(" if path.suffix == ".py" else f'TEST_CASE("{span}"'
                        self.assertIn(wanted, text)
                        tests += 1
                self.assertTrue(tests > 0 or shown.startswith("not done"), shown)
                found += tests
        self.assertGreater(found, 50)


if __name__ == "__main__":
    support.main()

"""Where the report goes: files written whole or not at all, full disks, closed readers, terminals."""
import os
import re
import resource
import shutil
import stat
import subprocess
import time
import unittest

import support
from support import HERE, CommandTest, deckle, on_terminal

STUDY = HERE / "small_study"


def write_limit():
    """No file of the process may grow above 4 kB: the kernel's way to say that the disk is full."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))


class Files(CommandTest):
    def report(self, *words):
        return deckle("footprint", STUDY, *words)

    def assert_only(self, *names):
        self.assertEqual(sorted(os.listdir(self.scratch)), sorted(names))

    def test_a_file_holds_what_standard_output_holds(self):
        outcome = self.report("-o", self.scratch / "report.txt")
        self.assert_done(outcome)
        self.assertEqual(outcome.out, "")
        self.assertEqual((self.scratch / "report.txt").read_text("utf-8"), self.report().out)
        self.assert_only("report.txt")

    def test_dash_is_standard_output(self):
        self.assertEqual(self.report("-o", "-").out, self.report().out)

    def test_a_new_file_obeys_the_mask_and_an_old_one_keeps_its_mode(self):
        path = self.scratch / "report.txt"
        before = os.umask(0o027)
        self.addCleanup(os.umask, before)
        self.assert_done(self.report("-o", path))
        self.assertEqual(stat.S_IMODE(path.stat().st_mode), 0o640)
        path.chmod(0o604)
        self.assert_done(self.report("-o", path))
        self.assertEqual(stat.S_IMODE(path.stat().st_mode), 0o604)

    def test_a_link_stays_and_its_target_is_written(self):
        target, link = self.write("kept/report.txt", "old"), self.scratch / "link.txt"
        link.symlink_to("kept/report.txt")
        self.assert_done(self.report("-o", link))
        self.assertTrue(link.is_symlink())
        self.assertIn("Vorrelby", target.read_text("utf-8"))

    def test_a_link_to_nothing_yet(self):
        link = self.scratch / "link.txt"
        link.symlink_to("new.txt")
        self.assert_done(self.report("-o", link))
        self.assert_only("link.txt", "new.txt")

    def test_a_failed_calculation_leaves_the_old_file(self):
        path = self.write("report.txt", "old")
        self.assert_refused(self.report("--product", "nothing", "-o", path), "[unknown-product]")
        self.assertEqual(path.read_text("utf-8"), "old")
        self.assert_only("report.txt")

    def test_a_full_disk_leaves_the_old_file_and_nothing_else(self):
        path = self.write("report.json", "old")
        done = subprocess.run([support.DECKLE, "footprint", STUDY, "--format", "json", "-o", path],
                              preexec_fn=write_limit, capture_output=True, text=True, env=support.environment())
        self.assertEqual(done.returncode, 2, done.stderr)
        self.assertIn("File too large", done.stderr)
        self.assertEqual(path.read_text("utf-8"), "old")
        self.assert_only("report.json")

    def test_folders(self):
        for target in (self.scratch, f"{self.scratch}/", f"{self.scratch}/none/"):
            self.assert_refused(self.report("-o", target), "it is a folder", "[cannot-write]")

    def test_no_such_folder(self):
        self.assert_refused(self.report("-o", self.scratch / "none" / "report.txt"), "the folder does not exist")

    def test_a_file_in_place_of_the_folder(self):
        path = self.write("file", "")
        self.assert_refused(self.report("-o", path / "report.txt"), "is not a folder")

    @unittest.skipIf(os.geteuid() == 0, "root may write everywhere")
    def test_a_folder_without_permission(self):
        self.scratch.chmod(0o500)
        self.assert_refused(self.report("-o", self.scratch / "report.txt"), "choose a folder you may write in")
        self.scratch.chmod(0o700)

    def test_a_study_is_never_overwritten_by_its_report(self):
        folder = self.copy_of("worked_example")
        before = (folder / "mill.yaml").read_text("utf-8")
        for name in ("mill.yaml", "../worked_example/factors.yaml"):
            self.assert_refused(deckle("footprint", folder, "-o", folder / name), "it is a file of the study")
        self.assertEqual((folder / "mill.yaml").read_text("utf-8"), before)

    def test_a_device_is_written_as_it_is(self):
        self.assert_done(self.report("-o", "/dev/null"))
        self.assert_refused(self.report("-o", "/dev/full"), "No space left on device")


class StandardOutput(CommandTest):
    def test_a_full_disk(self):
        with open("/dev/full", "wb") as full:
            outcome = deckle("footprint", STUDY, stdout=full)
        self.assert_refused(outcome, "cannot write standard output", "the disk is full")

    def test_a_reader_that_went_away_is_no_fault(self):
        """A pager closed early, `| head`: nothing to say, and no signal."""
        reader, writer = os.pipe()
        os.close(reader)
        with os.fdopen(writer, "wb") as pipe:
            outcome = deckle("footprint", STUDY, "--format", "json", stdout=pipe)
        self.assertEqual((outcome.status, outcome.err), (0, ""))

    def test_a_file_whose_reader_went_away_is_not_written(self):
        pipe = self.scratch / "pipe"
        os.mkfifo(pipe)
        script = '"$0" footprint "$1" --format json -o "$2" & exec 3<"$2"; exec 3<&-; wait $!'
        done = subprocess.run(["bash", "-c", script, support.DECKLE, STUDY, pipe], env=support.environment(),
                              capture_output=True, text=True, timeout=support.PATIENCE)
        if done.returncode != 0:  # the reader may have left before or after the writing
            self.assertIn("Broken pipe", done.stderr)

    def test_closed_streams_do_not_spoil_a_file(self):
        path = self.scratch / "report.txt"
        for closed in (">&-", "2>&-", "<&- >&- 2>&-"):
            script = f'exec {closed}; exec "$0" footprint "$1" -o "$2"'
            done = subprocess.run(["bash", "-c", script, support.DECKLE, STUDY, path], env=support.environment())
            self.assertEqual(done.returncode, 0)
            self.assertEqual(path.read_text("utf-8"), deckle("footprint", STUDY).out)
            path.unlink()

    def test_closed_standard_output_is_an_error(self):
        done = subprocess.run(["bash", "-c", 'exec "$0" footprint "$1" >&-', support.DECKLE, STUDY],
                              env=support.environment(), capture_output=True, text=True)
        self.assertEqual(done.returncode, 2)
        self.assertIn("cannot write standard output", done.stderr)


class Terminals(CommandTest):
    def widest(self, text):
        return max(len(line) for line in re.sub("\x1b\\[[0-9;]*m", "", text).splitlines())

    def test_no_colour_and_a_hundred_columns_when_piped(self):
        outcome = deckle("footprint", STUDY)
        self.assertNotIn("\x1b", outcome.out)
        self.assertLessEqual(self.widest(outcome.out), 100)

    def test_colour_on_a_terminal(self):
        status, text = on_terminal("footprint", STUDY)
        self.assertEqual(status, 0)
        self.assertIn("\x1b[1m", text)

    def test_colour_adds_nothing_but_emphasis(self):
        _, text = on_terminal("footprint", STUDY, columns=100)
        self.assertEqual(re.sub("\x1b\\[[0-9;]*m", "", text), deckle("footprint", STUDY).out)

    def test_a_page_is_not_written_to_a_terminal(self):
        status, text = on_terminal("page", STUDY, "--draws", "none")
        self.assertEqual(status, 2)
        self.assertIn("say where to: -o page.html", text)
        self.assertIn("</html>", deckle("page", STUDY, "--draws", "none").out)

    def test_no_colour_when_asked(self):
        for variables in ({"NO_COLOR": "1"}, {"TERM": "dumb"}):
            _, text = on_terminal("footprint", STUDY, **variables)
            self.assertNotIn("\x1b", text)

    def test_an_empty_no_color_asks_for_nothing(self):
        """no-color.org: only a value that is not empty counts."""
        self.assertIn("\x1b", on_terminal("footprint", STUDY, NO_COLOR="")[1])

    def test_the_terminal_sets_the_width(self):
        for columns in (72, 140):
            _, text = on_terminal("footprint", STUDY, "--product", "towel", columns=columns, NO_COLOR="1")
            self.assertLessEqual(self.widest(text), columns)

    def test_errors_are_coloured_on_a_terminal_alone(self):
        status, text = on_terminal("footprint", "none")
        self.assertEqual(status, 2)
        self.assertIn("\x1b[1;31merror:\x1b[0m", text)
        self.assertNotIn("\x1b", deckle("footprint", "none").err)

    def test_a_file_has_no_colour_even_from_a_terminal(self):
        on_terminal("footprint", STUDY, "-o", self.scratch / "report.txt")
        self.assertEqual((self.scratch / "report.txt").read_text("utf-8"), deckle("footprint", STUDY).out)


class Patience(CommandTest):
    def slow_study(self):
        """60 MB of comments take seconds to read."""
        folder = self.scratch / "slow"
        shutil.copytree(STUDY, folder)
        with open(folder / "factors.yaml", "a", encoding="utf-8") as file:
            file.write("# nothing to see in this line\n" * 2_000_000)
        return folder

    def test_work_of_more_than_a_second_shows_itself_on_a_terminal(self):
        study = self.slow_study()
        started = time.monotonic()
        status, text = on_terminal("footprint", study)
        self.assertEqual(status, 0)
        if time.monotonic() - started > 1.5:
            self.assertIn(f"reading {study} ... 1 s", text)
            self.assertIn("\r\x1b[K", text)

    def test_quick_work_and_pipes_show_nothing(self):
        self.assertNotIn("reading", on_terminal("footprint", STUDY)[1])
        self.assertEqual(deckle("footprint", self.slow_study()).err, "")


class Verbose(CommandTest):
    def test_messages_go_to_standard_error(self):
        outcome = deckle("footprint", STUDY, "--verbose")
        self.assertEqual(outcome.status, 0)
        self.assertEqual(outcome.out, deckle("footprint", STUDY).out)
        self.assertRegex(outcome.err, r"deckle: 9 files make \d+ numbers and \d+ results")


if __name__ == "__main__":
    support.main()

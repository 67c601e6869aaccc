"""deckle demonstration: where the study lies, from a source tree as from a build, and copies of it."""
import os
import resource
import shutil
import subprocess
import unittest

import support
from support import CommandTest, deckle, study_folder


def write_limit():
    """No file of the process may grow above 4 kB: the kernel's way to say that the disk is full."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))


class Place(CommandTest):
    def tree(self):
        """A source tree with a program in build/PRESET and no link beside it, as after a move."""
        for folder in ("inventories", "factors"):
            shutil.copytree(support.SOURCE / folder, self.scratch / folder)
        program = self.scratch / "build" / "release" / "deckle"
        program.parent.mkdir(parents=True)
        shutil.copy(support.DECKLE, program)
        return program

    def run_program(self, program, *words):
        return subprocess.run([program, *words], capture_output=True, text=True, env=support.environment(), timeout=support.PATIENCE)

    def test_from_the_build_folder_of_a_source_tree(self):
        done = self.run_program(self.tree(), "demonstration")
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        self.assertEqual(done.stdout.strip(), str((self.scratch / "inventories" / "demonstration").resolve()))

    def test_a_link_that_leads_nowhere_is_no_hindrance(self):
        program = self.tree()
        (program.parent / "shared").symlink_to(self.scratch / "moved away")
        self.assertEqual(self.run_program(program, "demonstration").returncode, 0)


class Copies(CommandTest):
    def files_below(self, folder):
        return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}

    def test_a_copy_holds_the_studies_and_tables_and_nothing_else(self):
        (self.scratch / ".git").mkdir()  # stands for what lies beside the folders of a source tree
        target = self.scratch / "mine"
        outcome = deckle("demonstration", "--copy-to", target)
        self.assert_done(outcome)
        self.assertEqual(outcome.out, f"{target}/inventories/demonstration\n")
        expected = {}
        for folder in ("factors", "inventories"):
            for name, content in self.files_below(support.SOURCE / folder).items():
                if name.endswith((".yaml", ".csv", ".md")):
                    expected[f"{folder}/{name}"] = content
        self.assertEqual(self.files_below(target), expected)

    def test_the_copy_gives_the_figures_of_what_was_copied(self):
        target = self.scratch / "mine"
        self.assert_done(deckle("demonstration", "--copy-to", f"{target}/"))
        one = deckle("footprint", target / "inventories" / "demonstration", "--format", "csv")
        self.assert_done(one)
        self.assertEqual(one.out, deckle("footprint", study_folder("demonstration"), "--format", "csv").out)

    def test_its_files_and_folders_have_the_mode_of_new_ones(self):
        target = self.scratch / "mine"
        mask = os.umask(0o027)
        try:
            self.assert_done(deckle("demonstration", "--copy-to", target))
        finally:
            os.umask(mask)
        self.assertEqual(target.stat().st_mode & 0o777, 0o750)
        self.assertEqual((target / "factors").stat().st_mode & 0o777, 0o750)
        self.assertEqual((target / "factors" / "SCHEMA.md").stat().st_mode & 0o777, 0o640)

    def test_what_exists_is_refused(self):
        for name in ("folder", "file"):
            path = self.scratch / name
            path.mkdir() if name == "folder" else path.write_text("kept")
            self.assert_refused(deckle("demonstration", "--copy-to", path), "exists already", "[file-exists]")
        self.assertEqual(list((self.scratch / "folder").iterdir()), [])
        self.assertEqual((self.scratch / "file").read_text(), "kept")
        (self.scratch / "link").symlink_to("nowhere")
        self.assert_refused(deckle("demonstration", "--copy-to", self.scratch / "link"), "[file-exists]")

    def test_no_folder_to_write_in(self):
        self.assert_refused(deckle("demonstration", "--copy-to", self.scratch / "none" / "mine"), "the folder does not exist",
                            "[cannot-write]")
        self.assertEqual(list(self.scratch.iterdir()), [])

    def test_a_full_disk_leaves_nothing(self):
        done = subprocess.run([support.DECKLE, "demonstration", "--copy-to", self.scratch / "mine"], preexec_fn=write_limit,
                              capture_output=True, text=True, env=support.environment(), timeout=support.PATIENCE)
        self.assertEqual((done.returncode, done.stdout), (2, ""))
        self.assertIn("[cannot-write]", done.stderr)
        self.assertEqual(list(self.scratch.iterdir()), [])


if __name__ == "__main__":
    support.main()

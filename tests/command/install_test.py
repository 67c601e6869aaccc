"""What users get: an install tree and a Debian package that run away from the source. BUILD is the third argument."""
import pathlib
import re
import shutil
import subprocess
import sys
import unittest

import support
from support import CommandTest

BUILD = pathlib.Path(sys.argv.pop(3))


def run(*words, **more):
    done = subprocess.run([str(word) for word in words], capture_output=True, text=True, timeout=support.PATIENCE,
                          env=support.environment(), **more)
    if done.returncode != 0:
        raise AssertionError(f"{words}: {done.stdout}{done.stderr}")
    return done.stdout


class Installed(CommandTest):
    def assert_complete(self, root):
        """Everything lies where Debian policy 12.1 and the FHS want it, and the command runs from there."""
        for path in ("bin/deckle", "share/man/man1/deckle.1", "share/bash-completion/completions/deckle",
                     "share/deckle/factors/climate_ar6.yaml", "share/deckle/factors/SCHEMA.md",
                     "share/deckle/inventories/SCHEMA.md", "share/deckle/inventories/demonstration/study.yaml",
                     "share/doc/deckle/copyright"):  # Debian policy 12.5
            self.assertTrue((root / path).is_file(), path)
        program = root / "bin" / "deckle"
        folder = run(program, "demonstration").strip()
        self.assertEqual(folder, str((root / "share/deckle/inventories/demonstration").resolve()))
        installed = run(program, "footprint", folder, "--format", "csv")
        own = run(support.DECKLE, "footprint", support.study_folder("demonstration"), "--format", "csv")
        self.assertEqual(installed, own)
        page = run(program, "page", folder, "--draws", "none", "-o", "-")
        self.assertIn("</html>", page)
        self.assertGreater(len(page), 500_000)  # the script that evaluates it came along

    def test_install_tree(self):
        root = self.scratch / "anywhere"
        run("cmake", "--install", BUILD, "--prefix", root)
        self.assert_complete(root)
        moved = self.scratch / "moved"
        root.rename(moved)
        self.assert_complete(moved)

    def test_a_program_without_its_shared_files_says_so(self):
        alone = self.scratch / "deckle"
        shutil.copy(support.DECKLE, alone)
        done = subprocess.run([alone, "demonstration"], capture_output=True, text=True, env=support.environment())
        self.assertEqual((done.returncode, done.stdout), (2, ""))
        self.assertIn("[no-demonstration]", done.stderr)

    def test_nothing_of_the_build_is_installed(self):
        root = self.scratch / "tree"
        run("cmake", "--install", BUILD, "--prefix", root)
        for path in root.rglob("*"):
            self.assertFalse(path.is_symlink(), path)
            self.assertIn(path.suffix, {"", ".yaml", ".csv", ".md", ".1", ".json"}, path)  # .json: the schema of water


@unittest.skipUnless(shutil.which("dpkg-deb") and shutil.which("file"), "needs the tools of Debian packages")
class Package(CommandTest):
    def test_package(self):
        run("cpack", "-G", "DEB", "--config", BUILD / "CPackConfig.cmake", "-B", self.scratch, cwd=self.scratch)
        packages = list(self.scratch.glob("*.deb"))
        self.assertEqual(len(packages), 1, packages)
        self.assertRegex(packages[0].name, r"^deckle_\d+\.\d+\.\d+_[a-z0-9]+\.deb$")
        self.assert_control(run("dpkg-deb", "--field", packages[0]))
        self.assert_owned_by_root(run("dpkg-deb", "--contents", packages[0]))
        tree = self.scratch / "unpacked"
        run("dpkg-deb", "--extract", packages[0], tree)
        Installed.assert_complete(self, tree / "usr")

    def assert_control(self, control):
        """Debian policy 5.3: the fields a binary package must have."""
        fields = dict(re.findall(r"^([A-Za-z-]+): (.*)$", control, re.M))
        for name in ("Package", "Version", "Architecture", "Maintainer", "Description", "Section"):
            self.assertTrue(fields.get(name), name)
        for library in ("libc6", "libstdc++6", "libfmt9", "libyaml-cpp0.7", "libklu1"):
            self.assertIn(library, fields["Depends"])
        self.assertTrue(fields["Maintainer"].endswith(".invalid>"), fields["Maintainer"])

    def assert_owned_by_root(self, contents):
        for line in contents.splitlines():
            self.assertRegex(line, r"^(-rw-r--r--|-rwxr-xr-x|drwxr-xr-x) root/root ")


if __name__ == "__main__":
    support.main()

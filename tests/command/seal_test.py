"""deckle seal, verify, keys: seals taken apart with Python's tarfile and hashlib, signatures held against openssl."""
import hashlib
import io
import json
import os
import re
import shutil
import subprocess
import tarfile
import unittest

import jsonschema

import support
from support import HERE, CommandTest, deckle, study_folder

SMALL = HERE / "small_study"


def run_in(variables, *words, first=(), program=None):
    done = subprocess.run([*first, program or support.DECKLE, *map(str, words)], capture_output=True, text=True,
                          timeout=support.PATIENCE, env=support.environment(**variables))
    return support.Outcome(done.returncode, done.stdout, done.stderr)


class Sealed(CommandTest):
    def seal(self, study=SMALL, name="a.seal", *more):
        path = self.scratch / name
        self.assert_done(deckle("seal", study, "-o", path, *more))
        return path

    def archive(self, *entries):
        """A seal by another program: (name, type, bytes or target)."""
        path = self.scratch / "other.seal"
        with tarfile.open(path, "w", format=tarfile.USTAR_FORMAT) as tar:
            for name, kind, content in entries:
                info = tarfile.TarInfo(name)
                info.type = kind
                if kind == tarfile.REGTYPE:
                    info.size = len(content)
                    tar.addfile(info, io.BytesIO(content))
                else:
                    info.linkname = content
                    tar.addfile(info)
        return path


class Contents(Sealed):
    def test_tar_and_hashlib_find_what_the_manifest_says(self):
        with tarfile.open(self.seal()) as tar:
            names = tar.getnames()
            contents = {name: tar.extractfile(name).read() for name in names}
        self.assertEqual(len(names), len(set(names)))
        manifest = json.loads(contents.pop("manifest.json"))
        self.assertEqual({e["path"] for e in manifest["entries"]}, set(contents))
        for entry in manifest["entries"]:
            self.assertEqual(entry["sha256"], hashlib.sha256(contents[entry["path"]]).hexdigest())
            self.assertEqual(entry["bytes"], len(contents[entry["path"]]))
        for path in SMALL.iterdir():
            self.assertEqual(contents[f"inputs/{path.name}"], path.read_bytes())
        tables = {e["path"] for e in manifest["entries"] if e["holds"] == "factor_table"}
        self.assertEqual(tables, {f"inputs/{n}.yaml" for n in ("climate", "scarcity", "factors", "prices")})
        self.assertRegex(manifest["program"], r"^deckle \d+\.\d+\.\d+$")
        sealed = json.loads(contents["results/footprint.json"])
        everything = deckle("footprint", SMALL, "--format", "json", "--scenario", "today", "--scenario", "drier_press",
                            "--scenario", "electric_hood").json()
        self.assertEqual(sealed["results"], everything["results"])
        files = json.loads(contents["results/graph.json"])["files"]
        for one in files:
            self.assertEqual(one["sha256"], hashlib.sha256(contents[f"inputs/{one['path']}"]).hexdigest())

    def test_the_digest_printed_is_that_of_the_manifest(self):
        path = self.scratch / "x.seal"
        printed = deckle("seal", SMALL, "-o", path).out
        with tarfile.open(path) as tar:
            digest = hashlib.sha256(tar.extractfile("manifest.json").read()).hexdigest()
        self.assertIn(f"digest {digest}\n", printed)
        self.assertIn(digest, deckle("verify", path).out)

    def test_the_same_study_gives_the_same_bytes_wherever_it_lies(self):
        first = self.seal().read_bytes()
        elsewhere = self.scratch / "deep" / "down"
        shutil.copytree(SMALL, elsewhere)
        for path in elsewhere.iterdir():
            os.utime(path, (0, 0))
        self.assertEqual(self.seal(elsewhere, "b.seal").read_bytes(), first)
        outcome = deckle("seal", "study.yaml", "-o", "-", cwd=elsewhere, stdout=subprocess.PIPE)
        self.assertEqual(outcome.out.encode("utf-8"), first)

    def test_a_byte_order_mark_is_sealed_too(self):
        folder = self.scratch / "marked"
        shutil.copytree(SMALL, folder)
        (folder / "mill.yaml").write_bytes(b"\xef\xbb\xbf" + (folder / "mill.yaml").read_bytes())
        path = self.seal(folder)
        with tarfile.open(path) as tar:
            self.assertEqual(tar.extractfile("inputs/mill.yaml").read(), (folder / "mill.yaml").read_bytes())
        self.assert_done(deckle("verify", path))

    def test_every_shipped_study(self):
        for study in support.shipped():
            with self.subTest(study):
                self.assert_done(deckle("verify", self.seal(study, f"{study.name}.seal")))

    def test_a_file_named_by_an_absolute_path(self):
        folder = self.copy_of("worked_example", study__yaml=lambda text: text.replace(
            "climate.yaml", str(study_folder("worked_example") / "climate.yaml")))
        target = self.scratch / "x.seal"
        self.assert_refused(deckle("seal", folder, "-o", target), "[cannot-seal]", "relative to the study's folder")
        self.assertFalse(target.exists())


    def test_a_name_that_no_archive_holds(self):
        """POSIX.1-1988: a name without a slash has 100 bytes at most."""
        folder, long = self.scratch / "long", "a" * 120 + ".yaml"
        shutil.copytree(SMALL, folder)
        (folder / "climate.yaml").rename(folder / long)
        study = folder / "study.yaml"
        study.write_text(study.read_text("utf-8").replace("[climate.yaml,", f"[{long},"), "utf-8")
        self.assert_done(deckle("footprint", folder))
        self.assert_refused(deckle("seal", folder, "-o", self.scratch / "x.seal"), long, "[path-too-long]")


class Verified(Sealed):
    def test_one_thread_and_two_wide_lanes_and_plain(self):
        """DECKLE_LANES=sse2 draws with what every x86-64 has; all else is compiled for that alone."""
        one = self.scratch / "one.seal"
        outcome = run_in({}, "seal", SMALL, "--draws", "3000", "-o", one, first=("taskset", "-c", "0"))
        self.assert_done(outcome)
        for variables in ({}, {"DECKLE_LANES": "sse2"}):
            for threads in ("1", "2"):
                with self.subTest(variables=variables, threads=threads):
                    self.assert_done(run_in(variables, "verify", one, "--threads", threads))
        plain = self.scratch / "plain.seal"
        self.assert_done(run_in({"DECKLE_LANES": "sse2"}, "seal", SMALL, "--draws", "3000", "-o", plain))
        self.assertEqual(plain.read_bytes(), one.read_bytes())

    @unittest.skipUnless(os.environ.get("DECKLE_OF_ANOTHER_BUILD"), "DECKLE_OF_ANOTHER_BUILD names no other deckle")
    def test_another_compiler_gives_the_same_seal_and_verifies_it(self):
        other = os.environ["DECKLE_OF_ANOTHER_BUILD"]
        for name, study in (("small", SMALL), ("worked", study_folder("worked_example"))):
            with self.subTest(study=name):
                here, there = self.scratch / f"{name}_here.seal", self.scratch / f"{name}_there.seal"
                words = ("seal", study, "--draws", "3000", "-o")
                self.assert_done(run_in({}, *words, here))
                self.assert_done(run_in({}, *words, there, program=other))
                self.assertEqual(here.read_bytes(), there.read_bytes())
                self.assert_done(run_in({}, "verify", there))
                self.assert_done(run_in({}, "verify", here, program=other))

    def test_an_altered_input_is_named_with_every_figure(self):
        path = self.seal()
        whole = path.read_bytes()
        self.assertEqual(whole.count(b"electricity: 900 kWh/t"), 1)
        path.write_bytes(whole.replace(b"electricity: 900 kWh/t", b"electricity: 901 kWh/t"))
        outcome = deckle("verify", path)
        self.assertEqual(outcome.status, 1)
        self.assertIn("inputs/mill.yaml: SHA-256 is", outcome.out)
        self.assertRegex(outcome.out, r"results\.towel_long\.roll\.climate_with_uptake: sealed ")
        self.assertIn("[figure-differs]", outcome.out)
        self.assertNotIn("inputs/factors.yaml", outcome.out)
        schema = json.loads((HERE / "verification.schema.json").read_text("utf-8"))
        found = deckle("verify", path, "--format", "json").json()
        jsonschema.validate(found, schema)
        jsonschema.validate(deckle("verify", self.seal(SMALL, "whole.seal"), "--format", "json").json(), schema)
        self.assertFalse(found["holds"])
        self.assert_short_and_largest_first(outcome.out, found["findings"])
        self.assertIn("file-differs", {one["code"] for one in found["findings"]})

    def assert_short_and_largest_first(self, text, findings):
        """The verdict, then files, then the ten figures that are furthest off; JSON has them all."""
        self.assertTrue(text.splitlines()[0].endswith(f"the seal does not hold, {len(findings)} findings"), text)
        figures = [one for one in findings if one["relative"] is not None]
        self.assertGreater(len(figures), 10)
        largest = sorted(figures, key=lambda one: -one["relative"])[:10]
        shown = [line for line in text.splitlines() if line.endswith("[figure-differs]")]
        self.assertEqual(shown, [f"{one['message']} [figure-differs]" for one in largest])
        self.assertIn(f"and {len(figures) - 10} more (all in --format json)\n", text)
        self.assertLess(text.index("[file-differs]"), text.index("[figure-differs]"))

    def test_the_relative_difference_of_a_figure(self):
        """By hand from the two values of the message: |a - b| over the larger of both, the largest of three."""
        path = self.seal()
        path.write_bytes(path.read_bytes().replace(b"electricity: 900 kWh/t", b"electricity: 901 kWh/t"))
        for one in deckle("verify", path, "--format", "json").json()["findings"]:
            if one["code"] != "figure-differs":
                self.assertIsNone(one["relative"])
                continue
            sealed, now = one["message"].split("; worked out ")
            number = r"(-?[0-9.]+(?:e[+-]?[0-9]+)?)(?= |,|\))"
            pairs = zip(re.findall(number, sealed.split(": sealed ")[1]), re.findall(number, now))
            largest = max(abs(float(a) - float(b)) / max(abs(float(a)), abs(float(b))) for a, b in pairs if a != b)
            self.assertAlmostEqual(one["relative"], largest, delta=1e-12 * largest)

    def test_an_altered_result_is_named(self):
        path = self.seal()
        with tarfile.open(path) as tar:
            value = json.load(tar.extractfile("results/footprint.json"))["results"][0]["value"]
        text = f'"value": {value!r}'.encode()
        whole = path.read_bytes()
        self.assertIn(text, whole)
        path.write_bytes(whole.replace(text, text[:-1] + (b"1" if text[-1:] != b"1" else b"2")))
        outcome = deckle("verify", path)
        self.assertEqual(outcome.status, 1)
        self.assertIn("results/footprint.json", outcome.out)
        self.assertIn("[figure-differs]", outcome.out)

    def test_cut_off_and_other_files(self):
        whole = self.seal().read_bytes()
        for length in (0, 1, 511, 512, 5000, len(whole) // 2, len(whole) - 1024, len(whole) - 1):
            with self.subTest(length):
                self.assert_refused(deckle("verify", self.write("cut.seal", whole[:length])), "error: ")
        self.assert_refused(deckle("verify", self.write("more.seal", whole + b"x")), "[trailing-data]")
        self.assert_refused(deckle("verify", SMALL / "study.yaml"), "[not-a-seal]")
        self.assert_refused(deckle("verify", SMALL), "[not-a-file]")
        self.assert_refused(deckle("verify", self.scratch / "none.seal"), "[missing-file]")

    def test_archives_that_try_more(self):
        plain = ("manifest.json", tarfile.REGTYPE, b"{}")
        for code, entry in (("unsafe-path", ("../x", tarfile.REGTYPE, b"")),
                            ("unsafe-path", ("inputs/../../x", tarfile.REGTYPE, b"")),
                            ("unsafe-path", ("/tmp/x", tarfile.REGTYPE, b"")),
                            ("unsafe-entry", ("inputs/x", tarfile.SYMTYPE, "/etc/passwd")),
                            ("unsafe-entry", ("inputs/x", tarfile.LNKTYPE, "manifest.json")),
                            ("unsafe-entry", ("inputs/x", tarfile.DIRTYPE, "")),
                            ("unsafe-entry", ("inputs/x", tarfile.FIFOTYPE, "")),
                            ("unsafe-entry", ("inputs/x", tarfile.CHRTYPE, "")),
                            ("duplicate-entry", plain)):
            with self.subTest(code=code, entry=entry[0]):
                self.assert_refused(deckle("verify", self.archive(plain, entry)), f"[{code}]")

    def test_sizes_that_no_seal_has(self):
        info = tarfile.TarInfo("inputs/x")
        for size in (300 * 1024 * 1024, 8 ** 11 - 1):
            info.size = size
            with self.subTest(size):
                path = self.write("big.seal", info.tobuf(tarfile.USTAR_FORMAT) + bytes(2048))
                self.assert_refused(deckle("verify", path), "[too-large]")

    def test_entries_in_another_order(self):
        """The second entry, whole with its head, behind the last."""
        whole = self.seal().read_bytes()
        with tarfile.open(fileobj=io.BytesIO(whole)) as tar:
            first, second, *rest = tar.getmembers()
            after = rest[0].offset
            end = rest[-1].offset_data + -(-rest[-1].size // 512) * 512
        moved = whole[:second.offset] + whole[after:end] + whole[second.offset:after] + whole[end:]
        self.assertEqual(len(moved), len(whole))
        outcome = deckle("verify", self.write("moved.seal", moved))
        self.assertIn(outcome.status, (1, 2))
        front = whole[first.offset:second.offset]
        last = whole[second.offset:end] + front + whole[end:]
        self.assert_refused(deckle("verify", self.write("last.seal", last)), "[not-a-seal]", "another order")

    def pieces(self, path):
        """The bytes of each entry, head and padding with them, and what closes the archive under ''."""
        whole = path.read_bytes()
        with tarfile.open(path) as tar:
            members = tar.getmembers()
        ends = [m.offset_data + -(-m.size // 512) * 512 for m in members]
        return {m.name: whole[m.offset:end] for m, end in zip(members, ends)} | {"": whole[ends[-1]:]}

    def verified(self, pieces):
        outcome = deckle("verify", self.write("altered.seal", b"".join(pieces.values())))
        self.assertEqual(outcome.status, 1, outcome.err)
        return outcome.out

    def test_an_entry_that_is_gone_and_one_that_came_to_it(self):
        pieces = self.pieces(self.seal())
        name = "results/graph.json"
        self.assertRegex(self.verified({k: v for k, v in pieces.items() if k != name}), rf"{name}: .*\[file-missing\]")
        # One letter of the name more by one, and so the sum of the head (octal, from byte 148 on) too: POSIX.1-1988.
        head = bytearray(pieces[name])
        head[len("results/graph.jso")] += 1
        head[148:154] = b"%06o" % (int(head[148:154], 8) + 1)
        out = self.verified(pieces | {name: bytes(head)})
        self.assertRegex(out, r"results/graph\.jsoo: .*\[file-not-sealed\]")
        self.assertRegex(out, rf"{name}: .*\[file-missing\]")

    def test_the_signature_of_another_seal(self):
        self.assert_done(deckle("keys", self.scratch / "k"))
        signed = [self.pieces(self.seal(study, f"{n}.seal", "--key", self.scratch / "k.secret"))
                  for n, study in enumerate((SMALL, study_folder("worked_example")))]
        out = self.verified(signed[0] | {"signature": signed[1]["signature"]})
        self.assertIn("[bad-signature]", out)

    def test_packed_again_by_another_program(self):
        with tarfile.open(self.seal()) as tar:
            entries = [(n, tarfile.REGTYPE, tar.extractfile(n).read()) for n in tar.getnames()]
        outcome = deckle("verify", self.archive(*entries))
        self.assertIn(outcome.status, (1, 2))
        self.assertRegex(outcome.out + outcome.err, r"\[(other-layout|trailing-data)\]")


class Signed(Sealed):
    def keys(self, name="k"):
        self.assert_done(deckle("keys", self.scratch / name))
        return self.scratch / f"{name}.secret", self.scratch / f"{name}.public"

    def test_the_secret_key_is_for_its_owner_and_no_key_is_written_over(self):
        secret, public = self.keys()
        self.assertEqual(secret.stat().st_mode & 0o777, 0o600)
        before = secret.read_bytes(), public.read_bytes()
        self.assert_refused(deckle("keys", self.scratch / "k"), "[file-exists]")
        self.assertEqual((secret.read_bytes(), public.read_bytes()), before)
        public.unlink()
        self.assert_refused(deckle("keys", self.scratch / "k"), "[file-exists]")
        self.assertFalse(public.exists(), "half a pair")
        self.assert_refused(deckle("keys", self.scratch / "none" / "k"), "[cannot-write]")

    def test_signed_by_the_key_and_by_no_other(self):
        secret, public = self.keys()
        _, other = self.keys("other")
        path = self.seal(SMALL, "s.seal", "--key", secret)
        self.assert_done(deckle("verify", path))
        self.assert_done(deckle("verify", path, "--key", public))
        outcome = deckle("verify", path, "--key", other)
        self.assertEqual(outcome.status, 1)
        self.assertIn("[other-key]", outcome.out)
        unsigned = deckle("verify", self.seal(), "--key", public)
        self.assertEqual(unsigned.status, 1)
        self.assertIn("[not-signed]", unsigned.out)

    def test_openssl_agrees(self):
        """RFC 8410: an Ed25519 public key is these twelve bytes and the key."""
        secret, public = self.keys()
        with tarfile.open(self.seal(SMALL, "s.seal", "--key", secret)) as tar:
            manifest = tar.extractfile("manifest.json").read()
            _, key, signature = tar.extractfile("signature").read().decode().split()
        self.assertTrue(public.read_text().endswith(f" {key}\n"))
        der = self.write("key.der", bytes.fromhex("302a300506032b6570032100" + key))
        done = subprocess.run(["openssl", "pkeyutl", "-verify", "-pubin", "-keyform", "DER", "-inkey", der, "-rawin",
                               "-in", self.write("manifest", manifest),
                               "-sigfile", self.write("signature", bytes.fromhex(signature))],
                              capture_output=True, text=True, timeout=support.PATIENCE)
        self.assertEqual(done.returncode, 0, done.stdout + done.stderr)

    def test_files_that_are_no_keys(self):
        secret, public = self.keys()
        target = self.scratch / "x.seal"
        self.assert_refused(deckle("seal", SMALL, "-o", target, "--key", public), "is a public key",
                            "the secret key signs, the public one verifies", "[bad-key]")
        self.assert_refused(deckle("verify", self.seal(), "--key", secret), "is a secret key", "[bad-key]")
        self.assert_refused(deckle("seal", SMALL, "-o", target, "--key", self.scratch / "none"), "[missing-file]")
        secret.chmod(0o640)
        self.assert_refused(deckle("seal", SMALL, "-o", target, "--key", secret), "[loose-key]")
        self.assertFalse(target.exists())
        self.assert_refused(deckle("verify", self.scratch / "a.seal", "--key", SMALL / "mill.yaml"), "[bad-key]")


class Written(Sealed):
    def test_whole_or_not_at_all(self):
        taken = self.write("taken.seal", "mine")
        self.assert_refused(deckle("seal", SMALL, "-o", taken), "[file-exists]", "exists already")
        self.assertEqual(taken.read_text(), "mine")
        self.assert_refused(deckle("seal", SMALL, "-o", self.scratch / "no" / "x.seal"), "[cannot-write]")
        self.assert_refused(deckle("seal", SMALL, "-o", self.scratch), "it is a folder")
        self.assert_refused(deckle("seal", SMALL, "-o", "/dev/full"), "No space left", "[cannot-write]")
        self.assert_refused(deckle("seal", SMALL, "-o", "/proc/x.seal"), "[cannot-write]")
        self.assertEqual(sorted(p.name for p in self.scratch.iterdir()), ["taken.seal"])

    def test_a_full_disk_leaves_nothing(self):
        import resource
        target = self.scratch / "x.seal"
        limit = lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))
        done = subprocess.run([support.DECKLE, "seal", SMALL, "-o", target], capture_output=True, text=True,
                              preexec_fn=limit, env=support.environment(), timeout=support.PATIENCE)
        self.assertEqual(done.returncode, 2, done.stderr)
        self.assertIn("[cannot-write]", done.stderr)
        self.assertEqual(list(self.scratch.iterdir()), [])


if __name__ == "__main__":
    support.main()

// A seal against everything that can happen to its bytes, and its digests and signatures against
// the vectors of the standards.
#include <catch2/catch.hpp>

#include <algorithm>
#include <array>

#include "engine/text/problem.h"
#include "reports/digest.h"
#include "reports/seal/keys.h"
#include "reports/seal/seal.h"
#include "reports/seal/verify.h"

namespace {

using namespace deckle;

/// The smallest study that has a figure. Invented.
Seal small_seal() {
    Study study;
    study.files.read_only_from(
        {{"a/study.yaml",
          "study: tiny\ntitle: Tiny (invented)\ncharacterization: w\nfactors: ../t.yaml\n"
          "mills: m.yaml\n"},
         {"t.yaml",
          "characterization: w\ntitle: W\nsource: {title: Invented, year: 2026}\n"
          "gases: {co2_fossil: 1 kg}\n"},
         {"a/m.yaml",
          "mill: m\ntitle: M\nprocesses:\n  p:\n    stage: energy\n"
          "    makes: {steam: {amount: 1 GJ, kind: heat}}\n"
          "    releases: {co2_fossil: 56 kg}\n"}});
    load_study("a/study.yaml", study, {.all = true});
    return make_seal(study, {"deckle 0.1.0", {}, 0, 1});
}

/// The code that opening ends with, or "" when the seal opens.
std::string code_of_opening(std::string_view bytes) {
    try {
        (void)open_seal(bytes);
        return {};
    } catch (const InputError& error) {
        return error.problems.front().code;
    }
}

/// Whether anything tells these bytes from those that were sealed.
bool is_caught(std::string_view bytes) {
    try {
        const Seal seal = open_seal(bytes);
        return !check_digests(seal, {}).empty() || !verify_seal(seal, {}, 1).findings.empty();
    } catch (const InputError&) {
        return true;
    }
}

}  // namespace

TEST_CASE("digests are SHA-256: examples of FIPS 180-2, appendix B") {
    CHECK(sha256_of("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    CHECK(sha256_of("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq") ==
          "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
}

TEST_CASE("signatures are Ed25519: tests 1 and 2 of RFC 8032, 7.1") {
    const auto secret = [](std::string_view seed) {
        return "deckle-secret-key ed25519 " + std::string(seed) + "\n";
    };
    CHECK(signature_of("",
                       secret("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60"),
                       "k") ==
          "ed25519 d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a "
          "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e3970"
          "1cf9"
          "b46bd25bf5f0595bbe24655141438e7a100b\n");
    const std::string second = signature_of(
        "\x72", secret("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb"), "k");
    CHECK(second ==
          "ed25519 3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c "
          "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613"
          "d0f1"
          "1d8c387b2eaeb4302aeeb00d291612bb0c00\n");
    CHECK(check_signature("\x72", second).holds);
    CHECK_FALSE(check_signature("\x73", second).holds);
}

TEST_CASE("a new pair of keys signs and verifies, and no two pairs are alike") {
    const KeyTexts keys = new_keys();
    const std::string line = signature_of("words", keys.secret, "k");
    const SignatureCheck check = check_signature("words", line);
    CHECK(check.holds);
    CHECK(check.key == open_key_in(keys.open, "k"));
    CHECK(new_keys().secret != keys.secret);
    CHECK_THROWS_AS(signature_of("words", keys.open, "k"), InputError);
    CHECK_THROWS_AS(open_key_in(keys.secret, "k"), InputError);
}

TEST_CASE("every byte of a seal flipped once is caught, signed or not") {
    Seal seal = small_seal();
    const bool with_signature = GENERATE(false, true);
    if (with_signature) sign_seal(seal, new_keys().secret, "k");
    const std::string whole = seal_bytes(seal);
    REQUIRE_FALSE(is_caught(whole));
    std::size_t missed = 0;
    for (std::size_t i = 0; i < whole.size(); ++i) {
        const int bits = std::array{0x01, 0x20, 0xFF}[i % 3];
        std::string bytes = whole;
        bytes[i] = static_cast<char>(static_cast<unsigned char>(bytes[i]) ^ bits);
        if (is_caught(bytes)) continue;
        ++missed;
        UNSCOPED_INFO("byte " << i << " by " << bits);
    }
    CHECK(missed == 0);
}

TEST_CASE("a seal cut off anywhere, or longer, is refused") {
    const std::string whole = seal_bytes(small_seal());
    for (std::size_t length = 0; length < whole.size(); length += 97)
        CHECK_FALSE(code_of_opening(std::string_view(whole).substr(0, length)).empty());
    CHECK(code_of_opening(whole + std::string(512, '\0')) == "trailing-data");
    CHECK(code_of_opening(whole + "x") == "trailing-data");
    CHECK(code_of_opening("study: x\n") == "not-a-seal");
}

TEST_CASE("entries that lead out of a seal, and other files, are refused") {
    const auto opening = [](std::vector<ArchiveFile> files) {
        files.insert(files.begin(), {"manifest.json", "{}"});
        return code_of_opening(write_archive(files));
    };
    CHECK(opening({{"../x", ""}}) == "unsafe-path");
    CHECK(opening({{"/etc/x", ""}}) == "unsafe-path");
    CHECK(opening({{"inputs/a/../../x", ""}}) == "unsafe-path");
    CHECK(opening({{"inputs//x", ""}}) == "unsafe-path");
    CHECK(opening({{"inputs/a\\b", ""}}) == "unsafe-path");
    CHECK(opening({{"inputs/a\nb", ""}}) == "unsafe-path");
    CHECK(opening({{"inputs/x", "1"}, {"inputs/x", "2"}}) == "duplicate-entry");
    CHECK(opening({{"elsewhere/x", ""}}) == "not-a-seal");
    CHECK(opening({}) == "not-a-seal");
    std::vector<ArchiveFile> many(most_entries + 1);
    for (std::size_t i = 0; i < many.size(); ++i) many[i].path = "inputs/" + std::to_string(i);
    CHECK(code_of_opening(write_archive(many)) == "too-large");
    CHECK_THROWS_AS(write_archive(std::vector<ArchiveFile>{{std::string(300, 'x'), ""}}),
                    InputError);
}

TEST_CASE("an input altered with its digest is told by the figures that differ") {
    Seal seal = small_seal();
    std::string& mill = seal.inputs.front().bytes;
    REQUIRE(seal.inputs.front().path == "a/m.yaml");
    mill.replace(mill.find("56 kg"), 5, "55 kg");
    seal.manifest = manifest_of(seal);
    const SealVerification found = verify_seal(open_seal(seal_bytes(seal)), {}, 1);
    const auto names = [&](std::string_view code, std::string_view words) {
        return std::ranges::any_of(found.findings, [&](const SealFinding& one) {
            return one.code == code && one.message.find(words) != std::string::npos;
        });
    };
    CHECK(names("figure-differs", "results.steam.GJ.climate: sealed 56 kg CO2e"));
    CHECK(names("figure-differs", "worked out 55 kg CO2e"));
    CHECK(names("result-differs", "results/graph.json, line"));
}

TEST_CASE("a seal that holds more or less than its study reads is no seal of it") {
    Seal more = small_seal();
    more.inputs.push_back({"b.yaml", "x: 1\n"});
    more.manifest = manifest_of(more);
    const auto codes = [](const Seal& seal) {
        std::vector<std::string> all;
        for (const SealFinding& one : verify_seal(seal, {}, 1).findings) all.push_back(one.code);
        return all;
    };
    CHECK(codes(more) == std::vector<std::string>{"other-manifest", "input-not-read"});
    Seal less = small_seal();
    less.inputs.pop_back();
    less.manifest = manifest_of(less);
    CHECK(codes(less) == std::vector<std::string>{"not-worked-out"});
}

// A seal: the files of a study, what deckle worked out from them, and a manifest of digests, in one
// archive. Who has the seal can read every file of it with tar, verify it, or ask deckle of it as
// of a study. Entries, in this order:
//   manifest.json             what is sealed, by which program, the SHA-256 of every other entry
//   signature                 where it was signed: Ed25519 of manifest.json
//   inputs/PATH               every file that the study read, as it lay on the disk
//   results/graph.json        the calculation graph (graph_json.h)
//   results/footprint.json    every result of today and of all scenarios
//   results/uncertainty.json  where draws were asked for
// Paths are relative to the folder that holds all files; nothing tells where that folder lay. The
// same study gives the same bytes.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/graph/evaluate.h"
#include "engine/study/study.h"
#include "reports/seal/archive.h"

namespace deckle {

inline constexpr std::uint64_t most_sealed_draws = 10'000'000;

/// What is worked out of a seal's inputs depends on these alone.
struct SealedQuestion {
    std::string program;      ///< "deckle 0.1.0"
    std::string study;        ///< path of the study's file among the inputs
    std::uint64_t draws = 0;  ///< 0: no uncertainty
    unsigned threads = 1;     ///< no figure depends on it
};

struct Seal {
    SealedQuestion question;
    std::vector<ArchiveFile> inputs;   ///< paths without "inputs/", in the order of their bytes
    std::vector<ArchiveFile> results;  ///< "results/...", in that order
    std::vector<std::string> factor_tables;  ///< paths of inputs
    std::string manifest;                    ///< text of manifest.json
    std::optional<std::string> signature;

    /// SHA-256 of the manifest: the name of this seal.
    [[nodiscard]] std::string digest() const;
};

/// Seals a study that was loaded; works everything out anew from the texts that go into the seal.
/// Errors: those of loading, where the study names files by absolute paths missing-file.
[[nodiscard]] Seal make_seal(const Study& study, SealedQuestion question);

/// `secret_text`: of a key file called `name`. Errors: InputError bad-key.
void sign_seal(Seal& seal, std::string_view secret_text, std::string_view name);

/// Errors: path-too-long.
[[nodiscard]] std::string seal_bytes(const Seal& seal);

/// Takes an archive apart. Digests, signature and figures are not looked at: verify.h does that.
/// Errors: InputError of read_archive; not-a-seal without a manifest, or with one that does not say
/// what a manifest says.
[[nodiscard]] Seal open_seal(std::string_view bytes);

/// The text of a manifest over these contents.
[[nodiscard]] std::string manifest_of(const Seal& seal);

/// What a manifest states of each entry.
struct SealedDigest {
    std::string path, sha256;
    std::uint64_t bytes = 0;
};
[[nodiscard]] std::vector<SealedDigest> stated_digests(const Seal& seal);

/// The study of a seal, read from the seal and from nothing else.
/// Errors: those of load_study.
void load_sealed_study(const Seal& seal, Study& study, const ScenarioChoice& choice);

/// results/... worked out from the inputs. `study` is filled as far as reading went.
[[nodiscard]] std::vector<ArchiveFile> work_out(const Seal& seal, Study& study);

/// The bytes of a file that may be a seal. Errors: InputError missing-file, not-a-file, too-large,
/// unreadable-file.
[[nodiscard]] std::string bytes_of_seal(const std::string& path);

/// Loads a study by its path, or out of a seal whose digests hold; then its digest, else "".
/// Errors: those of load_study and open_seal; InputError broken-seal.
std::string load_study_or_seal(const std::string& path, Study& study, const ScenarioChoice& choice);

}  // namespace deckle

// Any bytes as a seal: taken apart, verified, or refused with a problem; never a crash. Bytes that
// are no archive are put into one as manifest, signature and study, so that what reads those is
// reached too.
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <string>

#include "engine/text/problem.h"
#include "reports/seal/verify.h"

namespace {

using namespace deckle;

void verify_bytes(const std::string& bytes) {
    try {
        const Seal seal = open_seal(bytes);
        (void)verification_text(verify_seal(seal, {}, 1), "x.seal", "deckle", {});
    } catch (const InputError&) {}
}

/// Two texts, divided at the first NUL.
void verify_as_parts(const std::string& text) {
    const std::size_t cut = std::min(text.find('\0'), text.size());
    const std::string manifest = text.substr(0, cut);
    const std::string rest = text.substr(std::min(cut + 1, text.size()));
    const std::string manifest_of_study =
        R"({"format":"deckle-seal","version":1,"program":"x","study":"study.yaml","draws":null,"entries":[]})";
    const auto archive = [&](const std::string& head) {
        return write_archive(std::vector<ArchiveFile>{{"manifest.json", head},
                                                      {"signature", rest},
                                                      {"inputs/study.yaml", rest},
                                                      {"results/footprint.json", rest}});
    };
    verify_bytes(archive(manifest));
    verify_bytes(archive(manifest_of_study));
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string bytes(reinterpret_cast<const char*>(data), size);
    verify_bytes(bytes);
    verify_as_parts(bytes);
    return 0;
}

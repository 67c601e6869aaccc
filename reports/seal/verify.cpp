#include "reports/seal/verify.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <optional>

#include "engine/text/number_text.h"
#include "reports/digest.h"
#include "reports/inert.h"
#include "reports/json_text.h"
#include "reports/seal/keys.h"

namespace deckle {
namespace {

constexpr std::size_t most_lines_named = 5;  ///< of one result file
constexpr std::size_t widest_line = 160;

using SealFindings = std::vector<SealFinding>;
using ByPath = std::map<std::string, const std::string*, std::less<>>;

ByPath contents_of(const Seal& seal) {
    ByPath contents;
    for (const ArchiveFile& file : seal.inputs)
        contents.emplace("inputs/" + file.path, &file.bytes);
    for (const ArchiveFile& file : seal.results) contents.emplace(file.path, &file.bytes);
    return contents;
}

void check_entry(const SealedDigest& stated, ByPath& contents, SealFindings& findings) {
    const auto found = contents.find(stated.path);
    if (found == contents.end()) {
        findings.push_back({"file-missing", fmt::format("{}: the manifest has it, the seal has not",
                                                        inert(stated.path))});
        return;
    }
    const std::string& bytes = *found->second;
    if (bytes.size() != stated.bytes)
        findings.push_back(
            {"file-differs", fmt::format("{}: {} bytes, sealed were {}", inert(stated.path),
                                         bytes.size(), stated.bytes)});
    else if (const std::string digest = sha256_of(bytes); digest != stated.sha256)
        findings.push_back(
            {"file-differs", fmt::format("{}: SHA-256 is {}, sealed was {}", inert(stated.path),
                                         digest, inert(stated.sha256))});
    contents.erase(found);
}

void check_signature_of(const Seal& seal, const std::optional<std::string>& open_key,
                        SealFindings& findings) {
    if (!seal.signature) {
        if (open_key)
            findings.push_back({"not-signed", "the seal has no signature, and a key was given"});
        return;
    }
    const SignatureCheck check = check_signature(seal.manifest, *seal.signature);
    if (!check.readable || !check.holds) {
        findings.push_back({"bad-signature", "the signature is not of this manifest"});
    } else if (open_key && *open_key != check.key) {
        findings.push_back({"other-key", fmt::format("signed with the key {}, not with {}",
                                                     check.key, *open_key)});
    }
}

// --- results
// ---------------------------------------------------------------------------------------

std::vector<std::string_view> lines_in(std::string_view text) {
    std::vector<std::string_view> lines;
    for (std::size_t start = 0; start < text.size();) {
        const std::size_t end = std::min(text.find('\n', start), text.size());
        lines.push_back(text.substr(start, end - start));
        start = end + 1;
    }
    return lines;
}

/// A line from where it differs from the other, short enough to read.
std::string from_difference(std::string_view line, std::string_view other) {
    constexpr std::size_t before = 40;
    const auto at = static_cast<std::size_t>(
        std::mismatch(line.begin(), line.end(), other.begin(), other.end()).first - line.begin());
    const std::size_t start = at > before ? at - before : 0;
    return (start > 0 ? "..." : "") + cut_to(inert(line.substr(start)), widest_line);
}

void compare_lines(const std::string& path, std::string_view sealed, std::string_view now,
                   SealFindings& findings) {
    const auto a = lines_in(sealed), b = lines_in(now);
    std::size_t named = 0, differing = 0;
    for (std::size_t i = 0; i < std::max(a.size(), b.size()); ++i) {
        const std::string_view one = i < a.size() ? a[i] : "", other = i < b.size() ? b[i] : "";
        if (one == other) continue;
        ++differing;
        if (named++ >= most_lines_named) continue;
        findings.push_back({"result-differs",
                            fmt::format("{}, line {}: sealed {}; worked out {}", path, i + 1,
                                        from_difference(one, other), from_difference(other, one))});
    }
    if (differing > most_lines_named)
        findings.push_back({"result-differs", fmt::format("{}: {} more lines differ", path,
                                                          differing - most_lines_named)});
    if (differing == 0)
        findings.push_back({"result-differs", fmt::format("{}: its end differs", path)});
}

/// "1599.6 kg CO2e, market 1599.6, location 1301.2", and the three as numbers, none when covered
/// by nothing.
struct SealedFigure {
    std::string words;
    std::array<std::optional<double>, 3> values;
};
using SealedFigures = std::map<std::string, SealedFigure>;

SealedFigures figures_in(const std::string& footprint) {
    const auto word = [](const Json& value) {
        return value.is_number() ? shortest(value.get<double>()) : value.dump();
    };
    const auto number = [](const Json& value) {
        return value.is_number() ? std::optional(value.get<double>()) : std::nullopt;
    };
    SealedFigures figures;
    const Json json = Json::parse(footprint);
    for (const Json& one : json.at("results")) {
        const Json &value = one.at("value"), &market = one.at("market"),
                   &location = one.at("location");
        figures[one.at("address").get<std::string>()] = {
            fmt::format("{} {} (market {}, location {})", word(value),
                        one.at("unit").get<std::string>(), word(market), word(location)),
            {number(value), number(market), number(location)}};
    }
    return figures;
}

/// The largest difference of the three, as a part of the larger of both sides.
double relative_difference(const SealedFigure& a, const SealedFigure& b) {
    double most = 0.0;
    for (std::size_t i = 0; i < a.values.size(); ++i) {
        const auto &one = a.values[i], &other = b.values[i];
        if (one.has_value() != other.has_value()) return 1.0;
        if (!one || *one == *other) continue;
        const double larger = std::max(std::abs(*one), std::abs(*other));
        most = std::max(most, std::abs(*one - *other) / larger);
    }
    return most;
}

SealedFigures figures_or_none(const std::string& footprint) {
    try {
        return figures_in(footprint);
    } catch (const Json::exception&) {
        return {};  // was altered; its lines are compared too
    }
}

void compare_figures(const std::string& sealed, const std::string& now, SealFindings& findings) {
    const auto before = figures_or_none(sealed);
    for (const auto& [address, figure] : figures_in(now)) {
        const auto found = before.find(address);
        const bool sealed_too = found != before.end();
        if (sealed_too && found->second.words == figure.words) continue;
        findings.push_back(
            {"figure-differs",
             fmt::format("{}: sealed {}; worked out {}", inert(address),
                         sealed_too ? inert(found->second.words) : "nothing", inert(figure.words)),
             sealed_too ? relative_difference(found->second, figure) : 1.0});
    }
}

void compare_results(const Seal& seal, const std::vector<ArchiveFile>& now,
                     SealFindings& findings) {
    for (const ArchiveFile& one : now) {
        const auto sealed = std::ranges::find(seal.results, one.path, &ArchiveFile::path);
        if (sealed == seal.results.end()) {
            findings.push_back({"file-missing", fmt::format("{}: the seal has it not", one.path)});
        } else if (sealed->bytes != one.bytes) {
            if (one.path == "results/footprint.json")
                compare_figures(sealed->bytes, one.bytes, findings);
            compare_lines(one.path, sealed->bytes, one.bytes, findings);
        }
    }
    for (const ArchiveFile& one : seal.results) {
        if (std::ranges::find(now, one.path, &ArchiveFile::path) == now.end())
            findings.push_back(
                {"file-not-sealed", fmt::format("{}: no result of this seal", inert(one.path))});
    }
}

void check_all_read(const Seal& seal, const Files& files, SealFindings& findings) {
    for (const ArchiveFile& input : seal.inputs) {
        bool read = false;
        for (std::uint32_t file = 1; file <= files.count(); ++file)
            read = read || files.at(file).path == input.path;
        if (!read)
            findings.push_back(
                {"input-not-read",
                 fmt::format("inputs/{}: the study does not use it", inert(input.path))});
    }
}

/// A seal that says of its entries what it holds, by other words or in another order.
void check_manifest(const Seal& seal, SealFindings& findings) {
    const bool sorted = std::ranges::is_sorted(seal.inputs, {}, &ArchiveFile::path);
    if (findings.empty() && (!sorted || manifest_of(seal) != seal.manifest))
        findings.push_back(
            {"other-manifest", "manifest.json is not as deckle writes it for this seal"});
}

void work_out_and_compare(const Seal& seal, unsigned threads, SealVerification& found) {
    Study study;
    const auto failed = [&](const Problem& problem) {
        found.findings.push_back(
            {"not-worked-out", "worked out anew, the study has no figures: " +
                                   inert_lines(problem_text(problem, study.files))});
    };
    try {
        Seal anew = seal;
        anew.question.threads = threads;
        const std::vector<ArchiveFile> now = work_out(anew, study);
        compare_results(seal, now, found.findings);
        check_all_read(seal, study.files, found.findings);
        found.figures = study.results.size();
    } catch (const InputError& error) {
        failed(error.problems.front());
    } catch (const NoAnswer& error) {
        failed(error.problem);
    }
}

}  // namespace

SealFindings check_digests(const Seal& seal, const std::optional<std::string>& open_key) {
    SealFindings findings;
    ByPath contents = contents_of(seal);
    for (const SealedDigest& stated : stated_digests(seal)) check_entry(stated, contents, findings);
    for (const auto& [path, bytes] : contents)
        findings.push_back(
            {"file-not-sealed", fmt::format("{}: the manifest has it not", inert(path))});
    check_manifest(seal, findings);
    check_signature_of(seal, open_key, findings);
    return findings;
}

SealVerification verify_seal(const Seal& seal, const std::optional<std::string>& open_key,
                             unsigned threads) {
    SealVerification found;
    found.digest = seal.digest();
    found.program = seal.question.program;
    found.study = seal.question.study;
    found.inputs = seal.inputs.size();
    found.factor_tables = seal.factor_tables.size();
    found.key_given = open_key.has_value();
    if (seal.signature) found.signed_by = check_signature(seal.manifest, *seal.signature).key;
    found.findings = check_digests(seal, open_key);
    work_out_and_compare(seal, threads, found);
    return found;
}

}  // namespace deckle

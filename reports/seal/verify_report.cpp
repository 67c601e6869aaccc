#include <fmt/format.h>

#include <algorithm>
#include <functional>

#include "reports/footprint_notes.h"
#include "reports/inert.h"
#include "reports/json_parts.h"
#include "reports/seal/verify.h"

namespace deckle {
namespace {

constexpr std::size_t most_figures_shown = 10;

std::string words_of_signature(const SealVerification& found) {
    if (found.signed_by.empty())
        return "Not signed: that nothing was altered is sure only if the digest came to you by "
               "another way than the seal.";
    const std::string key = fmt::format("Signed with the key {}", found.signed_by);
    if (found.key_given) return key + ".";
    return key + "; whose it is, is not known: --key compares it with a key you trust.";
}

std::string verdict(const SealVerification& found, const std::string& name, const Style& style) {
    const std::size_t count = found.findings.size();
    const std::string words = count == 0 ? std::string("as it was sealed")
                                         : fmt::format("the seal does not hold, {} finding{}",
                                                       count, count == 1 ? "" : "s");
    return style.bold(fmt::format("{}: {}", inert(name), words)) + "\n";
}

std::string finding_text(const SealFinding& one) {
    return fmt::format("{} [{}]\n", inert_lines(one.message), one.code);
}

/// Files first, then the figures that are furthest off.
std::string findings_text(const SealVerification& found, const Style& style) {
    std::string files;
    std::vector<const SealFinding*> figures;
    for (const SealFinding& one : found.findings) {
        if (one.relative) figures.push_back(&one);
        else files += finding_text(one);
    }
    std::ranges::stable_sort(figures, std::greater<>(),
                             [](const SealFinding* one) { return *one->relative; });
    std::string text;
    if (!files.empty()) text += "\n" + style.bold("What differs") + "\n" + files;
    if (figures.empty()) return text;
    text += "\n" + style.bold("Figures that differ, the furthest off first") + "\n";
    const std::size_t shown = std::min(figures.size(), most_figures_shown);
    for (std::size_t i = 0; i < shown; ++i) text += finding_text(*figures[i]);
    if (figures.size() > shown)
        text += fmt::format("and {} more (all in --format json)\n", figures.size() - shown);
    return text;
}

}  // namespace

std::string verification_text(const SealVerification& found, const std::string& name,
                              const std::string& program, const Style& style) {
    std::string text = verdict(found, name, style);
    text += fmt::format("  study    {}\n  sealed   by {}, verified by {}\n  digest   {}\n",
                        inert(found.study), inert(found.program), program, found.digest);
    text += paragraph(words_of_signature(found), 2, 2, style);
    if (found.findings.empty()) {
        return text + paragraph(fmt::format("{} files, {} of them tables: as they were sealed. {} "
                                            "results worked out anew: the same to the bit.",
                                            found.inputs, found.factor_tables, found.figures),
                                0, 0, style);
    }
    return text + findings_text(found, style);
}

std::string verification_json(const SealVerification& found, const std::string& program) {
    Json json = report_head("deckle-verification", program);
    json["sealed_by"] = found.program;
    json["study"] = found.study;
    json["digest"] = found.digest;
    json["signed_by"] = found.signed_by.empty() ? Json(nullptr) : Json(found.signed_by);
    json["files"] = found.inputs;
    json["factor_tables"] = found.factor_tables;
    json["results"] = found.figures;
    json["holds"] = found.findings.empty();
    json["findings"] = Json::array();
    for (const SealFinding& one : found.findings)
        json["findings"].push_back({{"code", one.code},
                                    {"message", one.message},
                                    {"relative", number_or_null(one.relative)}});
    return json_text(json);
}

}  // namespace deckle

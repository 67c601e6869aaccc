#include "reports/page_report.h"

#include <zlib.h>

#include <array>
#include <span>
#include <stdexcept>
#include <string_view>

#include "reports/inert.h"

extern "C" {
extern const char deckle_page_shell[];
extern const char deckle_page_shell_end[];
}

namespace deckle {
namespace {

constexpr int gzip_window = 15 + 16;  ///< the largest window, with the head of a gzip file
constexpr std::size_t histogram_bins = 40;

std::string gzipped(std::string_view text) {
    z_stream stream{};
    if (deflateInit2(&stream, Z_BEST_COMPRESSION, Z_DEFLATED, gzip_window, 9, Z_DEFAULT_STRATEGY) !=
        Z_OK)
        throw std::runtime_error("zlib cannot start");
    std::string packed(deflateBound(&stream, text.size()), '\0');
    std::string bytes(text);
    stream.next_in = reinterpret_cast<Bytef*>(bytes.data());
    stream.avail_in = static_cast<uInt>(bytes.size());
    stream.next_out = reinterpret_cast<Bytef*>(packed.data());
    stream.avail_out = static_cast<uInt>(packed.size());
    const int state = deflate(&stream, Z_FINISH);
    packed.resize(stream.total_out);
    deflateEnd(&stream);
    if (state != Z_STREAM_END) throw std::runtime_error("zlib cannot pack the page");
    return packed;
}

/// RFC 4648: letters that mean nothing to HTML.
std::string base64(std::string_view bytes) {
    constexpr std::string_view letters =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string text;
    text.reserve((bytes.size() + 2) / 3 * 4);
    for (std::size_t at = 0; at < bytes.size(); at += 3) {
        std::uint32_t word = 0;
        const std::size_t count = std::min<std::size_t>(3, bytes.size() - at);
        for (std::size_t k = 0; k < 3; ++k) {
            word <<= 8U;
            if (k < count) word |= static_cast<unsigned char>(bytes[at + k]);
        }
        for (std::size_t k = 0; k < 4; ++k)
            text += k <= count ? letters[(word >> (18U - 6U * k)) & 63U] : '=';
    }
    return text;
}

/// The shell with what stands at `@NAME@` put in. What is put in is never looked at again.
std::string filled_shell(std::span<const std::pair<std::string_view, std::string>> pieces) {
    const std::string_view shell(
        deckle_page_shell, static_cast<std::size_t>(deckle_page_shell_end - deckle_page_shell));
    std::string page;
    std::size_t from = 0;
    for (const auto& [name, text] : pieces) {
        const std::size_t at = shell.find(name, from);
        if (at == std::string_view::npos) throw std::logic_error("the shell of the page is broken");
        page.append(shell, from, at - from).append(text);
        from = at + name.size();
    }
    return page.append(shell.substr(from));
}

}  // namespace

PageUncertainty page_uncertainty(const Study& study, const Evaluation& at,
                                 const PageQuestion& question) {
    PageUncertainty made;
    if (question.draws == 0) {
        made.why = "no draws were asked for";
        return made;
    }
    UncertaintyAsked asked;
    asked.scenarios.emplace_back("today");
    for (const Scenario& scenario : study.scenarios) asked.scenarios.push_back(scenario.id);
    asked.usual_pers = {"t", "roll", "bundle", "pack"};  // the units of the page's headline
    asked.draws.draws = question.draws;
    asked.draws.seed = question.seed;
    asked.draws.threads = question.threads;
    try {
        UncertaintyReport report = ask_uncertainty(study, at, std::move(asked));
        std::vector<NodeId> nodes;
        for (const UncertaintyRow& row : report.rows)
            nodes.push_back(study.graph.find(row.address));
        made.histograms = histograms(study.graph, at, nodes, question.seed, question.draws,
                                     histogram_bins, question.threads);
        made.rows = std::move(report.rows);
        made.with_spread = report.with_spread;
        made.without_spread = report.without_spread;
    } catch (const NoAnswer& error) {
        made.why = error.problem.message;
    }
    return made;
}

std::string page_html(const Study& study, const Evaluation& at, const PageQuestion& question) {
    const PageUncertainty uncertainty = page_uncertainty(study, at, question);
    const std::array<std::pair<std::string_view, std::string>, 4> pieces{
        {{"@PROGRAM@", html_inert(question.program)},
         {"@TITLE@", html_inert(study.head.title)},
         {"@STILL@", page_still(study, at)},
         {"@DATA@", base64(gzipped(page_data(study, at, question, uncertainty)))}}};
    return filled_shell(pieces);
}

}  // namespace deckle

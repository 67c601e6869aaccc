#include <fmt/format.h>

#include <string>

#include "reports/disclosure_report.h"
#include "reports/inert.h"

namespace deckle {
namespace {

constexpr std::string_view page_head = R"(<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<title>)";
constexpr std::string_view page_style = R"(</title>
<style>
:root { color-scheme: light dark; }
body { font: 1rem/1.5 system-ui, sans-serif; margin: 0 auto; max-width: 60rem; padding: 1rem; }
h1 { font-size: 1.5rem; line-height: 1.25; }
h2 { font-size: 1.1rem; margin: 1.6rem 0 .3rem; }
.asked { font-size: .85rem; margin: 0; }
.caution { border: 2px solid; padding: .5rem .8rem; }
.scroll { overflow-x: auto; background: linear-gradient(to right, Canvas 40%, transparent) local left / 3rem 100% no-repeat,
  linear-gradient(to left, Canvas 40%, transparent) local right / 3rem 100% no-repeat,
  linear-gradient(to right, #888c, transparent) left / .9rem 100% no-repeat,
  linear-gradient(to left, #888c, transparent) right / .9rem 100% no-repeat; }
table { border-collapse: collapse; }
th, td { border-bottom: 1px solid #8888; padding: .2rem .8rem .2rem 0; text-align: left; vertical-align: top; }
@media print { article { break-after: page; } h2 { break-after: avoid; } tr { break-inside: avoid; } }
</style>
</head>
<body>
<main>
)";

std::string table_html(const ReportSection& section, const std::string& label) {
    std::string text = fmt::format(
        "<div class=\"scroll\" tabindex=\"0\" role=\"region\" "
        "aria-label=\"{}\"><table>\n<thead><tr>",
        label);
    for (const std::string& cell : section.head)
        text += fmt::format("<th scope=\"col\">{}</th>", html_inert(cell));
    text += "</tr></thead>\n<tbody>\n";
    for (const auto& row : section.rows) {
        text += "<tr>";
        for (std::size_t i = 0; i < row.size(); ++i)
            text += i == 0 ? fmt::format("<th scope=\"row\">{}</th>", html_inert(row[i]))
                           : fmt::format("<td>{}</td>", html_inert(row[i]));
        text += "</tr>\n";
    }
    return text + "</tbody>\n</table></div>\n";
}

/// `of`: the product, for a page that has the same heading for several.
std::string section_html(const ReportSection& section, const std::string& of) {
    const std::string title = html_inert(section.title);
    std::string text = fmt::format("<section>\n<h2>{}</h2>\n", title);
    if (!section.asked_by.empty())
        text +=
            fmt::format("<p class=\"asked\">asked for by {}</p>\n", html_inert(section.asked_by));
    for (const std::string& paragraph : section.paragraphs)
        text += fmt::format("<p>{}</p>\n", html_inert(paragraph));
    if (!section.rows.empty()) text += table_html(section, title + of);
    return text + "</section>\n";
}

std::string row_markdown(const std::vector<std::string>& cells) {
    std::string text = "|";
    for (const std::string& cell : cells) text += fmt::format(" {} |", markdown_inert(cell));
    return text + "\n";
}

std::string section_markdown(const ReportSection& section) {
    std::string text = fmt::format("\n## {}\n", markdown_inert(section.title));
    if (!section.asked_by.empty())
        text += fmt::format("\n*asked for by {}*\n", markdown_inert(section.asked_by));
    for (const std::string& paragraph : section.paragraphs)
        text += fmt::format("\n{}\n", markdown_inert(paragraph));
    if (section.rows.empty()) return text;
    text += "\n" + row_markdown(section.head) + "|";
    for (std::size_t i = 0; i < section.head.size(); ++i) text += "---|";
    text += "\n";
    for (const auto& row : section.rows) text += row_markdown(row);
    return text;
}

}  // namespace

std::string disclosure_html(const std::vector<DisclosureReport>& reports) {
    const std::string title = reports.size() == 1
                                  ? html_inert(reports.front().title)
                                  : std::string("Partial carbon footprints, cradle to gate");
    std::string text = std::string(page_head) + title + std::string(page_style);
    for (const DisclosureReport& report : reports) {
        text += fmt::format("<article>\n<h1>{}</h1>\n<p>{}</p>\n<p class=\"caution\">{}</p>\n",
                            html_inert(report.title), html_inert(report.subtitle),
                            html_inert(report.caution));
        const std::string of = reports.size() == 1 ? "" : ": " + html_inert(report.title);
        for (const ReportSection& section : report.sections) text += section_html(section, of);
        text += "</article>\n";
    }
    return text + "</main>\n</body>\n</html>\n";
}

std::string disclosure_markdown(const std::vector<DisclosureReport>& reports) {
    std::string text;
    for (const DisclosureReport& report : reports) {
        text += fmt::format("{}# {}\n\n{}\n\n**{}**\n", text.empty() ? "" : "\n",
                            markdown_inert(report.title), markdown_inert(report.subtitle),
                            markdown_inert(report.caution));
        for (const ReportSection& section : report.sections) text += section_markdown(section);
    }
    return text;
}

}  // namespace deckle

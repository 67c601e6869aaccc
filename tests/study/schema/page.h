// A schema page as the test reads it: sections with their tables and fenced examples. Knows
// Markdown only as far as the pages use it; what the tables mean, the test says.
#pragma once

#include <string>
#include <string_view>
#include <vector>

struct TableRow {
    std::vector<std::string> cells;
    int line = 0;
};

struct PageTable {
    std::vector<std::string> head;
    std::vector<TableRow> rows;
    int line = 0;
};

struct Example {
    std::string language, text;  ///< "yaml", and what stands between the fences
    int line = 0;                ///< of the opening fence
};

struct Section {
    std::string heading;  ///< without # and backticks
    std::string text;     ///< its paragraphs, without tables and examples
    std::vector<PageTable> tables;
    std::vector<Example> examples;
};

struct Page {
    std::string name;  ///< "factors/SCHEMA.md"
    std::vector<Section> sections;
    int fences = 0;  ///< lines that open or close an example, counted apart
    int bars = 0;    ///< lines that begin with |, counted apart

    /// Tables whose first head is `head`, with their sections.
    struct Found {
        const Section* section;
        const PageTable* table;
    };
    [[nodiscard]] std::vector<Found> tables(std::string_view head) const;
    [[nodiscard]] const Section* section(std::string_view heading) const;
    [[nodiscard]] std::string where(int line) const { return name + ":" + std::to_string(line); }
};

/// Reads a page below the folder of the sources.
[[nodiscard]] Page read_page(const std::string& name);

/// The texts between backticks.
[[nodiscard]] std::vector<std::string> code_spans(std::string_view text);

/// The text of a file below the folder of the sources.
[[nodiscard]] std::string source_text(const std::string& path);

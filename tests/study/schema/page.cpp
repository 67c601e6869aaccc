#include "tests/study/schema/page.h"

#include <algorithm>
#include <fstream>
#include <sstream>
#include <stdexcept>

namespace {

std::string trimmed(std::string_view text) {
    const std::size_t first = text.find_first_not_of(' ');
    if (first == std::string_view::npos) return {};
    return std::string(text.substr(first, text.find_last_not_of(' ') - first + 1));
}

/// "| a | b |" as a and b.
std::vector<std::string> cells_of(std::string_view line) {
    std::vector<std::string> cells;
    std::size_t start = 1;
    while (start < line.size()) {
        const std::size_t bar = std::min(line.find('|', start), line.size());
        if (bar < line.size() || !trimmed(line.substr(start)).empty())
            cells.push_back(trimmed(line.substr(start, bar - start)));
        start = bar + 1;
    }
    return cells;
}

bool is_rule(const std::vector<std::string>& cells) {
    return std::ranges::all_of(cells, [](const std::string& cell) {
        return !cell.empty() && cell.find_first_not_of("-:") == std::string::npos;
    });
}

class PageReader {
public:
    explicit PageReader(Page& page) : page_(page) {}

    void read(const std::string& text) {
        std::istringstream stream(text);
        for (std::string line; std::getline(stream, line);) take(line, ++number_);
        if (in_example_)
            throw std::runtime_error(page_.where(number_) + ": an example does not end");
    }

private:
    void take(const std::string& line, int number) {
        if (line.starts_with("```")) return fence(line, number);
        if (in_example_) {
            section().examples.back().text += line + "\n";
        } else if (line.starts_with("#")) {
            begin_section(line);
        } else if (line.starts_with("|")) {
            row(line, number);
        } else {
            in_table_ = false;
            section().text += line + "\n";
        }
    }

    void fence(const std::string& line, int number) {
        ++page_.fences;
        in_table_ = false;
        in_example_ = !in_example_;
        if (in_example_) section().examples.push_back({line.substr(3), {}, number});
    }

    void begin_section(const std::string& line) {
        in_table_ = false;
        std::string heading = trimmed(line.substr(line.find_first_not_of('#')));
        std::erase(heading, '`');
        page_.sections.push_back({std::move(heading), {}, {}, {}});
    }

    void row(const std::string& line, int number) {
        ++page_.bars;
        const auto cells = cells_of(line);
        if (!in_table_) {
            section().tables.push_back({cells, {}, number});
            in_table_ = true;
        } else if (!is_rule(cells)) {
            section().tables.back().rows.push_back({cells, number});
        }
    }

    Section& section() {
        if (page_.sections.empty())
            throw std::runtime_error(page_.name + " begins without a heading");
        return page_.sections.back();
    }

    Page& page_;
    int number_ = 0;
    bool in_example_ = false, in_table_ = false;
};

}  // namespace

std::vector<Page::Found> Page::tables(std::string_view head) const {
    std::vector<Found> found;
    for (const Section& section : sections) {
        for (const PageTable& table : section.tables) {
            if (!table.head.empty() && table.head[0] == head) found.push_back({&section, &table});
        }
    }
    return found;
}

const Section* Page::section(std::string_view heading) const {
    const auto found = std::ranges::find_if(
        sections, [&](const Section& section) { return section.heading == heading; });
    return found == sections.end() ? nullptr : &*found;
}

std::string source_text(const std::string& path) {
    std::ifstream stream(std::string(DECKLE_SOURCE_DIR) + "/" + path, std::ios::binary);
    if (!stream) throw std::runtime_error("cannot read " + path);
    return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

Page read_page(const std::string& name) {
    Page page;
    page.name = name;
    PageReader(page).read(source_text(name));
    return page;
}

std::vector<std::string> code_spans(std::string_view text) {
    std::vector<std::string> spans;
    for (std::size_t open = text.find('`'); open != std::string_view::npos;) {
        const std::size_t close = text.find('`', open + 1);
        if (close == std::string_view::npos) break;
        spans.emplace_back(text.substr(open + 1, close - open - 1));
        open = text.find('`', close + 1);
    }
    return spans;
}

// The schema pages against the readers: keys, values and every example. What a page says of a key
// is tried: its example must load, a value of the wrong type must be refused. The readers are the
// other side of each comparison; what they compute is tested elsewhere, against published sources.
#include <catch2/catch.hpp>

#include <algorithm>
#include <map>
#include <regex>
#include <set>

#include "engine/product/product.h"
#include "engine/study/model.h"
#include "tests/sanitized.h"
#include "tests/study/schema/page.h"
#include "tests/study/schema/template_study.h"

namespace {

using namespace deckle;

const std::array<std::string, 2> page_names{"factors/SCHEMA.md", "inventories/SCHEMA.md"};

/// Mappings with a table of keys on a page whose keys the reader has in no KeyTable: the keys of a
/// packing level depend on the level inside, those of a price list stand beside its factors.
const std::set<std::string> without_key_table{"packing level", "prices"};

std::vector<const KeyTable*> reader_tables(const std::string& page) {
    if (page == "factors/SCHEMA.md") return table_key_tables();
    std::vector<const KeyTable*> all;
    for (const auto& tables : {mill_key_tables(), product_key_tables(), study_key_tables()})
        all.insert(all.end(), tables.begin(), tables.end());
    return all;
}

const KeyTable* reader_table(const std::string& page, std::string_view mapping) {
    for (const KeyTable* table : reader_tables(page)) {
        if (table->mapping == mapping) return table;
    }
    return nullptr;
}

/// One line of a table of keys.
struct KeyRow {
    std::string mapping, key, values, fallback, example, where;
};

std::vector<KeyRow> key_rows(const Page& page) {
    std::vector<KeyRow> rows;
    for (const auto& [section, table] : page.tables("key")) {
        for (const TableRow& row : table->rows) {
            INFO(page.where(row.line));
            REQUIRE(row.cells.size() == 5);
            const auto key = code_spans(row.cells[0]), example = code_spans(row.cells[4]);
            REQUIRE(key.size() == 1);
            REQUIRE(example.size() == 1);
            CHECK_FALSE(row.cells[1].empty());
            rows.push_back({section->heading, key[0], row.cells[2], row.cells[3], example[0],
                            page.where(row.line)});
        }
    }
    return rows;
}

/// All rows; under the sanitizers one in some.
std::vector<KeyRow> rows_in_turn(const Page& page) {
    std::vector<KeyRow> rows;
    std::size_t number = 0;
    for (const KeyRow& row : key_rows(page)) {
        if (number++ % test::one_in == 0) rows.push_back(row);
    }
    return rows;
}

/// What the first line of a fenced example says of it.
struct Told {
    std::string file, mapping, code;  ///< a whole file, or keys of a mapping, refused with a code
};

Told told(const Example& example) {
    static const std::regex file_line("# file: (\\S+)"),
        keys_line("# keys of an? ([a-z_ ]+?)(, refused: (\\S+))?");
    const std::string first = example.text.substr(0, example.text.find('\n'));
    std::smatch match;
    if (example.language == "csv") return {"example.csv", {}, {}};
    if (std::regex_match(first, match, file_line)) return {match[1], {}, {}};
    if (std::regex_match(first, match, keys_line)) return {{}, match[1], match[3]};
    return {};
}

/// The whole studies of a page, one a section that has a study.yaml.
std::vector<FileSet> studies_of(const Page& page) {
    std::vector<FileSet> studies;
    for (const Section& section : page.sections) {
        FileSet files;
        for (const Example& example : section.examples) {
            if (const Told what = told(example); !what.file.empty())
                files[what.file] = example.text;
        }
        if (files.contains("study.yaml")) studies.push_back(std::move(files));
    }
    return studies;
}

/// The template study with all files of a page that belong to no study of its own.
FileSet template_of(const Page& page) {
    FileSet files = template_study();
    for (const Section& section : page.sections) {
        const bool whole = std::ranges::any_of(section.examples, [](const Example& example) {
            return told(example).file == "study.yaml";
        });
        for (const Example& example : section.examples) {
            if (const Told what = told(example); !whole && !what.file.empty())
                files = with_file(files, what.file, example.text);
        }
    }
    return files;
}

struct PageCase {
    Page page;
    FileSet base;
};

const std::vector<PageCase>& pages() {
    static const std::vector<PageCase> all = [] {
        std::vector<PageCase> read;
        for (const std::string& name : page_names) {
            Page page = read_page(name);
            FileSet base = template_of(page);
            read.push_back({std::move(page), std::move(base)});
        }
        return read;
    }();
    return all;
}

Outcome try_line(const FileSet& base, const KeyRow& row, const std::string& line) {
    const FileSet files = with_fragment(base, row.mapping, line);
    const bool of_scenarios = files.at("scenarios.yaml") != base.at("scenarios.yaml");
    return load(files, {.all = of_scenarios});
}

// --- what a page says of the values of a key
// ----------------------------------------------------------

/// A value that no key of a type may have, and the code it is refused with ("": any).
struct Trial {
    std::string_view type, value, code;
};
constexpr std::array trials{
    Trial{"text, or mapping", "[a]", "not-a-mapping"},
    Trial{"text", "{a: b}", "not-text"},
    Trial{"own id", "Not-An-Id", "bad-id"},
    Trial{"id of", "no_such_thing", ""},
    Trial{"address", "no_such.address", ""},
    Trial{"yes or no", "perhaps", "not-yes-or-no"},
    Trial{"mapping", "just text", ""},
    Trial{"list of", "just text", "not-a-list"},
    Trial{"word, or list", "{a: b}", "not-a-list"},
    Trial{"word", "no_such_word", "unknown-word"},
    Trial{"file, or list", "no_such_file.yaml", "missing-file"},
    Trial{"file", "no_such_file.json", "missing-file"},
    Trial{"unit", "furlong", "unknown-unit"},
    Trial{"score", "6", "bad-score"},
    Trial{"number", "3 cd", "wrong-unit"},
    Trial{"quantity above zero", "0 kg", "not-positive"},
    Trial{"quantity", "just text", ""},
    Trial{"plain number", "3 cd", "wrong-unit"},
    Trial{"share", "3 cd", "wrong-unit"},
    Trial{"mass", "3 cd", "wrong-unit"},
    Trial{"dry mass", "3 cd", "wrong-unit"},
    Trial{"length", "3 cd", "wrong-unit"},
    Trial{"area", "3 cd", "wrong-unit"},
    Trial{"volume", "3 cd", "wrong-unit"},
    Trial{"energy", "3 cd", "wrong-unit"},
    Trial{"pressure", "3 cd", "wrong-unit"},
    Trial{"temperature", "3 cd", "wrong-unit"},
    Trial{"money", "3 cd", "wrong-unit"},
};

const Trial* trial_of(std::string_view values) {
    const auto found = std::ranges::find_if(
        trials, [&](const Trial& trial) { return values.starts_with(trial.type); });
    return found == trials.end() ? nullptr : &*found;
}

/// Keys whose reader lets a value of the wrong type pass. Each would be a debt: whoever mends a
/// reader takes its line out here, and the test says so.
const std::set<std::string> too_lenient;
const std::set<std::string> too_lenient_of_shape;

std::set<std::string> words_in(const std::string& text) {
    static const std::regex word("[a-z0-9_]+");
    return {std::sregex_token_iterator(text.begin(), text.end(), word),
            std::sregex_token_iterator()};
}

/// What a choice needs beside it: a supply its factor, the supply of a grid that grid.
const std::map<std::string, std::string> beside_choice{
    {"waters from: supply", "factor: town_water"},
    {"use instead_of supply: grid", "use: grid as new_wind"},
    {"heat shifted supply: grid", "to: grid"}};

/// Choices that do not go with what stands beside them in the template, which is in tonnes.
const std::map<std::string, std::string> refused_choice{{"makes kind: heat", "wrong-unit"},
                                                        {"makes kind: electricity", "wrong-unit"}};

/// "one of `a`, `b`, or mapping": each loads, another word is refused and the hint names just
/// these.
void check_choice(const FileSet& base, const KeyRow& row) {
    const auto choices = code_spans(row.values.substr(0, row.values.find(", or ")));
    REQUIRE_FALSE(choices.empty());
    for (const std::string& choice : choices) {
        std::string line = row.key + ": " + choice;
        const auto beside = beside_choice.find(row.mapping + " " + line);
        if (beside != beside_choice.end()) line += "\n" + beside->second;
        const Outcome outcome = try_line(base, row, line);
        INFO(choice << "\n" << outcome.text);
        const auto refused = refused_choice.find(row.mapping + " " + line);
        if (refused == refused_choice.end()) CHECK(outcome.loaded());
        else CHECK((outcome.problems.size() == 1 && outcome.has(refused->second)));
    }
    const Outcome outcome = try_line(base, row, row.key + ": qqqqqqqqqqqq");
    INFO(outcome.text);
    REQUIRE(outcome.problems.size() == 1);
    CHECK((outcome.has("unknown-word") || outcome.has("unknown-kind")));
    std::set<std::string> hinted = words_in(outcome.problems[0].hint);
    for (const std::string_view filler : {"known", "or"}) hinted.erase(std::string(filler));
    const bool only_words =
        row.values.find(", or mapping") == std::string::npos || hinted.size() == choices.size();
    for (const std::string& choice : choices) CHECK(hinted.contains(choice));
    if (only_words) CHECK(hinted == std::set<std::string>(choices.begin(), choices.end()));
}

}  // namespace

TEST_CASE("schema pages: every table and example is of a kind that is tested", "[schema]") {
    const std::set<std::string> known_heads{
        "key",         "typed",   "refused",         "unit", "composed", "kind",   "code",
        "address",     "formula", "refused formula", "per",  "method",   "supply", "finding",
        "of disclose", "product"};
    for (const auto& [page, base] : pages()) {
        int examples = 0, bars = 0;
        for (const Section& section : page.sections) {
            for (const PageTable& table : section.tables) {
                INFO(page.where(table.line));
                CHECK(known_heads.contains(table.head[0]));
                CHECK_FALSE(table.rows.empty());
                bars += 2 + static_cast<int>(table.rows.size());
                for (const TableRow& row : table.rows) {
                    INFO(page.where(row.line));
                    CHECK(row.cells.size() == table.head.size());
                }
            }
            for (const Example& example : section.examples) {
                INFO(page.where(example.line));
                const Told what = told(example);
                CHECK((example.language == "yaml" || example.language == "csv"));
                CHECK((!what.file.empty() || !what.mapping.empty()));
                ++examples;
            }
        }
        CAPTURE(page.name);
        CHECK(bars == page.bars);
        CHECK(2 * examples == page.fences);
        CHECK(examples > 5);
    }
}

TEST_CASE("schema pages: links lead to headings", "[schema]") {
    const std::regex link("\\]\\(([^)#]*)#([^)]+)\\)");
    const auto slug = [](std::string heading) {
        std::string result;
        for (const char c : heading) {
            if (c == ' ') result += '-';
            else if (std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '_' || c == '-')
                result += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
        }
        return result;
    };
    for (std::size_t i = 0; i < pages().size(); ++i) {
        const std::string text = source_text(page_names[i]);
        int links = 0;
        for (auto at = std::sregex_iterator(text.begin(), text.end(), link);
             at != std::sregex_iterator(); ++at, ++links) {
            const bool other = (*at)[1].length() > 0;
            const Page& target = pages()[other ? 1 - i : i].page;
            INFO(page_names[i] << ": " << at->str());
            if (other) CHECK("../" + target.name == (*at)[1].str());
            CHECK(std::ranges::any_of(target.sections, [&](const Section& section) {
                return slug(section.heading) == (*at)[2].str();
            }));
        }
        CHECK(links > 10);
    }
}

TEST_CASE("schema pages: a section for every mapping of the readers, and none more", "[schema]") {
    std::set<std::string> seen_extra;
    for (const auto& [page, base] : pages()) {
        std::set<std::string> readers, written;
        for (const KeyTable* table : reader_tables(page.name))
            CHECK(readers.insert(std::string(table->mapping)).second);
        for (const auto& [section, table] : page.tables("key")) {
            INFO(section->heading);
            CHECK(table->head == std::vector<std::string>{"key", "meaning", "unit or values",
                                                          "default", "example"});
            if (without_key_table.contains(section->heading))
                CHECK(seen_extra.insert(section->heading).second);
            else CHECK(written.insert(section->heading).second);
        }
        CAPTURE(page.name);
        CHECK(written == readers);
    }
    CHECK(seen_extra == without_key_table);
}

TEST_CASE("schema pages: the same keys as the readers, required ones marked", "[schema]") {
    for (const auto& [page, base] : pages()) {
        for (const auto& [section, table] : page.tables("key")) {
            const KeyTable* reader = reader_table(page.name, section->heading);
            if (reader == nullptr) continue;  // compared below
            std::set<std::string> known, required, written, marked;
            for (const Key& key : reader->keys) {
                known.insert(std::string(key.name));
                if (key.need == Need::required) required.insert(std::string(key.name));
            }
            for (const TableRow& row : table->rows) {
                const std::string key = code_spans(row.cells[0]).at(0);
                INFO(page.where(row.line));
                CHECK(written.insert(key).second);
                if (row.cells[3] == "required") marked.insert(key);
            }
            CAPTURE(page.name, section->heading);
            CHECK(written == known);
            CHECK(marked == required);
        }
    }
}

TEST_CASE("schema pages: keys of a packing level and of a price list", "[schema]") {
    const auto keys_of = [](const PageCase& one, const std::string& mapping) {
        std::vector<KeyRow> rows;
        for (const KeyRow& row : key_rows(one.page)) {
            if (row.mapping == mapping) rows.push_back(row);
        }
        REQUIRE_FALSE(rows.empty());
        return rows;
    };
    const auto levels = keys_of(pages()[1], "packing level");
    const Outcome level = load(with_fragment(pages()[1].base, "packing level", "qqqqqqqqqqqq: 1"));
    REQUIRE(level.problems.size() == 1);
    CHECK(level.problems[0].hint == "known here: rolls, uses");
    CHECK(levels.size() == 2);
    CHECK(levels[0].key + " " + levels[0].fallback == "rolls required");
    CHECK(levels[1].key == "uses");

    for (const KeyRow& row : keys_of(pages()[0], "prices")) {  // any other key is a factor's price
        INFO(row.where);
        CHECK(try_line(pages()[0].base, row, row.example).loaded());
        CHECK((row.fallback == "required") == (row.key == "prices"));
    }
    CHECK_FALSE(load(with_fragment(pages()[0].base, "prices", "publisher: Not a price")).loaded());
}

TEST_CASE("schema pages: the template study holds every mapping and loads as it is", "[schema]") {
    const Outcome plain = load(template_study());
    INFO(plain.text);
    CHECK(plain.loaded());
    for (const auto& [page, base] : pages()) {
        const Outcome with_files = load(base);
        INFO(page.name << "\n" << with_files.text);
        CHECK(with_files.loaded());
        for (const auto& [section, table] : page.tables("key")) {
            INFO(section->heading);
            CHECK(marks(base, section->heading));
        }
    }
}

TEST_CASE("schema pages: the example of every key loads", "[schema]") {
    for (const auto& [page, base] : pages()) {
        const auto rows = rows_in_turn(page);
        std::size_t run = 0;
        for (const KeyRow& row : rows) {
            INFO(row.where << ": " << row.example);
            CHECK(row.example.starts_with(row.key + ": "));
            const Outcome outcome = try_line(base, row, row.example);
            INFO(outcome.text);
            CHECK(outcome.loaded());
            ++run;
        }
        CHECK(run == rows.size());
        CHECK(run > 70 / test::one_in);
    }
}

TEST_CASE("schema pages: a value of the wrong type is refused, of every key", "[schema]") {
    std::set<std::string> passed;
    const FileSet base = template_study();
    for (const auto& [page, with_examples] : pages()) {
        for (const KeyRow& row : rows_in_turn(page)) {
            INFO(row.where << ": " << row.key << ", " << row.values);
            if (row.values.starts_with("one of ")) {
                check_choice(base, row);
                continue;
            }
            const Trial* trial = trial_of(row.values);
            REQUIRE(trial != nullptr);
            const Outcome outcome = try_line(base, row, row.key + ": " + std::string(trial->value));
            INFO(trial->value << "\n" << outcome.text);
            if (outcome.loaded()) passed.insert(row.mapping + "." + row.key);
            else if (!trial->code.empty()) CHECK(outcome.has(trial->code));
        }
    }
    CHECK(passed == too_lenient);
}

TEST_CASE("schema pages: a list or a mapping is refused where the page names none", "[schema]") {
    std::set<std::string> passed;
    const FileSet base = template_study();
    for (const auto& [page, with_examples] : pages()) {
        for (const KeyRow& row : rows_in_turn(page)) {
            for (const auto& [shape, value] :
                 {std::pair{"list", "[qqqq]"}, std::pair{"mapping", "{qqqq: qqqq}"}}) {
                if (row.values.find(shape) != std::string::npos) continue;
                if (try_line(base, row, row.key + ": " + value).loaded())
                    passed.insert(row.mapping + "." + row.key);
            }
        }
    }
    CHECK(passed == too_lenient_of_shape);
}

TEST_CASE("schema pages: every fenced example is run", "[schema]") {
    for (const auto& [page, base] : pages()) {
        int run = 0, whole = 0;
        for (const FileSet& files : studies_of(page)) {
            const Outcome outcome = load(files);
            INFO(page.name << "\n" << outcome.text);
            CHECK(outcome.loaded());
            whole += static_cast<int>(files.size());
        }
        for (const Section& section : page.sections) {
            for (const Example& example : section.examples) {
                const Told what = told(example);
                ++run;
                if (what.mapping.empty()) continue;  // whole files: above, or in the base
                const Outcome outcome = load(with_fragment(base, what.mapping, example.text));
                INFO(page.where(example.line) << "\n" << outcome.text);
                if (what.code.empty()) CHECK(outcome.loaded());
                else CHECK(outcome.has(what.code));
                CHECK(outcome.problems.size() <= 1);
            }
        }
        int added = 0;
        for (const auto& [name, text] : base) added += template_study().contains(name) ? 0 : 1;
        int files = 0;
        for (const Section& section : page.sections) {
            files += static_cast<int>(std::ranges::count_if(
                section.examples,
                [](const Example& example) { return !told(example).file.empty(); }));
        }
        CHECK(whole + added == files);
        CHECK(2 * run == page.fences);
    }
}

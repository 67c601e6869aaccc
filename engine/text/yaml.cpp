#include "engine/text/yaml.h"

#include <fmt/format.h>
#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/parser.h>

#include <algorithm>
#include <array>
#include <istream>
#include <streambuf>
#include <unordered_map>

namespace deckle {
namespace {

constexpr std::size_t deepest = 32;
constexpr std::size_t few_keys = 16;

/// Thrown inside the handler to leave the parser early; never leaves this file.
struct GiveUp {};

/// Bytes of a text in quotes, both included; npos when it does not end.
std::size_t quoted_length(std::string_view rest) {
    const char quote = rest.front();
    for (std::size_t i = 1; i < rest.size(); ++i) {
        const bool skips = quote == '"' ? rest[i] == '\\' : rest.substr(i).starts_with("''");
        if (skips) ++i;
        else if (rest[i] == quote) return i + 1;
    }
    return std::string_view::npos;
}

/// Bytes of the first line of a text without quotes, without what follows as a comment.
std::size_t shown_length(std::string_view rest) {
    rest = rest.substr(0, rest.find(" #"));
    return rest.find_last_not_of(' ') + 1;
}

class ViewBuffer : public std::streambuf {
public:
    explicit ViewBuffer(const std::string& text) {
        char* begin = const_cast<char*>(text.data());  // read only: no put area is set
        setg(begin, begin, begin + text.size());
    }
};

class TreeBuilder : public YAML::EventHandler {
public:
    TreeBuilder(const Files& files, std::uint32_t file, Problems& problems)
        : files_(files), file_(file), problems_(problems) {}

    YamlValue root;

    void OnDocumentStart(const YAML::Mark& mark) override {
        if (started_) {
            report(place(mark), "yaml-feature", "a second document starts here",
                   "one file holds one document");
            root = {};  // which of the two is meant is not known
            throw GiveUp{};
        }
        started_ = true;
    }
    void OnDocumentEnd() override {}
    void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override {
        refuse_anchor(mark, anchor);
        YamlValue value;
        value.place = place(mark);
        put(std::move(value));
    }
    void OnAlias(const YAML::Mark& mark, YAML::anchor_t) override {
        report(place(mark), "yaml-feature", "aliases are not read", "write the value out");
        YamlValue value;
        value.refused = true;
        put(std::move(value));
    }
    void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                  const std::string& text) override {
        refuse_anchor(mark, anchor);
        refuse_tag(mark, tag);
        YamlValue value;
        value.kind = YamlValue::Kind::scalar;
        value.place = place(mark);
        value.text = text;
        settle_extent(value);
        put(std::move(value));
    }
    void OnSequenceStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                         YAML::EmitterStyle::value) override {
        open(mark, tag, anchor, YamlValue::Kind::list);
    }
    void OnSequenceEnd() override { close(); }
    void OnMapStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                    YAML::EmitterStyle::value) override {
        open(mark, tag, anchor, YamlValue::Kind::map);
    }
    void OnMapEnd() override { close(); }

    /// Where the innermost mapping or list begins that has not ended.
    [[nodiscard]] Place opened() const { return levels_.empty() ? Place{} : levels_.back().opened; }

private:
    struct Level {
        YamlValue value;
        Place opened;
        bool expects_key = false;
        bool refused_key = false;                           // its value is left out
        std::unordered_map<std::string, std::size_t> seen;  // filled once a map has many keys
    };

    Place place(const YAML::Mark& mark) const {
        if (mark.line < 0) return {file_, 1, 1, 1};
        return {file_, static_cast<std::uint32_t>(mark.line + 1),
                static_cast<std::uint32_t>(mark.column + 1), 1};
    }

    void report(Place where, const char* code, std::string message, std::string hint,
                std::vector<Place> related = {}) {
        problems_.add(where, code, std::move(message), std::move(hint), std::move(related));
    }

    void refuse_anchor(const YAML::Mark& mark, YAML::anchor_t anchor) {
        if (anchor != YAML::NullAnchor) {
            report(place(mark), "yaml-feature", "anchors are not read",
                   "write the value out where it is used");
        }
    }
    void refuse_tag(const YAML::Mark& mark, const std::string& tag) {
        if (!tag.empty() && tag != "?" && tag != "!") {
            report(place(mark), "yaml-feature", fmt::format("the tag {} is not read", tag),
                   "write the plain value");
        }
    }

    /// Length of a scalar in its line, and whether its text stands there as it is.
    void settle_extent(YamlValue& value) {
        const std::string_view line = files_.line(value.place);
        const std::string_view rest =
            line.substr(std::min<std::size_t>(value.place.column - 1, line.size()));
        const bool is_quoted = rest.starts_with('"') || rest.starts_with('\'');
        value.quoted = is_quoted || value.text.empty() || !rest.starts_with(value.text);
        const std::size_t length = !value.quoted ? value.text.size()
                                   : is_quoted
                                       ? std::min(rest.size(), closed_length(rest, value.place))
                                       : shown_length(rest);
        value.place.length = static_cast<std::uint32_t>(std::max<std::size_t>(1, length));
    }

    /// Of a text in quotes, which may go on in the next lines. The parser takes the end of the
    /// file for its end, and would lose every key that follows.
    std::size_t closed_length(std::string_view rest, Place where) {
        const std::string& text = files_.at(file_).text;
        const auto start = static_cast<std::size_t>(rest.data() - text.data());
        const std::size_t length = quoted_length(std::string_view(text).substr(start));
        if (length != std::string_view::npos) return length;
        report(where, "yaml-syntax", "a quoted text does not end", "close it with the same quote");
        throw GiveUp{};
    }

    void open(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
              YamlValue::Kind kind) {
        refuse_anchor(mark, anchor);
        refuse_tag(mark, tag);
        if (levels_.size() >= deepest) {
            report(place(mark), "too-deep", fmt::format("nested deeper than {} levels", deepest),
                   "no file of Deckle needs more than ten");
            throw GiveUp{};
        }
        Level level;
        level.opened = place(mark);
        level.value.kind = kind;
        level.value.place = place(mark);
        level.expects_key = kind == YamlValue::Kind::map;
        levels_.push_back(std::move(level));
    }

    void close() {
        YamlValue value = std::move(levels_.back().value);
        if (value.is_map()) refuse_cut_values(value);
        levels_.pop_back();
        put(std::move(value));
    }

    /// `{gas: 398,000 GJ}` and `{gas: max(a, 3)}` are read as two keys, the second without a value.
    void refuse_cut_values(YamlValue& map) {
        for (std::size_t i = 0; i + 1 < map.entries.size(); ++i) {
            const std::size_t end = end_of_cut_value(map.entries, i);
            if (end == i + 1) continue;
            YamlEntry& cut = map.entries[i];
            const bool formula = is_open(cut.value.text);
            std::string rest;
            for (std::size_t k = i + 1; k < end; ++k)
                rest += (formula ? ", " : ",") + map.entries[k].key;
            Place where = map.entries[i + 1].place;
            where.length = static_cast<std::uint32_t>(map.entries[i + 1].key.size());
            report(where, "yaml-syntax",
                   fmt::format("inside {{ }} a comma ends a value, and {} begins another",
                               map.entries[i + 1].key),
                   formula ? fmt::format("write {}: \"{}{}\"", cut.key, cut.value.text, rest)
                           : number_hint(cut, rest));
            cut.value.kind = YamlValue::Kind::nothing;
            cut.value.refused = true;
            const auto first = map.entries.begin() + static_cast<std::ptrdiff_t>(i) + 1;
            map.entries.erase(first, first + static_cast<std::ptrdiff_t>(end - i - 1));
        }
    }

    static std::string number_hint(const YamlEntry& cut, std::string_view rest) {
        std::string plain, grouped;
        for (const char c : rest) {
            if (c != ',') plain += c;
            grouped += c == ',' ? '_' : c;
        }
        return fmt::format("write {0}: {1}{2} or {0}: {1}{3}", cut.key, cut.value.text, plain,
                           grouped);
    }

    /// Behind the keys that a comma cut off the value of `i`: those of its line without a value,
    /// while a parenthesis is open, or that begin with a digit behind a digit.
    static std::size_t end_of_cut_value(const std::vector<YamlEntry>& entries, std::size_t i) {
        const YamlValue& value = entries[i].value;
        std::size_t end = i + 1;
        if (!value.is_scalar() || value.quoted || value.text.empty()) return end;
        const auto is_digit = [](char c) { return c >= '0' && c <= '9'; };
        std::string text = value.text;
        for (; end < entries.size(); ++end) {
            const YamlEntry& next = entries[end];
            if (next.value.kind != YamlValue::Kind::nothing || next.value.refused ||
                next.place.line != value.place.line || next.key.empty())
                break;
            if (!is_open(text) && !(is_digit(text.back()) && is_digit(next.key.front()))) break;
            text += "," + next.key;
        }
        return end;
    }

    static bool is_open(std::string_view text) {
        return std::ranges::count(text, '(') > std::ranges::count(text, ')');
    }

    void put(YamlValue value) {
        if (levels_.empty()) {
            root = std::move(value);
            return;
        }
        Level& level = levels_.back();
        if (level.value.is_list()) {
            level.value.items.push_back(std::move(value));
        } else if (level.expects_key) {
            add_key(level, std::move(value));
        } else {
            if (level.refused_key) level.value.entries.pop_back();
            else level.value.entries.back().value = std::move(value);
            level.refused_key = false;
            level.expects_key = true;
        }
    }

    void add_key(Level& level, YamlValue key) {
        if (!key.is_scalar()) {
            refuse_key(level, key.place,
                       fmt::format("a key must be a word, not {}", key.kind_text()),
                       "a key stands before ': '");
        } else if (key.text == "<<") {
            refuse_key(level, key.place, "merge keys are not read", "write the keys out");
        } else if (const YamlEntry* first = same_key(level, key.text)) {
            report(key.place, "duplicate-key",
                   fmt::format("the key {} stands twice in one mapping", key.text),
                   "keep one of the two", {first->place});
            level.refused_key = true;
        }
        if (level.value.entries.empty()) level.value.place = key.place;
        level.value.entries.push_back({std::move(key.text), key.place, {}});
        level.expects_key = false;
    }

    void refuse_key(Level& level, Place where, std::string message, std::string hint) {
        report(where, "yaml-feature", std::move(message), std::move(hint));
        level.refused_key = level.value.refused = true;
    }

    /// Short maps are searched, long ones indexed: neither a small file nor a huge one gets slow.
    const YamlEntry* same_key(Level& level, const std::string& key) {
        auto& entries = level.value.entries;
        if (entries.size() < few_keys) return level.value.entry(key);
        for (std::size_t i = level.seen.size(); i < entries.size(); ++i)
            level.seen.emplace(entries[i].key, i);
        const auto found = level.seen.find(key);
        return found == level.seen.end() ? nullptr : &entries[found->second];
    }

    const Files& files_;
    std::uint32_t file_;
    Problems& problems_;
    std::vector<Level> levels_;
    bool started_ = false;
};

/// What the parser calls a fault by a prefix of its message, and what a person needs to know.
struct SyntaxRow {
    std::string_view fault, code, message, hint;
    bool where_opened = false;  ///< shown where the brackets begin, not where they were missed
};
constexpr std::string_view syntax = "yaml-syntax", feature = "yaml-feature";
constexpr std::string_view escape_hint = "single quotes keep a backslash as it is";
constexpr std::string_view in_quotes = "a text that begins so needs quotes";
constexpr std::array syntax_rows{
    SyntaxRow{"end of map flow", syntax, "this { has no }, or a comma is missing inside it",
              "{key: value, key: value}", true},
    SyntaxRow{"end of sequence flow", syntax, "this [ has no ], or a comma is missing inside it",
              "[item, item]", true},
    SyntaxRow{"end of map", syntax, "this line does not fit the mapping above it",
              "keys of one mapping stand in one column, each followed by ': ' and its value"},
    SyntaxRow{"end of sequence", syntax, "this line does not fit the list above it",
              "items of one list stand in one column, each behind '- '"},
    SyntaxRow{"illegal map value", syntax, "a value with ': ' in it stands without quotes",
              "title: \"one: two\""},
    SyntaxRow{"illegal map key", syntax, "no key can stand here", "one key a line"},
    SyntaxRow{"illegal block entry", syntax, "no list item can stand here",
              "a list begins on a line of its own, or is written [item, item]"},
    SyntaxRow{"illegal flow end", syntax, "this closes what was not opened", in_quotes},
    SyntaxRow{"illegal tab", syntax, "a tab stands where spaces belong", "indent with spaces"},
    SyntaxRow{"illegal EOF", syntax, "a quoted text does not end", "close it with the same quote"},
    SyntaxRow{"illegal document", syntax, "--- or ... stands inside a text", in_quotes},
    SyntaxRow{"unknown token", syntax, "no value begins with this character", in_quotes},
    SyntaxRow{"unknown escape", syntax, "this escape is not known", escape_hint},
    SyntaxRow{"bad character found while scanning hex", syntax, "this escape is not known",
              escape_hint},
    SyntaxRow{"invalid unicode", syntax, "this escape is no character", escape_hint},
    SyntaxRow{"the referenced anchor", feature, "aliases are not read", in_quotes},
    SyntaxRow{"alias", feature, "aliases are not read", in_quotes},
    SyntaxRow{"anchor", feature, "anchors are not read", in_quotes},
    SyntaxRow{"illegal character found while scanning", feature,
              "anchors, aliases and tags are not read", in_quotes},
    SyntaxRow{"cannot assign", feature, "anchors, aliases and tags are not read", in_quotes},
    SyntaxRow{"tag", feature, "tags are not read", in_quotes},
    SyntaxRow{"end of verbatim tag", feature, "tags are not read", in_quotes},
    SyntaxRow{"YAML", feature, "lines that begin with % are not read", in_quotes},
    SyntaxRow{"TAG", feature, "lines that begin with % are not read", in_quotes},
    SyntaxRow{"bad YAML version", feature, "lines that begin with % are not read", in_quotes},
    SyntaxRow{"", syntax, "this cannot be read as YAML",
              "a value with ': ' or ' #' or a leading '[', '{', '*', '&', '%' needs quotes"}};

const SyntaxRow& row_of(std::string_view fault) {
    return *std::ranges::find_if(
        syntax_rows, [&](const SyntaxRow& row) { return fault.starts_with(row.fault); });
}

bool is_indented_by_tab(std::string_view line) {
    const std::size_t text = line.find_first_not_of(" \t");
    return line.substr(0, text).find('\t') != std::string_view::npos;
}

/// `title:Longer` begins a text over several lines, which the next line with a key breaks: the
/// fault is found there and made here. False when the line above is none of that kind.
bool report_missing_space(const Files& files, Place found, Problems& problems) {
    Place where{found.file, found.line - 1, 1, 1};
    const std::string_view above = files.line(where);
    const std::size_t key = above.find_first_not_of(' ');
    const std::size_t colon = above.find(':');
    if (colon == std::string_view::npos || colon + 1 >= above.size()) return false;
    const std::string_view before = above.substr(key, colon - key);
    const bool is_key = std::ranges::all_of(before, [](char c) {
        return c == '_' || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
    });
    if (!is_key || above[colon + 1] == ' ') return false;
    where.column = static_cast<std::uint32_t>(colon + 1);
    problems.add(where, std::string(syntax), "no space follows this colon",
                 fmt::format("{}: {}", before, above.substr(colon + 1)));
    return true;
}

void parse(const Files& files, std::uint32_t file, Problems& problems, TreeBuilder& builder) {
    ViewBuffer buffer(files.at(file).text);
    std::istream stream(&buffer);
    try {
        YAML::Parser parser(stream);
        while (parser.HandleNextDocument(builder)) {}
    } catch (const YAML::Exception& error) {
        Place where{file, 1, 1, 1};
        if (error.mark.line >= 0) {
            where.line = static_cast<std::uint32_t>(error.mark.line + 1);
            where.column = static_cast<std::uint32_t>(error.mark.column + 1);
        }
        const SyntaxRow& row =
            is_indented_by_tab(files.line(where)) ? row_of("illegal tab") : row_of(error.msg);
        if (row.fault == "illegal map value" && report_missing_space(files, where, problems))
            return;
        const bool elsewhere = row.where_opened && builder.opened().known();
        const std::vector<Place> missed(elsewhere ? 1 : 0, where);
        problems.add(elsewhere ? builder.opened() : where, std::string(row.code),
                     std::string(row.message), std::string(row.hint), missed);
    } catch (const GiveUp&) {
        // already reported
    }
}

}  // namespace

const YamlEntry* YamlValue::entry(std::string_view key) const {
    const auto found = std::find_if(entries.begin(), entries.end(),
                                    [&](const YamlEntry& e) { return e.key == key; });
    return found == entries.end() ? nullptr : &*found;
}

const YamlValue* YamlValue::find(std::string_view key) const {
    const YamlEntry* found = entry(key);
    return found == nullptr ? nullptr : &found->value;
}

const char* YamlValue::kind_text() const noexcept {
    switch (kind) {
        case Kind::map: return "a mapping";
        case Kind::list: return "a list";
        case Kind::scalar: return "text";
        case Kind::nothing: break;
    }
    return "nothing";
}

YamlValue made_text(Place place, std::string text) {
    YamlValue value;
    value.kind = YamlValue::Kind::scalar;
    value.place = place;
    value.quoted = true;  // its text is not what stands at the place
    value.text = std::move(text);
    return value;
}

YamlValue made_empty(Place place, YamlValue::Kind kind) {
    YamlValue value;
    value.kind = kind;
    value.place = place;
    return value;
}

Place place_inside(const YamlValue& scalar, std::size_t offset, std::size_t length) {
    if (scalar.quoted || offset > scalar.text.size()) return scalar.place;
    Place place = scalar.place;
    place.column += static_cast<std::uint32_t>(offset);
    place.length = static_cast<std::uint32_t>(std::max<std::size_t>(1, length));
    return place;
}

YamlValue read_yaml(const Files& files, std::uint32_t file, Problems& problems, YamlRoot whole) {
    const std::size_t before = problems.count();
    TreeBuilder builder(files, file, problems);
    parse(files, file, problems, builder);
    const bool fits =
        builder.root.is_map() || (whole == YamlRoot::map_or_list && builder.root.is_list());
    if (problems.count() == before && !fits) {
        const bool empty = builder.root.kind == YamlValue::Kind::nothing;
        const std::string& text = files.at(file).text;
        if (text.find('\n') == std::string::npos && text.find('\r') != std::string::npos) {
            problems.add({file, 1, 1, 1}, empty ? "empty-file" : "not-a-mapping",
                         "the file is a single line: CR alone ends none",
                         "save it with LF or CRLF at the end of each line");
            return {};
        }
        problems.add({file, 1, 1, 1}, empty ? "empty-file" : "not-a-mapping",
                     empty ? std::string("the file is empty")
                           : fmt::format("the file holds {}; a mapping of keys was expected",
                                         builder.root.kind_text()),
                     "the schema page of this folder shows the smallest valid file");
    }
    if (!fits) builder.root = YamlValue{};
    return std::move(builder.root);
}

}  // namespace deckle

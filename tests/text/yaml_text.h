// A YAML text read from memory, for the tests of this room: its tree and what was reported.
#pragma once

#include <string>
#include <vector>

#include "engine/text/yaml.h"

namespace deckle::test {

/// What was collected, by place, each once.
inline std::vector<Problem> reported(Problems problems) {
    try {
        problems.throw_if_any();
    } catch (const InputError& error) {
        return error.problems;
    }
    return {};
}

struct YamlText {
    explicit YamlText(const std::string& text) {
        const std::uint32_t file = files.add("file.yaml", text);
        Problems found;
        root = read_yaml(files, file, found);
        problems = reported(found);
    }

    /// The place of a part of the text that stands once in it, counted by hand from its start.
    [[nodiscard]] Place place_of(const std::string& part) const {
        const std::string& text = files.at(1).text;
        Place place{1, 1, 1, static_cast<std::uint32_t>(part.size())};
        for (std::size_t i = 0; i < text.find(part); ++i) {
            place.column = text[i] == '\n' ? 1 : place.column + 1;
            if (text[i] == '\n') ++place.line;
        }
        return place;
    }

    Files files;
    YamlValue root;
    std::vector<Problem> problems;
};

}  // namespace deckle::test

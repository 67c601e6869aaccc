// A small study in which every mapping of the schema pages stands once, and how an example of a
// page takes its place in it. The files are in template/; their marks are explained in
// template/study.yaml.
#pragma once

#include <map>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "engine/study/study.h"

using FileSet = std::map<std::string, std::string>;

/// What loading a set of files came to.
struct Outcome {
    std::shared_ptr<deckle::Study> study;
    std::vector<deckle::Problem> problems;
    std::string text;  ///< the problems in print

    [[nodiscard]] bool loaded() const noexcept { return problems.empty(); }
    [[nodiscard]] bool has(std::string_view code) const;
};

/// Writes the files to a folder of their own, loads its study.yaml, and removes the folder.
[[nodiscard]] Outcome load(const FileSet& files, const deckle::ScenarioChoice& scenarios = {});

/// The files of template/, each mapping at its place.
[[nodiscard]] FileSet template_study();

/// Whether the files mark a place of a mapping.
[[nodiscard]] bool marks(const FileSet& files, std::string_view mapping);

/// The files with `fragment`, keys of `mapping` with their values, at its place.
/// Errors: runtime_error when the files mark no such mapping.
[[nodiscard]] FileSet with_fragment(const FileSet& files, const std::string& mapping,
                                    const std::string& fragment);

/// The files with another one, which their study.yaml then names. Errors: runtime_error when its
/// head key is none of table, characterization, scarcity, prices,
/// data_quality_spread, mill and products.
[[nodiscard]] FileSet with_file(const FileSet& files, const std::string& name,
                                const std::string& text);

/// A key at the beginning of a fragment's lines, with all its lines.
struct Piece {
    std::string key, lines;
};
/// Cuts the lines at the keys that stand at `indent`; comments before the first are dropped.
[[nodiscard]] std::vector<Piece> pieces_of(std::string_view text, std::size_t indent);

#include "reports/seal/seal.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <set>

#include "engine/study/model.h"
#include "reports/digest.h"
#include "reports/footprint.h"
#include "reports/graph_json.h"
#include "reports/inert.h"
#include "reports/json_text.h"
#include "reports/seal/keys.h"
#include "reports/study_paths.h"
#include "reports/uncertainty.h"

namespace deckle {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view manifest_path = "manifest.json";
constexpr std::string_view signature_path = "signature";
constexpr std::string_view inputs_folder = "inputs/";
constexpr std::string_view results_folder = "results/";
constexpr std::string_view graph_path = "results/graph.json";
constexpr std::string_view footprint_path = "results/footprint.json";
constexpr std::string_view uncertainty_path = "results/uncertainty.json";

[[noreturn]] void refuse_seal(std::string code, std::string message, std::string hint = {}) {
    throw InputError(
        {Problem{{}, Severity::error, std::move(code), std::move(message), std::move(hint), {}}});
}

[[noreturn]] void refuse_manifest(const std::string& why) {
    refuse_seal("not-a-seal", fmt::format("manifest.json is no manifest of a seal: {}", why),
                "deckle seal STUDY -o FILE makes a seal");
}

// --- from a study
// ---------------------------------------------------------------------------------

/// The files that hold tables: factors, weights, scarcity, prices, spreads of data quality.
std::set<std::uint32_t> files_of_tables(const Tables& tables) {
    std::set<std::uint32_t> files;
    const auto add = [&](const auto& list) {
        for (const auto& one : list) files.insert(one.place.file);
    };
    add(tables.factors);
    add(tables.characterizations);
    add(tables.scarcities);
    add(tables.prices);
    add(tables.quality_spreads);
    return files;
}

void take_inputs(const Study& study, Seal& seal) {
    const std::vector<std::string> paths = paths_within_study(study.files);
    for (std::uint32_t file = 1; file <= study.files.count(); ++file)
        seal.inputs.push_back({paths[file - 1], study.files.bytes_of(file)});
    seal.question.study = seal.inputs.front().path;
    for (const std::uint32_t file : files_of_tables(study.model->tables))
        seal.factor_tables.push_back(paths[file - 1]);
    std::ranges::sort(seal.inputs, {}, &ArchiveFile::path);
    std::ranges::sort(seal.factor_tables);
}

// --- working out
// -----------------------------------------------------------------------------------

std::string graph_text(const Study& study) {
    std::vector<GraphFile> files;
    for (std::uint32_t file = 1; file <= study.files.count(); ++file)
        files.push_back({study.files.at(file).path, sha256_of(study.files.bytes_of(file))});
    return graph_json(study.graph, files);
}

std::string footprint_text_of(const Study& study, const Evaluation& at,
                              const SealedQuestion& asked) {
    FootprintQuestion question;
    question.scenarios = {"today"};
    for (const Scenario& scenario : study.scenarios) question.scenarios.push_back(scenario.id);
    return footprint_json(ask_footprint(study, at, std::move(question)), asked.program);
}

std::string uncertainty_text_of(const Study& study, const Evaluation& at,
                                const SealedQuestion& asked) {
    UncertaintyAsked question;
    question.draws.draws = asked.draws;
    question.draws.threads = asked.threads;
    return uncertainty_json(ask_uncertainty(study, at, std::move(question)), asked.program);
}

// --- the manifest
// ----------------------------------------------------------------------------------

std::string_view what_is(const std::string& path) {
    if (path == graph_path) return "graph";
    return path == footprint_path ? "footprint" : "uncertainty";
}

Json digest_json(std::string path, const std::string& bytes, std::string_view holds) {
    return {{"path", std::move(path)},
            {"holds", holds},
            {"bytes", bytes.size()},
            {"sha256", sha256_of(bytes)}};
}

Json parsed_manifest(const std::string& text) {
    try {
        return Json::parse(text);
    } catch (const Json::exception&) {
        refuse_manifest("it is no JSON");
    }
}

std::uint64_t draws_in(const Json& json) {
    const Json& draws = json.at("draws");
    if (draws.is_null()) return 0;
    if (!draws.is_number_unsigned() || draws.get<std::uint64_t>() < 2 ||
        draws.get<std::uint64_t>() > most_sealed_draws)
        refuse_manifest(fmt::format("draws are null, or from 2 to {}", most_sealed_draws));
    return draws.get<std::uint64_t>();
}

void read_manifest(Seal& seal) {
    const Json json = parsed_manifest(seal.manifest);
    try {
        if (json.at("format") != "deckle-seal" || json.at("version") != 1)
            refuse_manifest("format is not deckle-seal, version 1");
        seal.question.program = json.at("program").get<std::string>();
        seal.question.study = json.at("study").get<std::string>();
        seal.question.draws = draws_in(json);
        for (const Json& entry : json.at("entries")) {
            (void)entry.at("sha256").get_ref<const std::string&>();
            (void)entry.at("bytes").get<std::uint64_t>();
            const auto path = entry.at("path").get<std::string>();
            if (entry.at("holds") == "factor_table" && path.starts_with(inputs_folder))
                seal.factor_tables.push_back(path.substr(inputs_folder.size()));
        }
    } catch (const Json::exception& error) {
        refuse_manifest(inert(error.what()));
    }
}

}  // namespace

std::string Seal::digest() const { return sha256_of(manifest); }

std::string manifest_of(const Seal& seal) {
    Json json = Json::object();
    json["format"] = "deckle-seal";
    json["version"] = 1;
    json["program"] = seal.question.program;
    json["study"] = seal.question.study;
    json["draws"] = seal.question.draws == 0 ? Json(nullptr) : Json(seal.question.draws);
    json["entries"] = Json::array();
    for (const ArchiveFile& file : seal.inputs) {
        const bool table =
            std::ranges::find(seal.factor_tables, file.path) != seal.factor_tables.end();
        json["entries"].push_back(digest_json(std::string(inputs_folder) + file.path, file.bytes,
                                              table ? "factor_table" : "input"));
    }
    for (const ArchiveFile& file : seal.results)
        json["entries"].push_back(digest_json(file.path, file.bytes, what_is(file.path)));
    return json_text(json);
}

std::vector<SealedDigest> stated_digests(const Seal& seal) {
    std::vector<SealedDigest> list;
    const Json json = parsed_manifest(seal.manifest);
    for (const Json& entry : json.at("entries"))
        list.push_back({entry.at("path").get<std::string>(), entry.at("sha256").get<std::string>(),
                        entry.at("bytes").get<std::uint64_t>()});
    return list;
}

void load_sealed_study(const Seal& seal, Study& study, const ScenarioChoice& choice) {
    Files::Held held;
    for (const ArchiveFile& file : seal.inputs) held.emplace(file.path, file.bytes);
    study.files.read_only_from(std::move(held));
    load_study(seal.question.study, study, choice);
}

std::vector<ArchiveFile> work_out(const Seal& seal, Study& study) {
    load_sealed_study(seal, study, {.all = true});
    const Evaluation at = evaluate(study.graph);
    std::vector<ArchiveFile> results;
    results.push_back({std::string(graph_path), graph_text(study)});
    results.push_back({std::string(footprint_path), footprint_text_of(study, at, seal.question)});
    if (seal.question.draws != 0)
        results.push_back(
            {std::string(uncertainty_path), uncertainty_text_of(study, at, seal.question)});
    return results;
}

Seal make_seal(const Study& study, SealedQuestion question) {
    Seal seal;
    seal.question = std::move(question);
    take_inputs(study, seal);
    Study anew;
    try {
        seal.results = work_out(seal, anew);
    } catch (const InputError& error) {  // places are of the seal's own files
        refuse_seal("cannot-seal",
                    fmt::format("read from the seal alone, the study has an error: {}: {}",
                                anew.files.where(error.problems.front().where),
                                error.problems.front().message),
                    "name files by paths relative to the study's folder");
    }
    seal.manifest = manifest_of(seal);
    return seal;
}

void sign_seal(Seal& seal, std::string_view secret_text, std::string_view name) {
    seal.signature = signature_of(seal.manifest, secret_text, name);
}

std::string seal_bytes(const Seal& seal) {
    std::vector<ArchiveFile> files;
    files.push_back({std::string(manifest_path), seal.manifest});
    if (seal.signature) files.push_back({std::string(signature_path), *seal.signature});
    for (const ArchiveFile& file : seal.inputs)
        files.push_back({std::string(inputs_folder) + file.path, file.bytes});
    files.insert(files.end(), seal.results.begin(), seal.results.end());
    return write_archive(files);
}

Seal open_seal(std::string_view bytes) {
    Seal seal;
    bool manifest = false;
    for (ArchiveFile& file : read_archive(bytes)) {
        if (file.path == manifest_path) {
            manifest = true;
            seal.manifest = std::move(file.bytes);
        } else if (file.path == signature_path) {
            seal.signature = std::move(file.bytes);
        } else if (file.path.starts_with(inputs_folder)) {
            file.path.erase(0, inputs_folder.size());
            seal.inputs.push_back(std::move(file));
        } else if (file.path.starts_with(results_folder)) {
            seal.results.push_back(std::move(file));
        } else {
            refuse_seal("not-a-seal", fmt::format("the archive has an entry {}, which no seal has",
                                                  inert(file.path)));
        }
    }
    if (!manifest) refuse_seal("not-a-seal", "the archive has no manifest.json");
    if (seal_bytes(seal) != bytes)
        refuse_seal("not-a-seal",
                    "the entries of the archive stand in another order than a seal's");
    read_manifest(seal);
    return seal;
}

std::string bytes_of_seal(const std::string& path) {
    std::error_code error;
    const auto status = fs::status(path, error);
    if (!fs::exists(status)) refuse_seal("missing-file", fmt::format("there is no file {}", path));
    if (!fs::is_regular_file(status))
        refuse_seal("not-a-file", fmt::format("{} is not a file", path));
    if (const auto size = fs::file_size(path, error); !error && size > most_archive_bytes)
        refuse_seal("too-large",
                    fmt::format("{} has {} bytes; {} is the most", path, size, most_archive_bytes));
    std::ifstream stream(path, std::ios::binary);
    std::string bytes((std::istreambuf_iterator<char>(stream)), std::istreambuf_iterator<char>());
    if (!stream.good() && !stream.eof())
        refuse_seal("unreadable-file", fmt::format("{} cannot be read", path));
    return bytes;
}

std::string load_study_or_seal(const std::string& path, Study& study,
                               const ScenarioChoice& choice) {
    std::error_code error;
    std::string start(archive_block, '\0');
    if (fs::is_regular_file(path, error))
        std::ifstream(path, std::ios::binary).read(start.data(), archive_block);
    if (!looks_like_archive(start)) {
        load_study(path, study, choice);
        return {};
    }
    const Seal seal = open_seal(bytes_of_seal(path));
    if (manifest_of(seal) != seal.manifest)
        refuse_seal("broken-seal", fmt::format("{} does not hold what its manifest says", path),
                    fmt::format("deckle verify {} names what differs", path));
    load_sealed_study(seal, study, choice);
    return seal.digest();
}

}  // namespace deckle

#include "check_study_files.h"

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>

#include "engine/graph/evaluate.h"

namespace deckle_test {
namespace {

namespace fs = std::filesystem;

// Warming potentials: IPCC AR6 WG1, table 7.15. Every factor is invented for these tests.
const std::string climate_yaml = R"(characterization: ar6_100
title: Global warming potential over 100 years
source: {title: IPCC AR6 Working Group I, chapter: 7, table: "7.15", publisher: IPCC, year: 2021}
gases: {co2_fossil: 1 kg, ch4_fossil: 29.8 kg, n2o_fossil: 273 kg}
)";

const std::string factors_yaml = R"(table: plain
title: Factors of a small study
source: {title: Tables of a small study, publisher: Press of the small study, year: 2025, table: "1"}
edition: "1"
factors:
  gas:
    title: Natural gas, burned
    kind: fuel
    per: 1 GJ LHV
    heating_value: {LHV: 36.0 MJ/Nm3, HHV: 40.0 MJ/Nm3}
    releases: {co2_fossil: 56.1 kg}
    water: {withdrawn: 0 L, consumed: 0 L}
  grid:
    title: Electricity used at medium voltage
    kind: electricity
    per: 1 kWh
    climate: {fossil: 0.3 kg, biogenic: 0 kg, land_use: 0 kg, characterization: ar6_100}
    water: {withdrawn: 5 L, consumed: 2 L}
  residual_mix:
    title: Electricity that no certificate claims, used at medium voltage
    kind: electricity
    per: 1 kWh
    climate: {fossil: 0.5 kg, biogenic: 0 kg, land_use: 0 kg, characterization: ar6_100}
    water: {withdrawn: 5 L, consumed: 2 L}
  pulp:
    title: Bleached pulp at the pulp mill's gate
    kind: fibre
    per: 1 ADt
    dryness: 90 %
    climate: {fossil: 450 kg, biogenic: 0 kg, land_use: 0 kg, characterization: ar6_100}
    water: {withdrawn: 30 m3, consumed: 3 m3}
    fibre: 0.9 t
    biogenic_carbon: 400 kg
  film:
    title: Film
    kind: packaging
    per: 1 kg
    climate: {fossil: 2.4 kg, biogenic: 0 kg, land_use: 0 kg, characterization: ar6_100}
    water: {withdrawn: 3 L, consumed: 1 L}
  truck:
    title: Freight by road
    kind: freight
    per: 1 t km
    climate: {fossil: 0.08 kg, biogenic: 0 kg, land_use: 0 kg, characterization: ar6_100}
)";

// Dry mass of the machine: 1.0139 ADt x 0.9 = 912.51 kg and 50 kg of broke x 0.95 = 47.5 kg come
// in, 960.01 in all; 950 kg of sheet and 10 kg of solids go out. Water of the machine: 8.80 m3 from
// the river, 0.1014 with the pulp (1.0139 t as it is, 10 % moist) and 0.0025 with the broke; 7.58
// go back, 1.262 evaporate (95/42 - 1), 0.05 stay in the sheet: 8.904 and 8.892. Energy of the
// boiler: 1.1 GJ in, 1 GJ out, so losses of 9.09 %. Carbon of the machine: 1.0139 x 400 = 405.56 kg
// and 47.5 x 0.444 = 21.09 kg come in, 950 x 0.444 = 421.8 kg are in the sheet; the missing 4.85 kg
// are less than what 10 kg of solids hold at 50 %.
const std::string mill_yaml = R"(mill: small
title: A small mill (invented)
period: 2025-01-01 .. 2025-12-31
waters:
  river: {from: surface, basin: valley, region: north}
processes:
  boiler:
    stage: energy
    makes: {steam: {amount: 1 GJ, kind: heat}}
    losses: 9.09 %
    uses:
      gas: {amount: 1.1 GJ LHV, amount_is: metered}
  machine:
    stage: papermaking
    makes:
      sheet:
        amount: 1 t
        dryness: 95 %
        composition: {fibre: 95 %, moisture: 5 %}
        carbon: {biogenic: 0.444 kg/kg of fibre}
    uses:
      pulp: {amount: 1.0139 ADt, amount_is: metered}
      broke: {amount: 0.05 t, dryness: 95 %, amount_is: metered}
      steam: {amount: 5.0 GJ, amount_is: metered}
      grid: {amount: 900 kWh, amount_is: metered}
    takes_in: {river: {amount: 8.80 m3, amount_is: metered}}
    gives_back: {river: {amount: 7.58 m3, amount_is: metered}}
    leaves: {vapour: 1.262 m3, solids: 10 kg dry}
  converting:
    stage: converting
    makes: {tissue: {amount: 0.95 t, dryness: 95 %, composition: sheet, amount_is: metered}}
    returns: {broke: 0.05 t}
    uses:
      sheet: 1 t
      grid: {amount: 120 kWh, amount_is: metered}
)";

const std::string products_yaml = R"(products:
  bath:
    title: Bathroom tissue, 2 plies
    from: tissue
    plies: 2
    grammage: 16 g/m2
    sheet: {length: 125 mm, width: 98 mm}
    roll: {diameter: 110 mm, count: 200}
    packed:
      pack: {rolls: 8, uses: {film: 14 g}}
)";

const std::string study_yaml = R"(study: small_study
title: A small study
period: 2025-01-01 .. 2025-12-31
characterization: ar6_100
electricity: location
grids: {grid: {location: grid, residual: residual_mix}}
factors: [climate.yaml, factors.yaml]
mills: [mill.yaml]
products: products.yaml
output: {bath: 1e6 roll}
)";

/// A folder that is removed at the end.
struct Folder {
    fs::path path;
    Folder() {
        static int number = 0;
        path = fs::temp_directory_path() /
               ("deckle_check_" + std::to_string(::getpid()) + "_" + std::to_string(++number));
        fs::create_directories(path);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    ~Folder() {
        std::error_code ignored;
        fs::remove_all(path, ignored);
    }
};

void load_at(const std::string& path, deckle::Study& study) {
    try {
        deckle::load_study(path, study);
    } catch (const deckle::InputError& error) {
        FAIL(deckle::problems_text(error.problems, study.files));
    }
}

deckle::CheckReport check_at(const std::string& path) {
    deckle::Study study;
    load_at(path, study);
    return deckle::check_study(study, deckle::evaluate(study.graph));
}

}  // namespace

StudyFiles::StudyFiles()
    : files_{{"climate.yaml", climate_yaml},
             {"factors.yaml", factors_yaml},
             {"mill.yaml", mill_yaml},
             {"products.yaml", products_yaml},
             {"study.yaml", study_yaml}} {}

StudyFiles& StudyFiles::change(const std::string& file, const std::string& from,
                               const std::string& to) {
    std::string& text = files_.at(file);
    const std::size_t at = text.find(from);
    INFO(file << " holds once: " << from);
    REQUIRE(at != std::string::npos);
    REQUIRE(text.find(from, at + 1) == std::string::npos);
    text.replace(at, from.size(), to);
    return *this;
}

StudyFiles& StudyFiles::after(const std::string& file, const std::string& line,
                              const std::string& text) {
    return change(file, line + "\n", line + "\n" + text + "\n");
}

StudyFiles& StudyFiles::file(const std::string& name, const std::string& text) {
    files_[name] = text;
    return *this;
}

deckle::CheckReport StudyFiles::check() const {
    const Folder folder;
    write(folder.path);
    return check_at(folder.path.string());
}

std::vector<deckle::Problem> StudyFiles::refused_limits() const {
    const Folder folder;
    write(folder.path);
    deckle::Study study;
    load_at(folder.path.string(), study);
    try {
        deckle::require_limits(study);
    } catch (const deckle::InputError& error) {
        return error.problems;
    }
    return {};
}

void StudyFiles::write(const std::filesystem::path& folder) const {
    for (const auto& [name, text] : files_) std::ofstream(folder / name) << text;
}

std::vector<deckle::Finding> StudyFiles::findings(const std::string& code) const {
    std::vector<deckle::Finding> found;
    for (const deckle::Finding& one : check().findings) {
        if (one.code == code) found.push_back(one);
    }
    return found;
}

deckle::Finding StudyFiles::only(const std::string& code) const {
    const auto found = findings(code);
    INFO(code);
    REQUIRE(found.size() == 1);
    CHECK(found[0].where.known());
    CHECK_FALSE(found[0].message.empty());
    CHECK_FALSE(found[0].hint.empty());
    return found[0];
}

deckle::CheckReport check_shipped(const std::string& name) {
    return check_at(std::string(DECKLE_SOURCE_DIR) + "/inventories/" + name);
}

const deckle::Balance& balance(const deckle::CheckReport& report, const std::string& of,
                               const std::string& kind, const std::string& per) {
    for (const deckle::Balance& one : report.balances) {
        if (one.of == of && one.kind == kind && one.per == per) return one;
    }
    FAIL("no balance of " << kind << " of " << of << ", " << per);
    throw std::logic_error("unreachable");
}

bool has(const std::string& text, const std::string& part) {
    return text.find(part) != std::string::npos;
}

}  // namespace deckle_test

#include "reports/command/verbs.h"

#include <algorithm>
#include <array>

namespace deckle::command {
namespace {

using Words = std::string_view;

constexpr std::array<Words, 7> breakouts{"stage",  "process", "user", "use",
                                         "factor", "gas",     "scope"};
constexpr std::array<Words, 2> views{"market", "location"};
constexpr std::array<Words, 3> all_formats{"text", "json", "csv"};
constexpr std::array<Words, 2> trace_formats{"text", "json"};

constexpr OptionRow study_place{.name = "STUDY",
                                .kind = ValueKind::study,
                                .group = "Input",
                                .help = "a study.yaml, or the folder that holds one"};
constexpr OptionRow output_option{
    .name = "--output",
    .letter = "-o",
    .argument = "FILE",
    .kind = ValueKind::file,
    .group = "Output",
    .help = "write to FILE, whole or not at all; - is standard output",
    .standard = "-"};

constexpr OptionRow format_option(std::span<const Words> choices) {
    return {.name = "--format",
            .argument = "FORM",
            .kind = ValueKind::choice,
            .group = "Output",
            .help = "form of the report",
            .standard = "text",
            .choices = choices};
}

constexpr std::array footprint_options{
    study_place,
    OptionRow{.name = "--product",
              .argument = "ID",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "only this product, of a mill or for consumers, with all its indicators",
              .standard = "all products, main indicators",
              .repeatable = true},
    OptionRow{.name = "--per",
              .argument = "UNIT",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "only per this unit: t, GJ, kWh, roll, sheet, pack, case, m2, period, ...",
              .standard = "of all products t, roll, bundle and period; of a product named every "
                          "unit it has; with "
                          "--by its first",
              .repeatable = true},
    OptionRow{.name = "--indicator",
              .argument = "ID",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "only this indicator: climate [kg CO2e], water_consumed [m3], ...",
              .standard = "the main ones; with --by climate and water_consumed",
              .repeatable = true},
    OptionRow{.name = "--by",
              .argument = "WHAT",
              .kind = ValueKind::choice,
              .group = "Calculation",
              .help = "break each figure out: where it arises (stage, process, use, factor, gas, "
                      "scope) or what is bought (user)",
              .choices = breakouts,
              .repeatable = true},
    OptionRow{.name = "--process",
              .argument = "ADDRESS",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "with --by user: what this process buys, per unit of what it makes",
              .standard = "the one that makes the product"},
    OptionRow{.name = "--electricity",
              .argument = "VIEW",
              .kind = ValueKind::choice,
              .group = "Calculation",
              .help = "figures of this view of electricity alone",
              .standard = "both, the study's headline first",
              .choices = views},
    format_option(all_formats),
    output_option};

constexpr std::array trace_options{
    study_place,
    OptionRow{.name = "ADDRESS",
              .kind = ValueKind::address,
              .group = "Input",
              .help = "a result such as results.bath_3ply.roll.climate, or an input such as "
                      "products.bath_3ply.grammage"},
    OptionRow{.name = "--depth",
              .argument = "N",
              .kind = ValueKind::whole_number,
              .group = "Calculation",
              .help = "steps below the figure",
              .standard = "down to what was typed"},
    OptionRow{.name = "--largest",
              .argument = "N",
              .kind = ValueKind::whole_number,
              .group = "Calculation",
              .help = "of every sum only its N largest terms; the rest is added up in one line",
              .standard = "all terms"},
    format_option(trace_formats),
    output_option};

constexpr std::array check_options{study_place, format_option(all_formats), output_option};

constexpr std::array common{
    OptionRow{.name = "--verbose",
              .group = "Other",
              .help = "say on standard error what is read and how long it takes"},
    OptionRow{.name = "--help", .letter = "-h", .group = "Other", .help = "this text"}};

constexpr std::array<int, 4> usual_exits{0, 2, 3, 70};
constexpr std::array<int, 5> check_exits{0, 1, 2, 3, 70};
constexpr std::array<int, 3> plain_exits{0, 2, 70};

constexpr std::array<VerbRow, 4> all_verbs{
    VerbRow{.name = "footprint",
            .purpose = "the footprints of a study's products, per every unit",
            .more = "Figures have three significant digits in text; JSON and CSV hold them "
                    "unrounded. Market-based and location-based totals stand beside each other, "
                    "the study's headline is marked, and what is not covered is listed.",
            .options = footprint_options,
            .example = {"deckle footprint \"$(deckle demonstration)\" --by stage",
                        "shows at which stage each product's footprint arises"},
            .exits = usual_exits},
    VerbRow{
        .name = "trace",
        .purpose = "how a number came about, down to the line it was typed on",
        .more = "Every line is a number with its unit, unrounded, and what it was made of; "
                "inputs end with file:line:column and their cited source. From an input, the "
                "results that rest on it are listed too.",
        .options = trace_options,
        .example =
            {"deckle trace \"$(deckle demonstration)\" results.bath_2ply.roll.climate --largest 3",
             "shows the three largest terms of every sum below a figure"},
        .exits = usual_exits},
    VerbRow{.name = "check",
            .purpose = "what a careful reader would question in a study",
            .more = "All problems of the files at once; then the balances of water, energy, dry "
                    "solids and biogenic carbon, and findings with stable codes. A finding never "
                    "changes a figure.",
            .options = check_options,
            .example = {"deckle check \"$(deckle demonstration)\"",
                        "shows the balances and findings of the shipped study"},
            .exits = check_exits},
    VerbRow{.name = "demonstration",
            .purpose = "where the shipped demonstration study lies",
            .more = "Prints the folder of a study of invented mills, to read, to run and to copy.",
            .options = {},
            .example = {"cp -r \"$(deckle demonstration)\"/../../{factors,inventories} .",
                        "starts a study of your own from the demonstration and its factor tables"},
            .exits = plain_exits}};

constexpr std::array<TaskRow, 3> officer_tasks{
    TaskRow{"footprint STUDY", "every product per tonne, roll, pack and year"},
    TaskRow{"footprint STUDY --product ID --format json", "one product, for a customer's system"},
    TaskRow{"check STUDY", "what cannot be defended yet"}};
constexpr std::array<TaskRow, 2> manager_tasks{
    TaskRow{"footprint STUDY --by user --process ID",
            "what each user of steam, gas and power causes"},
    TaskRow{"check STUDY", "whether water, energy and fibre balance"}};
constexpr std::array<TaskRow, 3> auditor_tasks{
    TaskRow{"trace STUDY ADDRESS", "a figure down to file, line and cited source"},
    TaskRow{"footprint STUDY --by factor", "which factors a figure rests on"},
    TaskRow{"check STUDY", "unsourced, outdated and doubtful factors"}};
constexpr std::array<TaskRow, 2> engineer_tasks{
    TaskRow{"footprint STUDY --per t --per sheet", "designs beside each other at equal function"},
    TaskRow{"footprint STUDY --by stage", "at which stage they differ"}};

constexpr std::array<PersonRow, 4> all_persons{
    PersonRow{"sustainability officer", "files footprints with customers", officer_tasks},
    PersonRow{"mill energy manager", "looks for savings", manager_tasks},
    PersonRow{"auditor", "traces each figure to its source", auditor_tasks},
    PersonRow{"application engineer", "compares technologies and designs", engineer_tasks}};

constexpr std::array<ExitRow, 5> all_exits{
    ExitRow{0, "done"}, ExitRow{1, "a check found something above its limit"},
    ExitRow{2, "the files or the command line are wrong, or the output cannot be written"},
    ExitRow{3, "the input is valid but has no answer"}, ExitRow{70, "a defect in deckle itself"}};

}  // namespace

std::span<const VerbRow> verbs() noexcept { return all_verbs; }

std::span<const PersonRow> persons() noexcept { return all_persons; }

std::span<const ExitRow> exits() noexcept { return all_exits; }

std::span<const OptionRow> common_options() noexcept { return common; }

const VerbRow* find_verb(std::string_view name) noexcept {
    const auto found = std::ranges::find(all_verbs, name, &VerbRow::name);
    return found == all_verbs.end() ? nullptr : &*found;
}

std::string_view meaning_of_exit(int status) noexcept {
    const auto found = std::ranges::find(all_exits, status, &ExitRow::status);
    return found == all_exits.end() ? std::string_view() : found->meaning;
}

}  // namespace deckle::command

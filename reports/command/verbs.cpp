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

constexpr OptionRow scenario_option{
    .name = "--scenario",
    .argument = "ID",
    .kind = ValueKind::text,
    .group = "Calculation",
    .help = "of this scenario in place of today; today is the study as it stands",
    .standard = "today",
    .repeatable = true};

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
    scenario_option,
    OptionRow{.name = "--product",
              .argument = "ID",
              .kind = ValueKind::product,
              .group = "Calculation",
              .help = "only this product, of a mill or for consumers, with all its indicators",
              .standard = "all products, main indicators",
              .repeatable = true},
    OptionRow{.name = "--per",
              .argument = "UNIT",
              .kind = ValueKind::per,
              .group = "Calculation",
              .help = "only per this unit: t, GJ, kWh, roll, sheet, pack, case, m2, period, ...",
              .standard = "of all products t, roll, bundle and period; of a product named every "
                          "unit it has; with "
                          "--by its first",
              .repeatable = true},
    OptionRow{.name = "--indicator",
              .argument = "ID",
              .kind = ValueKind::indicator,
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

constexpr std::array<Words, 2> intervals{"symmetric", "shortest"};

constexpr std::array uncertainty_options{
    study_place,
    OptionRow{.name = "--product",
              .argument = "ID",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "only this product, of a mill or for consumers",
              .standard = "all for consumers, else all of the mills",
              .repeatable = true},
    OptionRow{.name = "--per",
              .argument = "UNIT",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "only per this unit; rolls and packs of the unrounded sheet count",
              .standard = "t, roll, bundle, else a product's first",
              .repeatable = true},
    OptionRow{.name = "--indicator",
              .argument = "ID",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "only this indicator: climate [kg CO2e], water_consumed [m3], ...",
              .standard = "climate and water_consumed",
              .repeatable = true},
    OptionRow{.name = "--scenario",
              .argument = "ID",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "figures of this scenario",
              .standard = "today; with --against SCENARIO all",
              .repeatable = true},
    OptionRow{.name = "--against",
              .argument = "OF",
              .kind = ValueKind::text,
              .group = "Comparison",
              .help = "compare with this product, or each product with itself in this scenario, "
                      "under the same draws"},
    OptionRow{.name = "--unpaired",
              .group = "Comparison",
              .help = "beside it the comparison in which the reference has draws of its own"},
    OptionRow{.name = "--draws",
              .argument = "N",
              .kind = ValueKind::text,
              .group = "Draws",
              .help = "how many, from 2 to 1000000000; adaptive: until --digits hold",
              .standard = "100000"},
    OptionRow{.name = "--digits",
              .argument = "N",
              .kind = ValueKind::whole_number,
              .group = "Draws",
              .help = "with --draws adaptive: digits of each standard uncertainty, 1 to 3",
              .standard = "2"},
    OptionRow{.name = "--seed",
              .argument = "N",
              .kind = ValueKind::text,
              .group = "Draws",
              .help = "another seed, other draws; the same seed, the same figures to the bit",
              .standard = "1"},
    OptionRow{.name = "--interval",
              .argument = "KIND",
              .kind = ValueKind::choice,
              .group = "Draws",
              .help = "the 95 % interval: as many draws below as above, or the shortest",
              .standard = "symmetric",
              .choices = intervals},
    OptionRow{.name = "--threads",
              .argument = "N",
              .kind = ValueKind::whole_number,
              .group = "Draws",
              .help = "how many processors to use; no figure depends on it",
              .standard = "all"},
    OptionRow{.name = "--shard",
              .argument = "I/N",
              .kind = ValueKind::text,
              .group = "Draws",
              .help = "only the I-th of N parts of the products, for deckle merge",
              .standard = "all products"},
    format_option(all_formats),
    output_option};

constexpr std::array merge_options{
    OptionRow{.name = "FILE",
              .kind = ValueKind::file,
              .group = "Input",
              .help = "the JSON report of a shard; every shard of the run once, in any order",
              .repeatable = true},
    format_option(all_formats), output_option};

constexpr std::array compare_options{
    study_place,
    OptionRow{.name = "--scenario",
              .argument = "ID",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "a row for this scenario; today is the study as it stands",
              .standard = "today",
              .repeatable = true},
    OptionRow{.name = "--product",
              .argument = "ID",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "a row for this product, of a mill or for consumers, or a production line",
              .standard = "of several scenarios the whole output of the study; else all consumer "
                          "products",
              .repeatable = true},
    OptionRow{.name = "--equal",
              .argument = "FUNCTION",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "what is equal: mass, area, roll_diameter, sheet_count, absorbed_water, a "
                      "function of the study, or a unit such as t, roll, pack, period, day",
              .standard = "mass; of the whole output the period"},
    OptionRow{.name = "--reference",
              .argument = "ROW",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "the row that counts 100: a product, @SCENARIO, or product@SCENARIO; of "
                      "several their mean",
              .standard = "the first row",
              .repeatable = true},
    OptionRow{.name = "--indicator",
              .argument = "ID",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "a column for this indicator",
              .standard = "climate, water consumed, non-renewable energy, cost",
              .repeatable = true},
    OptionRow{.name = "--electricity",
              .argument = "VIEW",
              .kind = ValueKind::choice,
              .group = "Calculation",
              .help = "figures of this view of electricity",
              .standard = "the study's headline",
              .choices = views},
    OptionRow{.name = "--other-rules",
              .group = "Calculation",
              .help = "set rows made under different rules side by side, without an index"},
    format_option(all_formats),
    output_option};

constexpr std::array check_options{study_place, format_option(all_formats), output_option};

constexpr std::array<Words, 3> ranks{"share", "elasticity", "swing"};

constexpr std::array sensitivity_options{
    study_place,
    OptionRow{.name = "RESULT",
              .kind = ValueKind::address,
              .group = "Input",
              .help = "address of a result, such as results.bath_3ply.t.climate; of a product "
                      "counted in whole pieces the unrounded count is taken"},
    OptionRow{.name = "--rank",
              .argument = "WHAT",
              .kind = ValueKind::choice,
              .group = "Calculation",
              .help = "order of the inputs: share of the first-order variance, elasticity, or how "
                      "far the result swings",
              .standard = "share",
              .choices = ranks},
    OptionRow{.name = "--step",
              .argument = "SHARE",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "how far an input without a spread is moved each way [%]",
              .standard = "10 %"},
    OptionRow{.name = "--sobol",
              .argument = "N",
              .kind = ValueKind::whole_number,
              .group = "Calculation",
              .help = "Sobol indices too, from N rows of draws (64 at least), which makes N times "
                      "(inputs + 2) runs",
              .standard = "none"},
    OptionRow{.name = "--seed",
              .argument = "N",
              .kind = ValueKind::whole_number,
              .group = "Calculation",
              .help = "with --sobol: which random numbers",
              .standard = "1"},
    OptionRow{.name = "--largest",
              .argument = "N",
              .kind = ValueKind::whole_number,
              .group = "Output",
              .help = "only the first N inputs",
              .standard = "20 in text, else all"},
    format_option(all_formats),
    output_option};

constexpr std::array breakeven_options{
    study_place,
    OptionRow{.name = "RESULT",
              .kind = ValueKind::address,
              .group = "Input",
              .help = "address of a result, such as results.bath_3ply.t.climate; of a product "
                      "counted in whole pieces the unrounded count is taken"},
    OptionRow{.name = "--input",
              .argument = "ADDRESS",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "the input whose value is looked for; typed twice, a line of equality: the "
                      "first for every step of the second",
              .repeatable = true},
    OptionRow{.name = "--equal-to",
              .argument = "WHAT",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "another result's address, or a value with its unit: '900 kg CO2e'"},
    OptionRow{.name = "--index",
              .argument = "NUMBER",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "in place of --equal-to: a claimed index, with --against at 100"},
    OptionRow{.name = "--against",
              .argument = "ADDRESS",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "the reference result of --index"},
    OptionRow{
        .name = "--from",
        .argument = "VALUE",
        .kind = ValueKind::text,
        .group = "Calculation",
        .help = "begin of the range, with its unit; of two inputs typed twice, in their order",
        .standard = "0, or the lower bound of the input",
        .repeatable = true},
    OptionRow{.name = "--to",
              .argument = "VALUE",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "end of the range, likewise",
              .standard = "five times its value, or the upper bound of the input",
              .repeatable = true},
    format_option(all_formats),
    output_option};

constexpr std::array page_options{
    study_place,
    OptionRow{.name = "--draws",
              .argument = "N",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help =
                  "how many draws the intervals and histograms rest on, from 2 to 1000000; none: "
                  "the page shows none",
              .standard = "10000"},
    OptionRow{.name = "--seed",
              .argument = "N",
              .kind = ValueKind::whole_number,
              .group = "Calculation",
              .help = "which draws",
              .standard = "1"},
    OptionRow{.name = "--output",
              .letter = "-o",
              .argument = "FILE",
              .kind = ValueKind::file,
              .group = "Output",
              .help = "write to FILE, whole or not at all; - is standard output",
              .standard = "-"}};

constexpr std::array common{
    OptionRow{.name = "--verbose",
              .group = "Other",
              .help = "say on standard error what is read and how long it takes"},
    OptionRow{.name = "--help", .letter = "-h", .group = "Other", .help = "this text"}};

constexpr std::array<int, 4> usual_exits{0, 2, 3, 70};
constexpr std::array<int, 5> check_exits{0, 1, 2, 3, 70};
constexpr std::array<int, 3> plain_exits{0, 2, 70};

constexpr std::array<VerbRow, 10> all_verbs{
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
    VerbRow{.name = "compare",
            .purpose = "scenarios or products side by side at equal function",
            .more = "Figures and an index against a reference that counts 100; climate by scope in "
                    "both views of electricity; what each measure costs per tonne of CO2e it "
                    "avoids, one after another; beside it what the laboratory reports. Rows made "
                    "under different rules are refused.",
            .options = compare_options,
            .example = {"deckle compare \"$(deckle demonstration)\" --scenario today --scenario "
                        "drier_sheet --scenario heat_recovery",
                        "shows what two measures one after another change in a year"},
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
    VerbRow{.name = "uncertainty",
            .purpose = "how sure each figure is, and which of two is lower",
            .more = "Draws every input that has a spread, many times, and tells mean, standard "
                    "uncertainty, median and 95 % interval of each figure, with the first-order "
                    "uncertainty beside it and the digits that so many draws settle. Figures are "
                    "compared under the same draws, so that what they share cancels. A draw "
                    "without an answer ends the run.",
            .options = uncertainty_options,
            .example = {"deckle uncertainty \"$(deckle demonstration)\" --product bath_3ply "
                        "--against bath_2ply --per t",
                        "asks which of two products is lower per tonne, and how surely"},
            .exits = usual_exits},
    VerbRow{.name = "merge",
            .purpose = "one report from the shards of an uncertainty run",
            .more =
                "Joins the shards that deckle uncertainty wrote, to the bit what one run gives. "
                "Shards of other files, options or versions are refused, and so are missing "
                "ones.",
            .options = merge_options,
            .example = {"deckle merge shard_*.json", "joins the shards in this folder"},
            .exits = plain_exits},
    VerbRow{.name = "sensitivity",
            .purpose = "what a result reacts to, input by input",
            .more =
                "Derivative, elasticity and share of the first-order variance of every input from "
                "one pass through the calculation, and beside them the result when this input "
                "alone goes to the ends of its 95 % interval. Where a whole number, a minimum or a "
                "maximum stands between, the input is marked as a step.",
            .options = sensitivity_options,
            .example = {"deckle sensitivity \"$(deckle demonstration)\" "
                        "results.bath_2ply.t.climate --largest 10",
                        "shows the ten inputs that make a figure uncertain most"},
            .exits = usual_exits},
    VerbRow{.name = "breakeven",
            .purpose = "the value of an input at which two results are equal",
            .more =
                "Or one result equals a value, or stands at a claimed index against a reference: "
                "what the claim needs. None, one or several values, each with its bracket; all by "
                "evaluating the study anew, nothing linearised. Where published ranges are left at "
                "that value, it says so. Without an answer in the range the status is 3.",
            .options = breakeven_options,
            .example = {"deckle breakeven \"$(deckle demonstration)\" results.bath_2ply.t.climate "
                        "--equal-to results.bath_textured_3ply.t.climate --input "
                        "invented_energy.northern_grid.climate.fossil",
                        "shows how clean the grid of one mill must be to reach the other"},
            .exits = usual_exits},
    VerbRow{.name = "page",
            .purpose = "the study as one page that recomputes itself",
            .more = "One file for the reader's browser, to be sent and opened without network. It "
                    "holds the calculation itself: figures follow when an input is moved, every "
                    "figure opens down to its source, and on loading all results are computed "
                    "anew and held against those of deckle, to the bit. It also holds every "
                    "input, place and source of the study: send it to those who may see them.",
            .options = page_options,
            .example = {"deckle page \"$(deckle demonstration)\" -o page.html",
                        "writes the page of the shipped study"},
            .exits = usual_exits},
    VerbRow{.name = "demonstration",
            .purpose = "where the shipped demonstration study lies",
            .more = "Prints the folder of a study of invented mills, to read, to run and to copy.",
            .options = {},
            .example = {"cp -r \"$(deckle demonstration)\"/../../{factors,inventories} .",
                        "starts a study of your own from the demonstration and its factor tables"},
            .exits = plain_exits}};

constexpr std::array<TaskRow, 4> officer_tasks{
    TaskRow{"footprint STUDY", "every product per tonne, roll, pack and year"},
    TaskRow{"footprint STUDY --product ID --format json", "one product, for a customer's system"},
    TaskRow{"page STUDY -o page.html", "a page that customers read, ask and recompute"},
    TaskRow{"check STUDY", "what cannot be defended yet"}};
constexpr std::array<TaskRow, 3> manager_tasks{
    TaskRow{"compare STUDY --scenario today --scenario ID",
            "what a fuel switch or measure changes"},
    TaskRow{"footprint STUDY --by user --process ID",
            "what each user of steam, gas and power causes"},
    TaskRow{"check STUDY", "whether water, energy and fibre balance"}};
constexpr std::array<TaskRow, 3> auditor_tasks{
    TaskRow{"trace STUDY ADDRESS", "a figure down to file, line and cited source"},
    TaskRow{"footprint STUDY --by factor", "which factors a figure rests on"},
    TaskRow{"check STUDY", "unsourced, outdated and doubtful factors"}};
constexpr std::array<TaskRow, 3> engineer_tasks{
    TaskRow{"compare STUDY --equal absorbed_water", "designs beside each other at equal function"},
    TaskRow{"footprint STUDY --by stage", "at which stage they differ"},
    TaskRow{"uncertainty STUDY --against ID", "which of them is lower, and how surely"}};

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

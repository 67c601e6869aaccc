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

constexpr std::array check_options{
    study_place,
    OptionRow{.name = "--found",
              .argument = "FILE",
              .kind = ValueKind::file,
              .group = "Calculation",
              .help =
                  "in place of findings: what the filled-in sample of a verifier comes to, with "
                  "and without sign",
              .standard = "findings"},
    OptionRow{.name = "--limit",
              .argument = "SHARE",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "with --found: from which share of a result on deviations are material [%]",
              .standard = "none"},
    format_option(all_formats), output_option};

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

constexpr std::array difference_options{
    OptionRow{.name = "OLD",
              .kind = ValueKind::study,
              .group = "Input",
              .help = "a study, its folder, or a seal of it"},
    OptionRow{.name = "NEW",
              .kind = ValueKind::study,
              .group = "Input",
              .help = "the same of what it is held against"},
    OptionRow{.name = "--result",
              .argument = "ADDRESS",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "why this result moved; of whole pieces the unrounded count is taken",
              .standard = "climate of the whole output, else of every product",
              .repeatable = true},
    OptionRow{.name = "--limit",
              .argument = "SHARE",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "from which share of the old figure on a change is material [%]",
              .standard = "none; a change of 10 % or more is a finding always"},
    format_option(all_formats),
    output_option};

constexpr std::array sample_options{
    study_place,
    OptionRow{.name = "RESULT",
              .kind = ValueKind::address,
              .group = "Input",
              .help = "address of a result, such as results.bath_3ply.t.climate; of a product "
                      "counted in whole pieces the unrounded count is taken"},
    OptionRow{.name = "--share",
              .argument = "SHARE",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "which share of the inputs', of the factors' and of the weights' pull the "
                      "largest make up [%]",
              .standard = "80 %"},
    OptionRow{.name = "--random",
              .argument = "N",
              .kind = ValueKind::whole_number,
              .group = "Calculation",
              .help = "how many more are drawn at random",
              .standard = "10"},
    OptionRow{.name = "--seed",
              .argument = "N",
              .kind = ValueKind::whole_number,
              .group = "Calculation",
              .help = "another seed, others drawn; the same seed, the same ones",
              .standard = "1"},
    format_option(all_formats),
    output_option};

constexpr std::array seal_options{
    study_place,
    OptionRow{.name = "--output",
              .letter = "-o",
              .argument = "FILE",
              .kind = ValueKind::file,
              .group = "Output",
              .help = "the seal to write, whole or not at all; a file that exists is never written "
                      "over",
              .standard = "the study's id with .seal, in this folder"},
    OptionRow{.name = "--key",
              .argument = "FILE",
              .kind = ValueKind::file,
              .group = "Output",
              .help = "sign with this secret key, made by deckle keys",
              .standard = "not signed"},
    OptionRow{.name = "--draws",
              .argument = "N",
              .kind = ValueKind::whole_number,
              .group = "Calculation",
              .help = "seal an uncertainty report of so many draws too, from 2 to 10000000",
              .standard = "none"}};

constexpr std::array verify_options{
    OptionRow{.name = "SEAL",
              .kind = ValueKind::file,
              .group = "Input",
              .help = "a file that deckle seal wrote"},
    OptionRow{.name = "--key",
              .argument = "FILE",
              .kind = ValueKind::file,
              .group = "Input",
              .help = "the public key that must have signed it",
              .standard = "a signature is held against the key it names"},
    OptionRow{.name = "--threads",
              .argument = "N",
              .kind = ValueKind::whole_number,
              .group = "Draws",
              .help = "how many processors to use; no figure depends on it",
              .standard = "all"},
    format_option(trace_formats), output_option};

constexpr std::array keys_options{
    OptionRow{.name = "NAME",
              .kind = ValueKind::file,
              .group = "Output",
              .help = "path of the two files without their ends .secret and .public"}};

constexpr std::array workbook_options{
    study_place,
    scenario_option,
    OptionRow{.name = "--product",
              .argument = "ID",
              .kind = ValueKind::product,
              .group = "Calculation",
              .help = "only this product, of a mill or for consumers",
              .standard = "all",
              .repeatable = true},
    OptionRow{.name = "--per",
              .argument = "UNIT",
              .kind = ValueKind::per,
              .group = "Calculation",
              .help = "only per this unit: t, GJ, kWh, roll, sheet, pack, case, m2, period, ...",
              .standard = "every unit; with a break-out a product's first",
              .repeatable = true},
    OptionRow{.name = "--indicator",
              .argument = "ID",
              .kind = ValueKind::indicator,
              .group = "Calculation",
              .help = "only this indicator: climate [kg CO2e], water_consumed [m3], ...",
              .standard = "all; with a break-out climate and water_consumed",
              .repeatable = true},
    OptionRow{.name = "--electricity",
              .argument = "VIEW",
              .kind = ValueKind::choice,
              .group = "Calculation",
              .help = "figures of this view of electricity in the column of values",
              .standard = "the study's headline; both stand beside it",
              .choices = views},
    OptionRow{.name = "--output",
              .letter = "-o",
              .argument = "FILE",
              .kind = ValueKind::file,
              .group = "Output",
              .help = "write the workbook to FILE, such as study.xlsx, whole or not at all; - is "
                      "standard output"}};

constexpr std::array<Words, 3> disclose_formats{"json", "html", "markdown"};

constexpr std::array disclose_options{
    OptionRow{.name = "STUDY",
              .kind = ValueKind::study,
              .group = "Input",
              .help = "a study.yaml, or the folder that holds one; with --check files of product "
                      "footprints",
              .repeatable = true},
    OptionRow{.name = "--product",
              .argument = "ID",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "only this product",
              .standard = "all that the study declares",
              .repeatable = true},
    OptionRow{.name = "--check",
              .group = "Calculation",
              .help = "check files of product footprints, of this program or another, in place of "
                      "writing one; several are held against each other too"},
    OptionRow{.name = "--format",
              .argument = "FORM",
              .kind = ValueKind::choice,
              .group = "Output",
              .help = "json for customers' systems (PACT 3.0.3), or a report to read",
              .standard = "json; with --check text",
              .choices = disclose_formats},
    output_option};

constexpr std::array common{
    OptionRow{.name = "--verbose",
              .group = "Other",
              .help = "say on standard error what is read and how long it takes"},
    OptionRow{.name = "--help", .letter = "-h", .group = "Other", .help = "this text"}};

constexpr std::array<int, 4> usual_exits{0, 2, 3, 70};
constexpr std::array<int, 5> check_exits{0, 1, 2, 3, 70};
constexpr std::array<int, 3> plain_exits{0, 2, 70};

constexpr std::array all_verbs{
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
    VerbRow{.name = "seal",
            .purpose = "a study with its results in one archive that an auditor can check",
            .more = "Inputs, factor tables, the calculation graph, every result of today and of "
                    "all scenarios, the program's version and the SHA-256 of each, as a plain tar "
                    "archive. The same study gives the same bytes, wherever it lies. Prints the "
                    "digest of the seal.",
            .options = seal_options,
            .example = {"deckle seal \"$(deckle demonstration)\" -o demonstration.seal",
                        "seals the demonstration"},
            .exits = usual_exits},
    VerbRow{.name = "verify",
            .purpose = "whether a seal is as it was sealed, every figure worked out anew",
            .more = "Compares every digest and the signature, works all results out again from "
                    "the sealed inputs and compares them bit for bit; what differs is named. "
                    "Nothing is unpacked and nothing but the seal is read.",
            .options = verify_options,
            .example = {"deckle verify demonstration.seal", "verifies what deckle seal wrote"},
            .exits = check_exits},
    VerbRow{.name = "keys",
            .purpose = "a pair of keys: one to sign seals with, one to give to auditors",
            .more = "Writes NAME.secret, which its owner alone can read, and NAME.public "
                    "(Ed25519). Files that exist are never written over.",
            .options = keys_options,
            .example = {"deckle keys mill_2025", "writes mill_2025.secret and mill_2025.public"},
            .exits = plain_exits},
    VerbRow{.name = "difference",
            .purpose = "why a figure moved between two studies or seals",
            .more =
                "Inputs changed, factors revised, what was added or dropped, and the method, "
                "each with its part of the change; the parts add up to it, by a rule that is "
                "printed. A change of 10 % or more, a figure more than three years old, and what "
                "is above --limit, is a finding.",
            .options = difference_options,
            .example =
                {"deckle difference demonstration.seal \"$(deckle demonstration)\" --limit '5 %'",
                 "holds a study against its seal of last year"},
            .exits = check_exits},
    VerbRow{.name = "sample",
            .purpose = "which inputs and factors a verifier looks at",
            .more = "The fewest inputs, lines of factors and weights that make up 80 % of a result "
                    "and some drawn at random, each with its document, its page, its unrounded "
                    "operands and an empty column found. deckle check sums what it comes to.",
            .options = sample_options,
            .example = {"deckle sample \"$(deckle demonstration)\" results.bath_2ply.t.climate "
                        "--format csv -o found.csv",
                        "writes the list that a verifier fills in"},
            .exits = usual_exits},
    VerbRow{.name = "workbook",
            .purpose = "a study as a spreadsheet of live formulas",
            .more =
                "An Office Open XML workbook (xlsx): every input with its unit, spread, line and "
                "source, every number as a formula over those cells, results beside the "
                "engine's own values, break-outs as live sums, charts, and a sheet that says how "
                "to read it. Any spreadsheet program recalculates it, and shows what a changed "
                "input does. Same study, same bytes.",
            .options = workbook_options,
            .example = {"deckle workbook \"$(deckle demonstration)\" --product bath_2ply -o "
                        "bath_2ply.xlsx",
                        "writes one product's workbook"},
            .exits = usual_exits},
    VerbRow{.name = "disclose",
            .purpose = "what a customer receives: a product's footprint as a file or a report",
            .more = "The file is in the model that customers' systems exchange (PACT 3.0.3), one "
                    "object for one product and a list for several; its id follows from its "
                    "content, so the same study gives the same file. Every file is checked before "
                    "it is written; findings go to standard error. Nothing is called verified or "
                    "conforming that the study does not call so.",
            .options = disclose_options,
            .example = {"deckle disclose \"$(deckle demonstration)\" --product bath_2ply -o "
                        "bath_2ply.json",
                        "writes the file of one product for a customer's system"},
            .exits = check_exits},
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
    TaskRow{"disclose STUDY --product ID", "one product, for a customer's system"},
    TaskRow{"page STUDY -o page.html", "a page that customers read, ask and recompute"},
    TaskRow{"check STUDY", "what cannot be defended yet"}};
constexpr std::array<TaskRow, 3> manager_tasks{
    TaskRow{"compare STUDY --scenario today --scenario ID",
            "what a fuel switch or measure changes"},
    TaskRow{"footprint STUDY --by user --process ID",
            "what each user of steam, gas and power causes"},
    TaskRow{"check STUDY", "whether water, energy and fibre balance"}};
constexpr std::array<TaskRow, 7> auditor_tasks{
    TaskRow{"trace STUDY ADDRESS", "a figure down to file, line and cited source"},
    TaskRow{"footprint STUDY --by factor", "which factors a figure rests on"},
    TaskRow{"workbook STUDY -o FILE", "every figure as a live formula, to recalculate at a desk"},
    TaskRow{"check STUDY", "unsourced, outdated and doubtful factors"},
    TaskRow{"sample STUDY RESULT", "what to look at, with its document and page"},
    TaskRow{"difference OLD NEW", "why a figure moved since last year"},
    TaskRow{"verify SEAL", "whether a sealed study is as it was, figures and all"}};
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
    ExitRow{0, "done"},
    ExitRow{1, "a check found something above its limit, or a seal does not hold"},
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

// The options of every verb, a table each. Only the table of verbs reads them.
#pragma once

#include <array>

#include "reports/command/verbs.h"

namespace deckle::command::options {

using Words = std::string_view;

inline constexpr std::array<Words, 7> breakouts{"stage",  "process", "user", "use",
                                                "factor", "gas",     "scope"};
inline constexpr std::array<Words, 2> views{"market", "location"};
inline constexpr std::array<Words, 3> all_formats{"text", "json", "csv"};
inline constexpr std::array<Words, 2> trace_formats{"text", "json"};

inline constexpr OptionRow study_place{.name = "STUDY",
                                       .kind = ValueKind::study,
                                       .group = "Input",
                                       .help = "a study.yaml, or the folder that holds one"};
inline constexpr OptionRow result_place{
    .name = "RESULT",
    .kind = ValueKind::address,
    .group = "Input",
    .help =
        "address of a result, such as results.bath_3ply.t.climate; "
        "of a product counted in whole pieces the unrounded count "
        "is taken"};

constexpr OptionRow file_option(Words help, Words standard) {
    return {.name = "--output",
            .letter = "-o",
            .argument = "FILE",
            .kind = ValueKind::file,
            .group = "Output",
            .help = help,
            .standard = standard};
}
inline constexpr OptionRow output_option = file_option(
    "write to FILE, whole or not at all; a file that exists is replaced; - is standard "
    "output",
    "-");

constexpr OptionRow format_option(std::span<const Words> choices) {
    return {.name = "--format",
            .argument = "FORM",
            .kind = ValueKind::choice,
            .group = "Output",
            .help = "form of the report",
            .standard = "text",
            .choices = choices};
}

/// Options that narrow what is calculated, each of which can be typed more than once.
constexpr OptionRow narrowing(Words name, Words argument, ValueKind kind, Words help,
                              Words standard) {
    return {.name = name,
            .argument = argument,
            .kind = kind,
            .group = "Calculation",
            .help = help,
            .standard = standard,
            .repeatable = true};
}
constexpr OptionRow product_option(Words help, Words standard) {
    return narrowing("--product", "ID", ValueKind::product, help, standard);
}
constexpr OptionRow per_option(Words help, Words standard) {
    return narrowing("--per", "UNIT", ValueKind::per, help, standard);
}
constexpr OptionRow indicator_option(Words help, Words standard) {
    return narrowing("--indicator", "ID", ValueKind::indicator, help, standard);
}
constexpr OptionRow scenario_option(Words help, Words standard) {
    return narrowing("--scenario", "ID", ValueKind::text, help, standard);
}
inline constexpr OptionRow scenario_of_figures =
    scenario_option("of this scenario in place of today; today is the study as it stands", "today");

constexpr OptionRow electricity_option(Words help, Words standard) {
    return {.name = "--electricity",
            .argument = "VIEW",
            .kind = ValueKind::choice,
            .group = "Calculation",
            .help = help,
            .standard = standard,
            .choices = views};
}

inline constexpr OptionRow threads_option{
    .name = "--threads",
    .argument = "N",
    .kind = ValueKind::whole_number,
    .group = "Draws",
    .help = "how many processors to use; no figure depends on it",
    .standard = "all"};

inline constexpr std::array of_footprint{
    study_place,
    scenario_of_figures,
    product_option("only this product, of a mill or for consumers, with all its indicators",
                   "all products, main indicators"),
    per_option("only per this unit: t, GJ, kWh, roll, sheet, pack, case, m2, period, ...",
               "of all products t, roll, bundle and period; of a product named every "
               "unit it has; with "
               "--by its first"),
    indicator_option("only this indicator: climate [kg CO2e], water_consumed [m3], ...",
                     "the main ones; with --by climate and water_consumed"),
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
    electricity_option("figures of this view of electricity alone",
                       "both, the study's headline first"),
    format_option(all_formats),
    output_option};

inline constexpr std::array of_trace{
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
              .standard = "6 in text, and then the 4 largest terms; else all"},
    OptionRow{.name = "--largest",
              .argument = "N",
              .kind = ValueKind::whole_number,
              .group = "Calculation",
              .help = "of every sum only its N largest terms; the rest is added up in one line",
              .standard = "all terms"},
    format_option(trace_formats),
    output_option};

inline constexpr std::array<Words, 2> intervals{"symmetric", "shortest"};

inline constexpr std::array of_uncertainty{
    study_place,
    product_option("only this product, of a mill or for consumers",
                   "all for consumers, else all of the mills"),
    per_option("only per this unit; rolls and packs of the unrounded sheet count",
               "t, roll, bundle, else a product's first"),
    indicator_option("only this indicator: climate [kg CO2e], water_consumed [m3], ...",
                     "climate and water_consumed"),
    scenario_option("figures of this scenario", "today; with --against SCENARIO all"),
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
    OptionRow{
        .name = "--interval",
        .argument = "KIND",
        .kind = ValueKind::choice,
        .group = "Draws",
        .help =
            "the 95 % interval: as many draws below as above, or the shortest, whose ends are not "
            "judged",
        .standard = "symmetric",
        .choices = intervals},
    threads_option,
    OptionRow{.name = "--shard",
              .argument = "I/N",
              .kind = ValueKind::text,
              .group = "Draws",
              .help = "only the I-th of N parts of the products, for deckle merge",
              .standard = "all products"},
    format_option(all_formats),
    output_option};

inline constexpr std::array of_merge{
    OptionRow{.name = "FILE",
              .kind = ValueKind::file,
              .group = "Input",
              .help = "the JSON report of a shard; every shard of the run once, in any order",
              .repeatable = true},
    format_option(all_formats), output_option};

inline constexpr std::array of_compare{
    study_place,
    scenario_option("a row for this scenario; today is the study as it stands", "today"),
    product_option("a row for this product, of a mill or for consumers, or a production line",
                   "of several scenarios the whole output of the study; else all consumer "
                   "products"),
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
    indicator_option("a column for this indicator",
                     "climate, water consumed, non-renewable energy, cost"),
    electricity_option("figures of this view of electricity", "the study's headline"),
    OptionRow{.name = "--other-rules",
              .group = "Calculation",
              .help = "set rows made under different rules side by side, without an index"},
    format_option(all_formats),
    output_option};

inline constexpr std::array of_check{
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
              .standard = "5 %"},
    format_option(all_formats), output_option};

inline constexpr std::array of_factors{
    study_place,
    OptionRow{.name = "WORD",
              .kind = ValueKind::text,
              .group = "Input",
              .help = "what the id, title or kind of a factor has in it, such as pulp; of several "
                      "words each",
              .standard = "all factors",
              .repeatable = true,
              .may_be_missing = true},
    narrowing("--kind", "KIND", ValueKind::text,
              "only factors of this kind: fuel, electricity, fibre, chemical, freight, ...",
              "all kinds"),
    format_option(all_formats), output_option};

inline constexpr std::array<Words, 3> ranks{"share", "elasticity", "swing"};

inline constexpr std::array of_sensitivity{
    study_place,
    result_place,
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

inline constexpr std::array of_breakeven{
    study_place,
    result_place,
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
              .help = "the reference result of --index; of several their mean",
              .repeatable = true},
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

inline constexpr std::array of_page{
    OptionRow{.name = "STUDY",
              .kind = ValueKind::study,
              .group = "Input",
              .help = "a study.yaml, the folder that holds one, or a seal, whose digest the page "
                      "then shows"},
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
    output_option};

inline constexpr std::array of_difference{
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

inline constexpr std::array of_sample{
    study_place,
    result_place,
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

inline constexpr std::array of_seal{
    study_place,
    file_option("the seal to write, whole or not at all; a file that exists is never written "
                "over",
                "the study's id with .seal, in this folder"),
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

inline constexpr std::array of_verify{
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
    threads_option, format_option(trace_formats), output_option};

inline constexpr std::array of_keys{
    OptionRow{.name = "NAME",
              .kind = ValueKind::file,
              .group = "Output",
              .help = "path of the two files without their ends .secret and .public; a file that "
                      "exists is never written over"}};

inline constexpr std::array of_workbook{
    study_place,
    scenario_of_figures,
    product_option("only this product, of a mill or for consumers", "all"),
    per_option("only per this unit: t, GJ, kWh, roll, sheet, pack, case, m2, period, ...",
               "every unit; with a break-out a product's first"),
    indicator_option("only this indicator: climate [kg CO2e], water_consumed [m3], ...",
                     "all; with a break-out climate and water_consumed"),
    electricity_option("figures of this view of electricity in the column of values",
                       "the study's headline; both stand beside it"),
    file_option("write the workbook to FILE, such as study.xlsx, whole or not at all; a file that "
                "exists is replaced; - is standard output",
                {})};

inline constexpr std::array of_demonstration{
    OptionRow{.name = "--copy-to",
              .argument = "FOLDER",
              .kind = ValueKind::file,
              .group = "Output",
              .help = "copy it with all factor tables into this new folder, whole or not at all, "
                      "and print where the copy lies; what exists is never written over",
              .standard = "no copy"}};

inline constexpr std::array<Words, 3> disclose_formats{"json", "html", "markdown"};

inline constexpr std::array of_disclose{
    OptionRow{.name = "STUDY",
              .kind = ValueKind::study,
              .group = "Input",
              .help = "a study.yaml, or the folder that holds one; with --check files of product "
                      "footprints",
              .repeatable = true},
    product_option("only this product", "all that the study declares"),
    OptionRow{.name = "--scenario",
              .argument = "ID",
              .kind = ValueKind::text,
              .group = "Calculation",
              .help = "a report of the products as they would be in this scenario, html or "
                      "markdown; the file for customers' systems is of what was made",
              .standard = "today"},
    OptionRow{.name = "--check",
              .group = "Calculation",
              .help = "check files of product footprints, of this program or another, in place of "
                      "writing one: an object, or a list of them, alone or under data; several are "
                      "held against each other too, and those of edition 2 are converted first"},
    OptionRow{.name = "--format",
              .argument = "FORM",
              .kind = ValueKind::choice,
              .group = "Output",
              .help = "json for customers' systems (PACT 3.0.3), or a report to read",
              .standard = "json; with --check text",
              .choices = disclose_formats},
    OptionRow{.name = "--folder",
              .argument = "FOLDER",
              .kind = ValueKind::file,
              .group = "Output",
              .help = "one file a product in a new folder, all of them or none; a folder that "
                      "exists is never written into",
              .standard = "one output for all"},
    output_option};

inline constexpr std::array common{
    OptionRow{.name = "--verbose",
              .group = "Other",
              .help = "say on standard error what is read and how long it takes"},
    OptionRow{.name = "--help", .letter = "-h", .group = "Other", .help = "this text"}};

}  // namespace deckle::command::options

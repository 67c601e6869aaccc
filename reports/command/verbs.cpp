#include "reports/command/verbs.h"

#include <algorithm>
#include <array>

#include "reports/command/verb_options.h"

namespace deckle::command {
namespace {

constexpr std::array<int, 4> usual_exits{0, 2, 3, 70};
constexpr std::array<int, 5> check_exits{0, 1, 2, 3, 70};
constexpr std::array<int, 3> plain_exits{0, 2, 70};

constexpr std::array all_verbs{
    VerbRow{.name = "footprint",
            .purpose = "the footprints of a study's products, per every unit",
            .more = "Figures have three significant digits in text; JSON and CSV hold them "
                    "unrounded. Market-based and location-based totals stand beside each other, "
                    "the study's headline is marked, and what is not covered is listed.",
            .options = options::of_footprint,
            .example = {"deckle footprint \"$(deckle demonstration)\" --by stage",
                        "shows at which stage each product's footprint arises"},
            .exits = usual_exits},
    VerbRow{
        .name = "trace",
        .purpose = "how a number came about, down to the line it was typed on",
        .more = "Every line is a number with its unit, unrounded, and what it was made of; "
                "inputs end with file:line:column and their cited source. From an input, the "
                "results that rest on it are listed too.",
        .options = options::of_trace,
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
            .options = options::of_compare,
            .example = {"deckle compare \"$(deckle demonstration)\" --scenario today --scenario "
                        "drier_sheet --scenario heat_recovery",
                        "shows what two measures one after another change in a year"},
            .exits = usual_exits},
    VerbRow{.name = "check",
            .purpose = "what a careful reader would question in a study",
            .more = "All problems of the files at once; then the balances of water, energy, dry "
                    "solids and biogenic carbon, and findings with stable codes. A finding never "
                    "changes a figure.",
            .options = options::of_check,
            .example = {"deckle check \"$(deckle demonstration)\"",
                        "shows the balances and findings of the shipped study"},
            .exits = check_exits},
    VerbRow{.name = "factors",
            .purpose = "what a study can use: the factors of its tables",
            .more = "Id, kind, unit, climate line, region and source of each, as typed. It reads "
                    "the files and builds nothing, so it also answers while a mill still names a "
                    "factor that there is not.",
            .options = options::of_factors,
            .example = {"deckle factors \"$(deckle demonstration)\" gas --kind fuel",
                        "lists the fuels that have gas in their id or title"},
            .exits = plain_exits},
    VerbRow{.name = "uncertainty",
            .purpose = "how sure each figure is, and which of two is lower",
            .more = "Draws every input that has a spread, many times, and tells mean, standard "
                    "uncertainty, median and 95 % interval of each figure, with the first-order "
                    "uncertainty beside it and the digits that so many draws settle. Figures are "
                    "compared under the same draws, so that what they share cancels. A draw "
                    "without an answer ends the run.",
            .options = options::of_uncertainty,
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
            .options = options::of_merge,
            .example = {"deckle merge shard_*.json", "joins the shards in this folder"},
            .exits = plain_exits},
    VerbRow{.name = "sensitivity",
            .purpose = "what a result reacts to, input by input",
            .more =
                "Derivative, elasticity and share of the first-order variance of every input from "
                "one pass through the calculation, and beside them the result when this input "
                "alone goes to the ends of its 95 % interval. Where a whole number, a minimum or a "
                "maximum stands between, the input is marked as a step.",
            .options = options::of_sensitivity,
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
            .options = options::of_breakeven,
            .example = {"deckle breakeven \"$(deckle demonstration)\" results.bath_2ply.t.climate "
                        "--equal-to results.bath_textured_3ply.t.climate --input "
                        "invented_energy.northern_grid.climate.fossil",
                        "shows from which grid on the roll that is lower today is not any more"},
            .exits = usual_exits},
    VerbRow{.name = "seal",
            .purpose = "a study with its results in one archive that an auditor can check",
            .more = "Inputs, factor tables, the calculation graph, every result of today and of "
                    "all scenarios, the program's version and the SHA-256 of each, as a plain tar "
                    "archive. The same study gives the same bytes wherever it lies, if all its "
                    "files lie in its folder: of a table outside, its way from there is sealed "
                    "too. Prints the digest of the seal.",
            .options = options::of_seal,
            .example = {"deckle seal \"$(deckle demonstration)\" -o demonstration.seal",
                        "seals the demonstration"},
            .exits = usual_exits},
    VerbRow{.name = "verify",
            .purpose = "whether a seal is as it was sealed, every figure worked out anew",
            .more = "Compares every digest and the signature, works all results out again from "
                    "the sealed inputs and compares them bit for bit; what differs is named. "
                    "Nothing is unpacked and nothing but the seal is read.",
            .options = options::of_verify,
            .example = {"deckle verify demonstration.seal", "verifies what deckle seal wrote"},
            .exits = check_exits},
    VerbRow{.name = "keys",
            .purpose = "a pair of keys: one to sign seals with, one to give to auditors",
            .more = "Writes NAME.secret, which its owner alone can read, and NAME.public "
                    "(Ed25519). Files that exist are never written over.",
            .options = options::of_keys,
            .example = {"deckle keys mill_2025", "writes mill_2025.secret and mill_2025.public"},
            .exits = plain_exits},
    VerbRow{.name = "difference",
            .purpose = "why a figure moved between two studies or seals",
            .more =
                "Inputs changed, factors revised, what was added or dropped, and the method, "
                "each with its part of the change; the parts add up to it, by a rule that is "
                "printed. A change of 10 % or more, a figure more than three years old, and what "
                "is above --limit, is a finding.",
            .options = options::of_difference,
            .example =
                {"deckle difference demonstration.seal \"$(deckle demonstration)\" --limit '5 %'",
                 "holds a study against its seal of last year"},
            .exits = check_exits},
    VerbRow{.name = "sample",
            .purpose = "which inputs and factors a verifier looks at",
            .more = "The fewest inputs, lines of factors and weights that make up 80 % of a result "
                    "and some drawn at random, each with its document, its page, its unrounded "
                    "operands and an empty column found. deckle check sums what it comes to.",
            .options = options::of_sample,
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
            .options = options::of_workbook,
            .example = {"deckle workbook \"$(deckle demonstration)\" --product bath_2ply -o "
                        "bath_2ply.xlsx",
                        "writes one product's workbook"},
            .exits = usual_exits},
    VerbRow{.name = "disclose",
            .purpose = "what a customer receives: a product's footprint as a file or a report",
            .more =
                "The file is in the model that customers' systems exchange (PACT 3.0.3), one "
                "object for one product and {\"data\": [...]} for several; its id follows from its "
                "content, so the same study gives the same file. Every file is checked before "
                "it is written; findings go to standard error. Nothing is called verified or "
                "conforming that the study does not call so.",
            .options = options::of_disclose,
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
            .options = options::of_page,
            .example = {"deckle page \"$(deckle demonstration)\" -o page.html",
                        "writes the page of the shipped study"},
            .exits = usual_exits},
    VerbRow{.name = "demonstration",
            .purpose = "where the shipped demonstration study lies, and a copy of it",
            .more = "Prints the folder of a study of invented mills, to read and to run. A copy "
                    "is where a study of your own starts: the schema pages, the studies and the "
                    "factor tables in the folders inventories and factors.",
            .options = options::of_demonstration,
            .example = {"deckle demonstration --copy-to my_deckle",
                        "starts a study of your own in my_deckle/inventories/demonstration"},
            .exits = plain_exits}};

constexpr std::array<TaskRow, 5> officer_tasks{
    TaskRow{"factors STUDY pulp", "which factors there are, to find the id of one"},
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

std::span<const OptionRow> common_options() noexcept { return options::common; }

const VerbRow* find_verb(std::string_view name) noexcept {
    const auto found = std::ranges::find(all_verbs, name, &VerbRow::name);
    return found == all_verbs.end() ? nullptr : &*found;
}

std::string_view meaning_of_exit(int status) noexcept {
    const auto found = std::ranges::find(all_exits, status, &ExitRow::status);
    return found == all_exits.end() ? std::string_view() : found->meaning;
}

}  // namespace deckle::command

#include "engine/analysis/declared.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "engine/analysis/check_parts.h"
#include "engine/analysis/rests_on.h"
#include "engine/analysis/sensitivity.h"
#include "engine/declaration/places.h"
#include "engine/study/model.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

constexpr double kilograms_of_tonne = 1000.0;

/// "ar6_100" is of report AR6; "" for a set whose name says no report.
std::string report_of(std::string_view set) {
    std::size_t end = 2;
    while (end < set.size() && set[end] >= '0' && set[end] <= '9') ++end;
    if (!set.starts_with("ar") || end == 2 || (end < set.size() && set[end] != '_')) return {};
    return "AR" + std::string(set.substr(2, end - 2));
}

/// "PACT-3.0", and what comes after it.
bool is_third_edition(std::string_view standard) {
    constexpr std::string_view name = "PACT-";
    return standard.starts_with(name) && standard.size() > name.size() &&
           standard[name.size()] >= '3' && standard[name.size()] <= '9';
}

/// The figures of one product.
class Declaring {
public:
    Declaring(const Study& study, const Evaluation& at, const DeclaredProduct& product,
              std::string_view scenario, Problems& problems)
        : study_(study),
          at_(at),
          model_(*study.model),
          made_(assembly_of(study, scenario)),
          declared_(*study.model->disclosure),
          problems_(problems) {
        figures_.product = &product;
        figures_.scenario = scenario;
        if (scenario.empty() && declared_.verification)
            figures_.verification = &*declared_.verification;
    }

    std::optional<DeclaredFigures> run() {
        const std::size_t before = problems_.count();
        figures_.subject = study_.subject(figures_.product->of, figures_.scenario);
        if (!read_period() || !find_unit()) return std::nullopt;
        terms_ = terms_per(figures_.per);
        burdens_ = burdens(terms_);
        add_lines();
        add_total();
        add_parts();
        add_rows();
        add_stages();
        figures_.grids = grids_behind(study_, burdens(terms_, &Result::location));
        figures_.sheet = data_sheet(study_, at_, product().of, figures_.scenario, figures_.rows);
        figures_.fibres = fibre_parts(study_, at_, product().of, figures_.scenario);
        add_composition();
        add_processes();
        add_left_out();
        add_left_out_by_suppliers();
        add_earlier_editions();
        add_sources();
        add_potentials();
        add_sensitivity();
        if (problems_.count() != before) return std::nullopt;
        return std::move(figures_);
    }

private:
    const DeclaredProduct& product() const { return *figures_.product; }

    bool read_period() {
        const auto period = period_from(model_.period);
        if (period) figures_.period = *period;
        else
            problems_.add(model_.place, "bad-period",
                          fmt::format("the study's period is no two dates: {}", model_.period),
                          "period: 2025-01-01 .. 2025-12-31");
        return period.has_value();
    }

    const ConsumerNodes* consumer() const {
        for (const auto& nodes : made_.product_nodes) {
            if (nodes->product->id == product().of) return nodes.get();
        }
        return nullptr;
    }

    /// Kilogram for what is sold by mass, piece for rolls and bundles.
    bool find_unit() {
        const ConsumerNodes* roll = consumer();
        const bool by_piece =
            product().unit == "piece" || (product().unit.empty() && roll != nullptr);
        const auto& pers = figures_.subject->pers;
        figures_.per = roll == nullptr ? "t"
                       : by_piece      ? roll->piece_name
                                       : std::string(roll->product_tonne());
        figures_.scale = by_piece ? 1.0 : kilograms_of_tonne;
        if ((by_piece && roll == nullptr) || std::ranges::find(pers, figures_.per) == pers.end()) {
            problems_.add(
                product().place, "wrong-declared-unit",
                fmt::format("{} has no results per {}", product().of, by_piece ? "piece" : "tonne"),
                "unit: kilogram for what mills make in tonnes, piece for rolls and "
                "bundles");
            return false;
        }
        if (by_piece) figures_.mass = kilograms_of_tonne * at_.value[roll->product_mass.node];
        return true;
    }

    const Result* result_per(std::string_view per, std::string_view indicator) const {
        return study_.result(product().of, per, indicator, figures_.scenario);
    }

    double value_of(NodeId node) const { return at_.value[node] / figures_.scale; }

    /// What the declared footprint adds up: climate by the rules of the study, and what they keep
    /// out of it though the model counts it.
    std::vector<const Result*> terms_per(const std::string& per) const {
        const auto all = study_.indicators_of(figures_.scenario);
        const auto climate = std::ranges::find(all, "climate", &Indicator::id);
        std::vector<const Result*> terms;
        for (const std::string_view term : {"climate", "climate_removals"}) {
            const bool inside = std::ranges::any_of(
                climate->parts,
                [&](const Indicator::Part& part) { return all[part.of].id == term; });
            const Result* found = result_per(per, term);
            if (!inside && found != nullptr) terms.push_back(found);
        }
        return terms;
    }

    std::vector<Burden> burdens(const std::vector<const Result*>& terms,
                                NodeId Result::*view = &Result::node) const {
        std::vector<Burden> all;
        for (const Result* term : terms) {
            for (Burden& one : burdens_of(study_, at_, term->*view)) all.push_back(one);
        }
        return all;
    }

    double sum_of(const std::vector<const Result*>& terms) const {
        double sum = 0.0;
        for (const Result* term : terms) sum += at_.value[term->node];
        return sum;
    }

    void add_total() {
        figures_.total = sum_of(terms_) / figures_.scale;
        figures_.coverage = terms_.front()->coverage;
        double other = 0.0;
        for (const Result* term : terms_) {
            if (term->coverage == Coverage::at_least) figures_.coverage = Coverage::at_least;
            other += value_of(term->node == term->market ? term->location : term->market);
        }
        figures_.other_view = other;
    }

    void add_lines() {
        for (const Indicator& indicator : study_.indicators) {
            const Result* found = result_per(figures_.per, indicator.id);
            if (found == nullptr) continue;
            figures_.lines.push_back({indicator.id, indicator.unit, value_of(found->node),
                                      found->coverage, bound_of(study_, *found),
                                      found->one_number});
        }
        for (const auto& [mill, sheet] : made_of()) {
            if (std::ranges::find(study_.graph.not_covered(), sheet->carbon, &NotCovered::node) !=
                study_.graph.not_covered().end())
                problems_.add(sheet->made->place, "no-biogenic-carbon",
                              fmt::format("nothing says how much biogenic carbon {} holds, and the "
                                          "footprint of {} with uptake rests on it",
                                          sheet->id, product().of),
                              "carbon: {biogenic: 0.44 kg/kg of fibre}, or 0 where it holds none");
            if (sheet->fossil_carbon == no_node)
                problems_.add(
                    sheet->made->place, "no-fossil-carbon",
                    fmt::format("nothing says how much fossil carbon {} holds", sheet->id),
                    "carbon: {biogenic: ..., fossil: 0 kg/kg}");
        }
    }

    /// What mills make of it: the sheets of its plies, or itself.
    std::vector<std::pair<const MillNodes*, const ProductNodes*>> made_of() const {
        std::vector<std::pair<const MillNodes*, const ProductNodes*>> found;
        if (const ConsumerNodes* roll = consumer()) {
            for (const SheetTaken& one : roll->sheets) {
                const std::pair sheet{one.mill, &one.mill->products[one.product]};
                if (std::ranges::find(found, sheet) == found.end()) found.push_back(sheet);
            }
            return found;
        }
        for (const auto& mill : made_.mill_nodes) {
            for (const ProductNodes& made : mill->products) {
                if (made.id == product().of || mill->mill->id + "." + made.id == product().of)
                    found.emplace_back(mill.get(), &made);
            }
        }
        return found;
    }

    /// A core that counts as product, whose stage is that of all cores.
    bool is_product(const Tag& tag) const {
        const ConsumerNodes* rolled = consumer();
        return rolled != nullptr && rolled->product->core &&
               rolled->product->core->counts_as_product &&
               study_.graph.text_of(tag.use) == core_use;
    }

    /// Packaging, a part of the total, and freight to the customer, which is none.
    void add_parts() {
        double packaging = 0.0;
        bool packed = false;
        for (const Burden& burden : burdens_) {
            if (study_.graph.text_of(burden.tag.stage) != "packaging" || is_product(burden.tag))
                continue;
            packaging += burden.value / figures_.scale;
            packed = true;
        }
        if (packed) figures_.packaging = packaging;
        const auto freight = terms_per(figures_.per + "_outbound");
        if (!freight.empty()) figures_.outbound = sum_of(freight) / figures_.scale;
    }

    // --- data behind the figure
    // --------------------------------------------------------------------
    void add_rows() {
        figures_.rows = data_rows(study_, burdens_, figures_.scale, consumer(), figures_.period.end,
                                  planned_amounts());
        std::vector<double> weights, shares;
        std::array<std::vector<double>, rating_count> ratings;
        for (const DataRow& row : figures_.rows) {
            weights.push_back(row.value);
            shares.push_back(row.primary_share);
            for (std::size_t k = 0; k < rating_count; ++k) ratings[k].push_back(row.ratings[k]);
        }
        figures_.primary_share = weighted_mean(weights, shares);
        for (std::size_t k = 0; k < rating_count; ++k)
            figures_.ratings[k] = weighted_mean(weights, ratings[k]);
    }

    /// Of a scenario: amounts that it changes or adds. Nobody has metered them.
    std::set<NodeId> planned_amounts() const {
        std::set<NodeId> planned;
        if (figures_.scenario.empty()) return planned;
        for (const Burden& burden : burdens_) planned.insert(burden.amount);
        for (const Result* term : terms_) {
            const Result* today =
                study_.result(term->of, term->per, study_.indicators[term->indicator].id);
            if (today == nullptr) continue;
            for (const Burden& burden : burdens_of(study_, at_, today->node))
                planned.erase(burden.amount);
        }
        return planned;
    }

    // --- other cuts through the same burdens
    // --------------------------------------------------------------
    void add_stages() {
        figures_.stages = grouped(study_.graph, burdens_, BreakoutBy::stage);
        for (const Contribution& row : grouped(study_.graph, burdens_, BreakoutBy::gas).rows)
            figures_.gases.push_back(row.name);
        for (const DataRow& row : figures_.rows) {
            figures_.elements[static_cast<std::size_t>(row.element)] += row.value;
            if (row.scope == "1") figures_.own_processes += row.value;
        }
    }

    /// Of the sheet as typed, or of what it says it is made of the same as; of unlike plies none.
    void add_composition() {
        const auto sheets = made_of();
        if (sheets.size() != 1) return;
        const MillNodes& mill = *sheets.front().first;
        const Made* made = sheets.front().second->made;
        for (int steps = 0; steps < 32 && made->composition && !made->composition->like.empty();
             ++steps) {
            const ProductNodes* same = mill.product(made->composition->like);
            if (same == nullptr) return;
            made = same->made;
        }
        if (!made->composition) return;
        for (const Composition::Part& part : made->composition->parts)
            figures_.composition.push_back(part.name + " " + part.share.scalar.text);
    }

    // --- processes, what is left out, sources
    // ------------------------------------------------------
    /// The processes that the footprint rests on, by stage, and how those with several products
    /// share their burdens. A process may bring nothing itself and still be one of them.
    void add_processes() {
        const std::vector<std::string> behind = inputs_behind();
        std::map<std::string, std::vector<std::string>> by_stage;
        for (const auto& mill : made_.mill_nodes) {
            for (const ProcessNodes& nodes : mill->processes) {
                const Process& process = *nodes.process;
                const std::string own = process.address() + ".";
                const bool used = std::ranges::any_of(
                    behind, [&](const std::string& input) { return input.starts_with(own); });
                if (!used) continue;
                by_stage[process.stage.empty() ? "other" : process.stage].push_back(
                    process.title.empty() ? process.id : process.title);
                if (process.makes.size() > 1) add_allocation(nodes);
            }
        }
        for (const auto& [stage, names] : by_stage)
            figures_.processes.push_back(fmt::format("{}: {}", stage, fmt::join(names, "; ")));
    }

    /// Addresses of the inputs that any term of the footprint rests on.
    std::vector<std::string> inputs_behind() const {
        std::vector<std::string> behind;
        for (const Result* term : terms_) {
            const auto rests = what_it_rests_on(study_.graph, term->node);
            for (const Input& input : study_.graph.inputs()) {
                if (!rests[input.node].on) continue;
                for (const TextId address : input.addresses)
                    behind.push_back(study_.graph.text_of(address));
            }
        }
        return behind;
    }

    void add_allocation(const ProcessNodes& nodes) {
        const Process& process = *nodes.process;
        DeclaredAllocation one{process.address(),
                               process.title,
                               {},
                               process.reason,
                               nodes.allocation_path.path,
                               nodes.allocation_path.value_ratio};
        if (process.allocation) one.method = process.allocation->method;
        figures_.allocations.push_back(std::move(one));
    }

    void add_left_out() {
        if (!model_.says_what_is_exempted) return;
        double sum = 0.0;
        for (const Exemption& one : model_.exempted) {
            const auto share =
                one.highest_plausible ? share_of(*one.highest_plausible) : std::nullopt;
            if (!share) {
                problems_.add(one.place, "not-added-up",
                              fmt::format("what is left out cannot be added up: {}", one.what),
                              fmt::format("highest_plausible: 0.2 %, or CO2e per one of {}: "
                                          "2 kg CO2e/t",
                                          fmt::join(figures_.subject->pers, ", ")));
                return;
            }
            sum += *share;
        }
        figures_.left_out = sum;
    }

    /// Of the footprint [%].
    std::optional<double> share_of(const Stated& highest) const {
        return checking::share_left_out(
            highest, figures_.subject->pers,
            [&](const std::string& per) { return sum_of(terms_per(per)); });
    }

    /// By the part of each factor in the footprint, whatever its sign.
    void add_left_out_by_suppliers() {
        for (const DataRow& row : figures_.rows) {
            const Factor* factor = factor_at(study_, row.factor);
            if (factor == nullptr || !factor->supplier.exempted || figures_.total <= 0.0) continue;
            const double own = checking::typed_in(*factor->supplier.exempted, "%").value_or(0.0);
            if (own <= 0.0) continue;
            auto& all = figures_.left_out_by_suppliers;
            auto found = std::ranges::find(all, factor, &LeftOutBySupplier::factor);
            if (found == all.end()) found = all.insert(all.end(), {factor, own, 0.0});
            found->part += own * std::abs(row.value) / figures_.total;
        }
    }

    /// Refused where the study answers for the third edition: what the second says of a bio-based
    /// product may bear no claim of it.
    void add_earlier_editions() {
        const auto claims = std::ranges::find_if(declared_.standards, is_third_edition);
        for (const DataRow& row : figures_.rows) {
            const Factor* factor = factor_at(study_, row.factor);
            if (factor == nullptr) continue;
            const Edition says = deckle::edition_of(*factor);
            auto& all = figures_.earlier_editions;
            if (says == Edition::sound ||
                std::ranges::find(all, factor, &EarlierEdition::factor) != all.end())
                continue;
            all.push_back({factor, says});
            if (claims != declared_.standards.end() && says != Edition::bears &&
                figures_.is_bio_based())
                refuse_claim(*claims, *factor, says);
        }
    }

    void refuse_claim(const std::string& standard, const Factor& factor, Edition says) {
        problems_.add(
            factor.place, "second-edition",
            fmt::format("{} is declared by {}, and rests on {}, a footprint of edition {}, {}",
                        product().of, standard, factor.address(), factor.supplier.edition,
                        says == Edition::withdrawn
                            ? "withdrawn for what holds more than 5 % biogenic carbon"
                            : "which does not say how much biogenic carbon its product holds"),
            fmt::format("ask its supplier for one of the third edition; until then leave {} out of "
                        "the standards",
                        standard),
            {declared_.place});
    }

    /// Tables of the factors that are not all primary, by title and edition; a supplier's footprint
    /// by its own title, and its id for an edition.
    void add_sources() {
        const auto add = [&](const DeclaredSource& one) {
            auto& all = figures_.sources;
            if (std::ranges::find(all, one) == all.end()) all.push_back(one);
        };
        for (const FactorTable& table : model_.tables.factors) {
            for (const DataRow& row : figures_.rows) {
                const Factor* factor = factor_at(study_, row.factor);
                if (factor == nullptr || factor->table != table.id || all_primary(*factor))
                    continue;
                if (factor->supplier.id.empty())
                    add({table.title.empty() ? table.id : table.title, edition_of(table.source)});
                else
                    add({fmt::format("Product footprint of {}, {}", factor->title,
                                     factor->source.field("publisher")),
                         factor->supplier.id});
            }
        }
    }

    static std::string edition_of(const Citation& source) {
        for (const std::string_view field : {"edition", "year"}) {
            if (std::string text = source.field(field); !text.empty()) return text;
        }
        return "none";
    }

    static bool all_primary(const Factor& factor) {
        return factor.primary_share &&
               checking::typed_in(*factor.primary_share, "%").value_or(0.0) >= 100.0;
    }

    void add_potentials() {
        const std::string& own = study_.head_of(figures_.scenario).characterization;
        const auto add = [](std::vector<std::string>& all, const std::string& one) {
            if (std::ranges::find(all, one) == all.end()) all.push_back(one);
        };
        for (const DataRow& row : figures_.rows) {
            const Factor* factor = factor_at(study_, row.factor);
            if (factor == nullptr || factor->states("releases")) add(figures_.sets, own);
            if (factor == nullptr) continue;
            if (!factor->characterization.empty()) add(figures_.sets, factor->characterization);
            for (const std::string& one : factor->supplier.potentials)
                add(figures_.sets, place_id(one) + "_100");
        }
        if (figures_.sets.empty()) figures_.sets = {own};
        std::stable_partition(figures_.sets.begin(), figures_.sets.end(),
                              [&](const std::string& set) { return set == own; });
        for (const std::string& set : figures_.sets) {
            const std::string report = report_of(set);
            if (report.empty()) {
                problems_.add(declared_.place, "unknown-potentials",
                              fmt::format("{} does not name the IPCC report it is of", set),
                              "sets are named ar4_100, ar5_100, ar6_100");
                return;
            }
            add(figures_.reports, report);
        }
    }

    /// First order, over what is typed with a spread; the largest elasticities.
    void add_sensitivity() {
        std::vector<NodeId> nodes;
        for (const Result* term : terms_) nodes.push_back(term->node);
        VarianceBudget budget = variance_budget(study_.graph, at_, nodes);
        figures_.standard_uncertainty = budget.standard_uncertainty / figures_.scale;
        figures_.inputs = budget.inputs.size();
        figures_.with_spread = static_cast<std::size_t>(std::ranges::count_if(
            budget.inputs, [](const InputSensitivity& one) { return one.deviation > 0.0; }));
        std::ranges::stable_sort(budget.inputs, [](const auto& a, const auto& b) {
            return std::abs(a.elasticity.value_or(0.0)) > std::abs(b.elasticity.value_or(0.0));
        });
        for (const InputSensitivity& one : budget.inputs) {
            if (figures_.largest.size() == most_inputs) return;
            if (one.elasticity.value_or(0.0) == 0.0) return;
            figures_.largest.push_back(
                {one.address, title_of(study_, one.address), *one.elasticity, one.share});
        }
    }

    const Study& study_;
    const Evaluation& at_;
    const StudyModel& model_;
    const Assembly& made_;  ///< as it was, or as it would be in the scenario
    const Disclosure& declared_;
    Problems& problems_;
    DeclaredFigures figures_;
    std::vector<const Result*> terms_;  ///< of the footprint, per unit of `per`
    std::vector<Burden> burdens_;       ///< of all of them
};

/// The products wanted, as the study declares them; all of them when none is named.
std::vector<const DeclaredProduct*> wanted(const Study& study, const std::vector<std::string>& of,
                                           std::string_view scenario, Problems& problems) {
    const Disclosure& declared = *study.model->disclosure;
    std::vector<const DeclaredProduct*> found;
    for (const DeclaredProduct& one : declared.products) {
        const Subject* subject = study.subject(one.of, scenario);
        if (subject == nullptr || (subject->kind != Subject::Kind::mill_product &&
                                   subject->kind != Subject::Kind::consumer_product)) {
            std::vector<std::string> names;
            for (const Subject& known : study.subjects_of(scenario)) names.push_back(known.id);
            problems.add(one.place, "unknown-product",
                         fmt::format("no mill or product is called {}", one.of),
                         did_you_mean(one.of, names));
        } else if (of.empty() || std::ranges::find(of, one.of) != of.end()) {
            found.push_back(&one);
        }
    }
    for (const std::string& id : of) {
        if (declared.product(id) != nullptr) continue;
        std::vector<std::string> names;
        for (const DeclaredProduct& one : declared.products) names.push_back(one.of);
        problems.add(declared.place, "undeclared-product",
                     fmt::format("the study does not say how {} is declared", id),
                     fmt::format("declared are {}; others need their place under products",
                                 fmt::join(names, ", ")));
    }
    return found;
}

}  // namespace

const DeclaredLine* DeclaredFigures::line(std::string_view indicator) const {
    const auto found = std::ranges::find(lines, indicator, &DeclaredLine::indicator);
    return found == lines.end() ? nullptr : &*found;
}

double DeclaredFigures::value(std::string_view indicator) const {
    const DeclaredLine* found = line(indicator);
    return found == nullptr ? 0.0 : found->value;
}

double DeclaredFigures::left_out_before() const {
    double sum = 0.0;
    for (const LeftOutBySupplier& one : left_out_by_suppliers) sum += one.part;
    return sum;
}

double DeclaredFigures::left_out_in_all() const {
    return left_out.value_or(0.0) + left_out_before();
}

bool DeclaredFigures::is_bio_based() const {
    const DeclaredLine* held = line("biogenic_carbon");
    if (held == nullptr || held->coverage != Coverage::complete) return true;
    return 100.0 * held->value > most_biogenic * mass;
}

std::vector<DeclaredFigures> declared_figures(const Study& study, const Evaluation& at,
                                              const std::vector<std::string>& of,
                                              std::string_view scenario) {
    Problems problems;
    if (!study.model->disclosure) {
        problems.add(study.model->place, "no-disclosure",
                     "the study does not say how its products are declared",
                     "disclosure: {created: ..., company_ids: [...], standards: [...], products: "
                     "{...}}");
        problems.throw_if_any();
    }
    std::vector<DeclaredFigures> all;
    for (const DeclaredProduct* product : wanted(study, of, scenario, problems)) {
        if (auto figures = Declaring(study, at, *product, scenario, problems).run())
            all.push_back(std::move(*figures));
    }
    problems.throw_if_any();
    return all;
}

}  // namespace deckle

#include "tests/analysis/compare_study.h"

#include <catch2/catch.hpp>

namespace deckle::test {

std::string head(const std::string& more) {
    return "study: s\ntitle: S\ncharacterization: w\nprices: p\nfactors: [w.yaml, f.yaml, p.yaml]\n"
           "mills: [m.yaml]\n" +
           more;
}

ComparisonQuestion at_equal(std::string function, std::vector<std::string> products,
                            std::vector<std::string> indicators) {
    ComparisonQuestion question;
    question.equal = std::move(function);
    question.products = std::move(products);
    question.indicators = std::move(indicators);
    return question;
}

const ComparedFigure& figure(const Compared& all, std::size_t row, const std::string& id) {
    for (std::size_t i = 0; i < all.indicators.size(); ++i) {
        if (all.indicators[i]->id == id) return all.rows.at(row).figures.at(i);
    }
    FAIL("no column " << id);
    return all.rows[0].figures[0];
}

std::string code_of(const MemoryStudy& study, const ComparisonQuestion& question) {
    try {
        (void)compare(study.study, study.at, question);
    } catch (const InputError& error) {
        return error.problems.front().code;
    }
    return {};
}

std::string towel(const std::string& id, const std::string& absorbency, const std::string& method,
                  const std::string& dryness) {
    const std::string by = method.empty() ? "" : ", method: " + method;
    return "  " + id +
           ": {title: Towel, from: sheet, plies: 1, grammage: 40 g/m2, dryness: " + dryness +
           ", sheet: {length: 240 mm, width: 225 mm}, roll: {diameter: 120 mm, count: 60}, core: "
           "{outside: 40 mm}, properties: {absorbency: {value: " +
           absorbency + " g/g" + by + "}}}\n";
}

MemoryStudy of_mill(const std::string& more, const MemoryStudy::Texts& files) {
    MemoryStudy::Texts all{{"study.yaml", head(more)},
                           {"w.yaml", weights},
                           {"f.yaml", factors},
                           {"p.yaml", prices},
                           {"m.yaml", mill}};
    all.insert(all.end(), files.begin(), files.end());
    return MemoryStudy(all);
}

MemoryStudy mill_with_scenarios(const std::string& scenarios) {
    return of_mill("scenarios: [sc.yaml]\n", {{"sc.yaml", scenarios}});
}

MemoryStudy with_products(const std::string& products) {
    return of_mill("products: [products.yaml]\n", {{"products.yaml", "products:\n" + products}});
}

}  // namespace deckle::test

// Graphs of published uncertainty examples, for the tests and for the programs that print draws.
#pragma once

#include <cmath>
#include <stdexcept>

#include "engine/analysis/uncertainty.h"
#include "tests/graph/graph_maker.h"

namespace deckle::test {

inline constexpr double half_width_95 = 1.959963984540054;

/// Writes inputs by their standard deviation or geometric standard deviation.
class Model : public Maker {
public:
    NodeId normal(const std::string& address, double mean, double deviation) {
        return spread(address, mean, SpreadKind::normal, {deviation * half_width_95});
    }
    NodeId uniform(const std::string& address, double low, double high) {
        return spread(address, (low + high) / 2.0, SpreadKind::uniform, {low, high});
    }
    /// `gsd`: the geometric standard deviation.
    NodeId lognormal(const std::string& address, double median, double gsd) {
        return spread(address, median, SpreadKind::lognormal, {std::pow(gsd, half_width_95)});
    }
    /// Scaled and shifted Student t, as JCGM 101:2008, 6.4.9 writes t_nu(mean, scale^2).
    NodeId student(const std::string& address, double mean, double scale, double degrees) {
        return spread(address, mean, SpreadKind::student_t, {scale, degrees});
    }
    NodeId arcsine(const std::string& address, double low, double high) {
        return spread(address, (low + high) / 2.0, SpreadKind::arcsine, {low, high});
    }
    NodeId trapezoid(const std::string& address, double low, double high, double inexact_by) {
        return spread(address, (low + high) / 2.0, SpreadKind::curvilinear_trapezoid,
                      {low, high, inexact_by});
    }
    void correlate(const std::vector<std::string>& addresses, const std::vector<double>& matrix) {
        std::vector<TextId> texts;
        for (const std::string& address : addresses) texts.push_back(graph.text(address));
        if (!graph.correlate(texts, matrix)) throw std::logic_error("not positive definite");
    }
    NodeId sum(const std::vector<NodeId>& terms) { return make(Operation::sum, terms); }
    NodeId product(const std::vector<NodeId>& factors) { return make(Operation::product, factors); }
    NodeId quotient(NodeId a, NodeId b) { return make(Operation::quotient, {a, b}); }
    NodeId minus(NodeId a) { return make(Operation::negate, {a}); }
    NodeId power(NodeId base, int exponent) {
        return product(std::vector<NodeId>(static_cast<std::size_t>(exponent), base));
    }

    /// Each figure a group of its own.
    std::vector<FigureUncertainty> run(const std::vector<UncertainFigure>& figures,
                                       const UncertaintyQuestion& question) const {
        std::vector<UncertainGroup> groups;
        for (const UncertainFigure& figure : figures) groups.push_back({figure});
        std::vector<FigureUncertainty> all;
        for (auto& group : uncertainty(graph, evaluate(graph), groups, question))
            all.push_back(group.at(0));
        return all;
    }
    FigureUncertainty run(NodeId node, std::uint64_t draws = 1'000'000,
                          IntervalKind interval = IntervalKind::symmetric) const {
        UncertaintyQuestion question;
        question.draws = draws;
        question.interval = interval;
        question.threads = 2;
        return run({{node}}, question).at(0);
    }
};

}  // namespace deckle::test

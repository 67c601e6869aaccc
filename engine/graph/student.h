// Student's t distribution for any number of degrees of freedom above 2: its tail by the continued
// fraction of the incomplete beta function, the inverse of it by steps of third order. Made of
// + - * / sqrt and our own exp and log, so that a draw has the same bits everywhere. One draw takes
// some 0.4 microseconds, forty times a lognormal in lanes: it is for the few inputs that need it.
#pragma once

namespace deckle {

class Student {
public:
    explicit Student(double degrees_of_freedom);

    /// The t whose distribution is p at it, 0 < p < 1.
    [[nodiscard]] double quantile(double p) const;
    /// Probability of more than t, t >= 0.
    [[nodiscard]] double tail(double t) const;
    [[nodiscard]] double density(double t) const;
    [[nodiscard]] double degrees_of_freedom() const noexcept { return freedom_; }

private:
    struct Excess {
        double density, tail, over;  ///< over: tail less the wanted one
    };
    [[nodiscard]] Excess excess(double t, double wanted) const;
    [[nodiscard]] double near_normal(double z) const;

    double freedom_;
    double peak_;  ///< density at 0
};

}  // namespace deckle

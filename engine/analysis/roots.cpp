#include "engine/analysis/roots.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

namespace deckle {
namespace {

constexpr double nothing = 1e-13;    ///< of the scale: rounding of a difference
constexpr double jump = 1e-9;        ///< of the scale: more between neighbouring doubles is a step
constexpr double pole = 100.0;       ///< times what stands at the ends of the interval
constexpr int most_halvings = 1200;  ///< a root at zero needs as many as a double has powers
constexpr int most_searches = 80;
constexpr double golden = 0.6180339887498949;  ///< (sqrt 5 - 1) / 2

struct Point {
    double x;
    Reading y;

    [[nodiscard]] bool is_zero() const { return std::abs(y.value) <= nothing * y.scale; }
    [[nodiscard]] double distance() const { return std::abs(y.value); }
};

bool change_sign(const Point& a, const Point& b) { return (a.y.value < 0.0) != (b.y.value < 0.0); }

class Scan {
public:
    Scan(const std::function<Reading(double)>& function, Range range, std::size_t points)
        : function_(function) {
        const double width = range.to - range.from;
        for (std::size_t i = 0; i <= points; ++i) {
            const double share = static_cast<double>(i) / static_cast<double>(points);
            points_.push_back(at(i == points ? range.to : range.from + share * width));
        }
    }

    Roots run() {
        for (std::size_t i = 0; i < points_.size(); ++i) {
            look_at_point(i);
            if (i + 1 < points_.size()) look_between(points_[i], points_[i + 1]);
        }
        join_gaps();
        roots_.at_from = points_.front().y;
        roots_.at_to = points_.back().y;
        return std::move(roots_);
    }

private:
    [[nodiscard]] Point at(double x) const { return {x, function_(x)}; }

    /// A zero on a point of the scan, alone or one of a stretch; or a near miss around it.
    void look_at_point(std::size_t i) {
        const Point& here = points_[i];
        if (!here.y.known) return;
        if (here.is_zero()) return add_zero(i);
        const Point& before = points_[i == 0 ? i : i - 1];
        const Point& after = points_[std::min(i + 1, points_.size() - 1)];
        const bool all_known = before.y.known && after.y.known;
        if (!all_known || before.is_zero() || after.is_zero()) return;
        if (change_sign(before, here) || change_sign(here, after)) return;
        if (before.distance() < here.distance() || after.distance() < here.distance()) return;
        if (before.distance() == here.distance() && after.distance() == here.distance()) return;
        look_for_touch(before, here, after);
    }

    void add_zero(std::size_t i) {
        const Point& here = points_[i];
        const bool goes_on = i > 0 && points_[i - 1].y.known && points_[i - 1].is_zero();
        if (goes_on && !roots_.crossings.empty()) {
            Crossing& stretch = roots_.crossings.back();
            stretch.kind = CrossingKind::stretch;
            stretch.high = end_of_zero(here, i + 1);
            return;
        }
        const bool first_of_stretch =
            i + 1 < points_.size() && points_[i + 1].y.known && points_[i + 1].is_zero();
        Crossing zero{CrossingKind::smooth, here.x, here.x, here.x, 0.0, 0.0};
        if (first_of_stretch) {
            if (i > 0) zero.low = zero.at = end_of_zero(here, i - 1);
            roots_.crossings.push_back(zero);
            return;
        }
        add_lone_zero(zero, here, points_[i == 0 ? i : i - 1],
                      points_[std::min(i + 1, points_.size() - 1)]);
    }

    /// A zero between two neighbours that are none: whether it turns back there is read off right
    /// beside it, and where it does not agree with a neighbour there is another zero between.
    void add_lone_zero(Crossing zero, const Point& here, const Point& before, const Point& after) {
        const Point left = beside_zero(here, before), right = beside_zero(here, after);
        const bool both = is_side(left) && is_side(right);
        if (both && !change_sign(left, right)) zero.kind = CrossingKind::touch;
        if (is_side(left) && is_side(before) && change_sign(before, left)) halve(before, left);
        roots_.crossings.push_back(zero);
        if (is_side(right) && is_side(after) && change_sign(right, after)) halve(right, after);
    }

    [[nodiscard]] static bool is_side(const Point& one) { return one.y.known && !one.is_zero(); }

    /// Where zero ends between a point and its neighbour.
    [[nodiscard]] double end_of_zero(const Point& zero, std::size_t neighbour) const {
        if (neighbour >= points_.size()) return zero.x;
        const Point& other = points_[neighbour];
        if (other.y.known && other.is_zero()) return other.x;
        return ends_of_zero(zero, other).first;
    }

    [[nodiscard]] Point beside_zero(const Point& zero, const Point& neighbour) const {
        return at(ends_of_zero(zero, neighbour).second);
    }

    /// The last number where it is zero, and the first where it is not.
    [[nodiscard]] std::pair<double, double> ends_of_zero(const Point& zero,
                                                         const Point& neighbour) const {
        double inside = zero.x, outside = neighbour.x;
        for (int i = 0; i < most_halvings; ++i) {
            const double middle = inside + (outside - inside) / 2.0;
            if (middle == inside || middle == outside) break;
            const Point there = at(middle);
            (there.y.known && there.is_zero() ? inside : outside) = middle;
        }
        return {inside, outside};
    }

    void look_between(const Point& a, const Point& b) {
        if (a.y.known && b.y.known) {
            if (!a.is_zero() && !b.is_zero() && change_sign(a, b)) halve(a, b);
        } else if (a.y.known || b.y.known) {
            look_at_edge(a, b);
        } else {
            roots_.gaps.push_back({a.x, b.x});
        }
    }

    /// Between a place with a value and one without: the edge, and a change of sign before it.
    void look_at_edge(Point a, Point b) {
        const bool left = a.y.known;  // which of the two has a value
        const Point known = left ? a : b, unknown = left ? b : a;
        for (int i = 0; i < most_halvings; ++i) {
            const double middle = a.x + (b.x - a.x) / 2.0;
            if (middle == a.x || middle == b.x) break;
            const Point there = at(middle);
            (there.y.known == left ? a : b) = there;
        }
        const Point edge = left ? a : b;
        roots_.gaps.push_back(left ? Gap{edge.x, unknown.x} : Gap{unknown.x, edge.x});
        if (known.is_zero() || edge.is_zero() || !change_sign(known, edge)) return;
        if (left) halve(known, edge);
        else halve(edge, known);
    }

    void halve(Point a, Point b) {
        const double most = std::max(a.distance(), b.distance());
        for (int i = 0; i < most_halvings; ++i) {
            const double middle = a.x + (b.x - a.x) / 2.0;
            if (middle <= a.x || middle >= b.x) break;
            const Point there = at(middle);
            if (!there.y.known) {  // no value on the way: a pole, or a gap within one step
                roots_.gaps.push_back({a.x, b.x});
                return;
            }
            (change_sign(a, there) ? b : a) = there;
        }
        const double scale = std::max(a.y.scale, b.y.scale);
        const bool leaps = std::abs(b.y.value - a.y.value) > jump * scale;
        if (leaps && std::min(a.distance(), b.distance()) > pole * most) {
            roots_.gaps.push_back({a.x, b.x});
            return;
        }
        Crossing found{
            leaps ? CrossingKind::step : CrossingKind::smooth, a.x, a.x, b.x, a.y.value, b.y.value};
        if (b.distance() < a.distance()) found.at = b.x;
        roots_.crossings.push_back(found);
    }

    /// The place nearest to zero within three points, by golden sections; two roots where it
    /// changes sign on the way.
    void look_for_touch(const Point& before, const Point& here, const Point& after) {
        Point low = before, high = after, best = here;
        for (int i = 0; i < most_searches && high.x - low.x > 0.0; ++i) {
            const bool right = high.x - best.x > best.x - low.x;
            const double x = right ? best.x + (1.0 - golden) * (high.x - best.x)
                                   : best.x - (1.0 - golden) * (best.x - low.x);
            if (x <= low.x || x >= high.x || x == best.x) break;
            const Point there = at(x);
            if (!there.y.known) return;
            if (!there.is_zero() && change_sign(there, here)) {
                halve(before, there);
                halve(there, after);
                return;
            }
            if (there.distance() < best.distance()) {
                (right ? low : high) = best;
                best = there;
            } else {
                (right ? high : low) = there;
            }
        }
        if (!best.is_zero()) return;
        add_lone_zero({CrossingKind::smooth, best.x, low.x, high.x, 0.0, 0.0}, best, before, after);
    }

    void join_gaps() {
        std::vector<Gap> joined;
        std::ranges::sort(roots_.gaps, {}, &Gap::from);
        for (const Gap& gap : roots_.gaps) {
            if (!joined.empty() && gap.from <= joined.back().to)
                joined.back().to = std::max(joined.back().to, gap.to);
            else joined.push_back(gap);
        }
        roots_.gaps = std::move(joined);
    }

    const std::function<Reading(double)>& function_;
    std::vector<Point> points_;
    Roots roots_;
};

}  // namespace

Roots find_roots(const std::function<Reading(double)>& function, Range range, std::size_t points) {
    if (!(range.from < range.to) || points == 0)
        throw std::logic_error("roots are looked for in a range");
    Roots roots = Scan(function, range, points).run();
    std::ranges::stable_sort(roots.crossings, {}, &Crossing::at);
    return roots;
}

}  // namespace deckle

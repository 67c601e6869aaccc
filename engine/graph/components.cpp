#include "engine/graph/components.h"

#include <algorithm>

namespace deckle {
namespace {

constexpr std::uint32_t unseen = 0xFFFFFFFFU;

class Search {
public:
    explicit Search(const std::vector<std::vector<std::uint32_t>>& successors)
        : successors_(successors),
          number_(successors.size(), unseen),
          low_(successors.size()),
          on_stack_(successors.size(), false) {}

    std::vector<std::vector<std::uint32_t>> run() {
        for (std::uint32_t node = 0; node < successors_.size(); ++node) {
            if (number_[node] == unseen) visit_from(node);
        }
        return std::move(components_);
    }

private:
    struct Frame {
        std::uint32_t node;
        std::size_t next;
    };

    void enter(std::uint32_t node) {
        number_[node] = low_[node] = count_++;
        stack_.push_back(node);
        on_stack_[node] = true;
        frames_.push_back({node, 0});
    }

    void visit_from(std::uint32_t root) {
        enter(root);
        while (!frames_.empty()) {
            Frame& frame = frames_.back();
            const std::uint32_t node = frame.node;
            if (frame.next < successors_[node].size()) {
                const std::uint32_t other = successors_[node][frame.next++];
                if (number_[other] == unseen) enter(other);
                else if (on_stack_[other]) low_[node] = std::min(low_[node], number_[other]);
                continue;
            }
            frames_.pop_back();
            if (!frames_.empty())
                low_[frames_.back().node] = std::min(low_[frames_.back().node], low_[node]);
            if (low_[node] == number_[node]) close(node);
        }
    }

    void close(std::uint32_t root) {
        std::vector<std::uint32_t> members;
        std::uint32_t node = 0;
        do {
            node = stack_.back();
            stack_.pop_back();
            on_stack_[node] = false;
            members.push_back(node);
        } while (node != root);
        std::ranges::sort(members);
        components_.push_back(std::move(members));
    }

    const std::vector<std::vector<std::uint32_t>>& successors_;
    std::vector<std::uint32_t> number_, low_, stack_;
    std::vector<bool> on_stack_;
    std::vector<Frame> frames_;
    std::vector<std::vector<std::uint32_t>> components_;
    std::uint32_t count_ = 0;
};

}  // namespace

std::vector<std::vector<std::uint32_t>> strong_components(
    const std::vector<std::vector<std::uint32_t>>& successors) {
    return Search(successors).run();
}

}  // namespace deckle

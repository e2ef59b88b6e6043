#include "plan/search.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <optional>
#include <utility>

#include "plan/bound.h"
#include "plan/polish.h"

namespace mamelon::detail {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();
// No allowed plan beats the answer by more.
constexpr double promised_gap = 0.0098;
constexpr double least_gap = 0.0015;
// Stacks of one paste fewer that a search begins with.
constexpr std::size_t seeds = 12;
// A box that shrank below this share of itself is looked at again before it is split.
constexpr double worth_another_look = 0.4;
// Boxes up to this many grid steps wide that no bound excludes are closed by values.
constexpr int closing_width = 2;
// Share of a box's doubt that the quick mode believes in.
constexpr double quick_trust = 0.4;

struct Node {
  float bound = 0;
  float promise = 0;  // how near the target its colours come, as far as seen
  std::uint32_t sequence = 0;
  Box box;
  std::uint8_t axis = 0;
};
bool sooner(const Node& a, const Node& b) {
  return a.promise != b.promise ? a.promise < b.promise : a.sequence < b.sequence;
}

struct Find {
  double value = infinity;
  Steps steps{};
};

// One search, over sequences of a fixed number of layers.
class BranchAndBound {
 public:
  BranchAndBound(const Problem& problem, const Bounder& bounder, std::size_t layers,
                 std::size_t keep)
      : problem_(problem),
        bounder_(bounder),
        room_(bounder.workspace()),
        keep_(keep),
        gap_(std::max(least_gap, promised_gap - bounder.rounding())) {
    list_sequences({}, layers);
    found_.resize(sequences_.size());
  }

  // Good stacks to begin with: the best of one paste fewer with each other paste put in between, as
  // thin as may be.
  void seed(const BranchAndBound& fewer) {
    std::vector<std::pair<double, std::pair<std::uint32_t, Steps>>> starts;
    for (const std::uint32_t s : fewer.nearest(seeds)) {
      for (std::size_t place = 0; place <= fewer.sequences_[s].layers; ++place) {
        for (std::size_t paste = 0; paste < problem_.materials.size(); ++paste) {
          add_start(fewer.sequences_[s], fewer.found_[s].steps, place, paste, starts);
        }
      }
    }
    const std::size_t some = std::min(starts.size(), keep_ + seeds);
    std::partial_sort(starts.begin(), starts.begin() + static_cast<std::ptrdiff_t>(some),
                      starts.end());
    for (std::size_t i = 0; i < some; ++i) {
      descend(starts[i].second.first, starts[i].second.second);
    }
  }

  void run() {
    for (std::uint32_t s = 0; s < sequences_.size(); ++s) {
      Box box;
      if (bounder_.whole(sequences_[s], box)) {
        look_at({0, 0, s, box, 0});
      }
    }
    std::vector<Node> wholes;
    wholes.swap(open_);
    std::sort(wholes.begin(), wholes.end(), sooner);
    for (const Node& whole : wholes) {
      open_.push_back(whole);
      while (!open_.empty()) {
        const Node node = open_.back();
        open_.pop_back();
        if (static_cast<double>(node.bound) < threshold()) {
          split(node);
        } else {
          least_left_ = std::min(least_left_, threshold());
        }
      }
    }
  }

  // The best `keep` sequences, polished.
  [[nodiscard]] std::vector<Candidate> best() const {
    const std::vector<std::uint32_t> order = nearest(keep_ + 3);
    std::vector<Candidate> candidates;
    for (std::size_t i = 0; i < order.size(); ++i) {
      Candidate candidate = candidate_at(sequences_[order[i]], found_[order[i]].steps);
      polish(problem_, candidate, 2 * bounder_.step_mm());
      candidates.push_back(std::move(candidate));
    }
    std::stable_sort(
        candidates.begin(), candidates.end(),
        [](const Candidate& a, const Candidate& b) { return a.expected < b.expected; });
    candidates.resize(std::min(candidates.size(), keep_));
    return candidates;
  }

  [[nodiscard]] double least_left() const {
    return std::min(least_left_ - bounder_.rounding(), least_closed_);
  }

 private:
  // The sequences with the least values found, at most `count`.
  [[nodiscard]] std::vector<std::uint32_t> nearest(std::size_t count) const {
    std::vector<std::uint32_t> order;
    for (std::uint32_t s = 0; s < found_.size(); ++s) {
      if (std::isfinite(found_[s].value)) {
        order.push_back(s);
      }
    }
    const std::size_t some = std::min(order.size(), count);
    std::partial_sort(
        order.begin(), order.begin() + static_cast<std::ptrdiff_t>(some), order.end(),
        [&](std::uint32_t a, std::uint32_t b) {
          return found_[a].value != found_[b].value ? found_[a].value < found_[b].value : a < b;
        });
    order.resize(some);
    return order;
  }

  void add_start(const Sequence& fewer, const Steps& steps, std::size_t place, std::size_t paste,
                 std::vector<std::pair<double, std::pair<std::uint32_t, Steps>>>& starts) {
    Sequence more{fewer.layers + 1, {}};
    Steps at{};
    std::size_t thickest = 0;
    for (std::size_t j = 0; j < fewer.layers; ++j) {
      const std::size_t to = j < place ? j : j + 1;
      more.paste[to] = fewer.paste[j];
      at[to] = steps[j];
      thickest = at[to] > at[thickest] ? to : thickest;
    }
    more.paste[place] = paste;
    at[place] =
        static_cast<int>(std::ceil(problem_.materials[paste].minimum_mm / bounder_.step_mm()));
    at[thickest] -= at[place];
    const auto found =
        std::lower_bound(sequences_.begin(), sequences_.end(), more,
                         [](const Sequence& a, const Sequence& b) { return a.paste < b.paste; });
    if (found == sequences_.end() || found->paste != more.paste) {
      return;
    }
    const double value = bounder_.value(more, at, room_);
    if (std::isfinite(value)) {
      starts.push_back({value, {static_cast<std::uint32_t>(found - sequences_.begin()), at}});
    }
  }

  // In the order of their pastes.
  void list_sequences(Sequence below, std::size_t layers) {
    if (below.layers == layers) {
      sequences_.push_back(below);
      return;
    }
    for (std::size_t paste = 0; paste < problem_.materials.size(); ++paste) {
      if (below.layers > 0 && !may_follow(problem_, below.paste[below.layers - 1], paste)) {
        continue;
      }
      Sequence next = below;
      next.paste[next.layers++] = paste;
      list_sequences(next, layers);
    }
  }

  // Boxes above this are of no interest: the value of the last sequence to keep.
  [[nodiscard]] double threshold() const {
    return (top_.size() < keep_ ? infinity : top_.back().first) - gap_;
  }

  void look_at(Node node) {
    const Sequence& sequence = sequences_[node.sequence];
    BoxValue value;
    for (bool shrinking = true; shrinking;) {
      value = bounder_.bound(sequence, node.box, threshold(), room_);
      if (value.empty || value.bound >= threshold()) {
        least_left_ = std::min(least_left_, value.empty ? threshold() : value.bound);
        return;
      }
      if (value.at_point < threshold() + gap_ + 0.1 &&
          value.at_point < found_[node.sequence].value) {
        descend(node.sequence, value.point);
      }
      const double before = size_of(node.box, sequence.layers - 1);
      if (value.inner != node.box) {
        least_left_ = std::min(least_left_, threshold());
        node.box = value.inner;
        if (!bounder_.trim(sequence, node.box)) {
          return;
        }
      }
      shrinking = size_of(node.box, sequence.layers - 1) < worth_another_look * before;
    }
    if (widest(node.box, sequence.layers - 1) <= closing_width && close(node)) {
      return;
    }
    node.bound = static_cast<float>(value.bound);
    node.promise = static_cast<float>(value.promise);
    node.axis = static_cast<std::uint8_t>(value.axis);
    open_.push_back(node);
  }

  // Settles a box of up to `closing_width` steps by the objective at its ends and middles: between
  // them it is taken to lie no lower than the least of these values, less twice what a parabola
  // through them can fall; a fall that matters is looked at in halves, and one step as straight.
  bool close(const Node& node) {
    const Sequence& sequence = sequences_[node.sequence];
    const std::size_t axes = sequence.layers - 1;
    const std::array<std::size_t, 2> points{ends_and_middle(node.box, 0),
                                            axes == 2 ? ends_and_middle(node.box, 1) : 1};
    std::array<std::array<double, 3>, 3> value{};
    double least = infinity;
    Steps best{};
    for (std::size_t i = 0; i < points[0]; ++i) {
      for (std::size_t j = 0; j < points[1]; ++j) {
        const Steps steps = place(sequence, node.box, i, j);
        value[i][j] = allowed_value(sequence, steps);
        if (value[i][j] < least) {
          least = value[i][j];
          best = steps;
        }
      }
    }
    const double fall = 2 * fall_between(value, points);
    if (fall > gap_ / 4 && widest(node.box, axes) > 1) {
      return false;
    }
    least_closed_ = std::min(least_closed_, least - fall);
    if (least < threshold() + gap_ + 0.02 && least < found_[node.sequence].value) {
      descend(node.sequence, best);
    }
    return true;
  }

  static int widest(const Box& box, std::size_t axes) {
    int most = 0;
    for (std::size_t axis = 0; axis < axes; ++axis) {
      most = std::max(most, box.high[axis] - box.low[axis]);
    }
    return most;
  }

  // Two points for one grid step, where the objective is as good as straight; else three.
  static std::size_t ends_and_middle(const Box& box, std::size_t axis) {
    return box.high[axis] - box.low[axis] > 1 ? 3 : 2;
  }

  // Low end, middle or high end of the box along both free thicknesses.
  [[nodiscard]] Steps place(const Sequence& sequence, const Box& box, std::size_t i,
                            std::size_t j) const {
    const auto at = [&](std::size_t axis, std::size_t n) {
      const int low = box.low[axis];
      const int high = box.high[axis];
      return n == 0 ? low : (n == 1 && ends_and_middle(box, axis) == 3 ? (low + high) / 2 : high);
    };
    Steps steps{};
    steps[0] = at(0, i);
    int rest = static_cast<int>(bounder_.tables().steps) - steps[0];
    if (sequence.layers == 3) {
      steps[2] = at(1, j);
      rest -= steps[2];
    }
    steps[slack_layer(sequence.layers)] = rest;
    return steps;
  }

  // The objective, in double precision, at the nearest thicknesses that the pastes' limits allow: a
  // limit may lie between two grid points.
  [[nodiscard]] double allowed_value(const Sequence& sequence, const Steps& steps) const {
    Candidate candidate = candidate_at(sequence, steps);
    settle(problem_, candidate);
    return expected_of(problem_, candidate);
  }

  // What a parabola through three equidistant values can fall below the least of them: an eighth
  // of their second difference; in two directions the sum, and the twist.
  static double fall_between(const std::array<std::array<double, 3>, 3>& value,
                             const std::array<std::size_t, 2>& points) {
    double along[2] = {0, 0};
    for (std::size_t i = 0; i < 3; ++i) {
      if (points[0] == 3 && i < points[1]) {
        along[0] = std::max(along[0], std::abs(value[0][i] - 2 * value[1][i] + value[2][i]));
      }
      if (points[1] == 3 && i < points[0]) {
        along[1] = std::max(along[1], std::abs(value[i][0] - 2 * value[i][1] + value[i][2]));
      }
    }
    const double twist = points[0] == 3 && points[1] == 3
                             ? std::abs(value[0][0] - value[0][2] - value[2][0] + value[2][2])
                             : 0;
    return (along[0] + along[1] + twist / 2) / 8;
  }

  static double size_of(const Box& box, std::size_t axes) {
    double size = 1;
    for (std::size_t axis = 0; axis < axes; ++axis) {
      size *= 1 + box.high[axis] - box.low[axis];
    }
    return size;
  }

  [[nodiscard]] Candidate candidate_at(const Sequence& sequence, const Steps& steps) const {
    Candidate candidate;
    for (std::size_t j = 0; j < sequence.layers; ++j) {
      candidate.pastes.push_back(sequence.paste[j]);
      candidate.thickness_mm.push_back(steps[j] * bounder_.step_mm());
    }
    return candidate;
  }

  // Downhill on the grid by exchanges of halving size.
  void descend(std::uint32_t s, Steps at) {
    const Sequence& sequence = sequences_[s];
    double value = bounder_.value(sequence, at, room_);
    for (int step = 8; step > 0;) {
      Steps best = at;
      double least = value;
      for (std::size_t a = 0; a < sequence.layers; ++a) {
        for (std::size_t b = 0; b < sequence.layers; ++b) {
          Steps moved = at;
          moved[a] += step;
          moved[b] -= step;
          if (a == b || moved[a] > static_cast<int>(bounder_.tables().steps)) {
            continue;
          }
          const double there = bounder_.value(sequence, moved, room_);
          if (there < least) {
            least = there;
            best = moved;
          }
        }
      }
      if (least < value) {
        value = least;
        at = best;
      } else {
        step /= 2;
      }
    }
    if (value < found_[s].value) {
      found_[s] = {value, at};
      keep_among_top(value, s);
    }
  }

  void keep_among_top(double value, std::uint32_t s) {
    std::erase_if(top_, [&](const auto& entry) { return entry.second == s; });
    top_.insert(std::upper_bound(top_.begin(), top_.end(), std::pair{value, s}),
                std::pair{value, s});
    if (top_.size() > keep_) {
      top_.pop_back();
    }
  }

  void split(const Node& node) {
    const Sequence& sequence = sequences_[node.sequence];
    const std::size_t axes = sequence.layers - 1;
    std::size_t axis = node.axis;
    const auto width = [&](std::size_t a) { return node.box.high[a] - node.box.low[a]; };
    if (axes == 2 && width(axis) <= 1) {
      axis = 1 - axis;
    }
    const auto middle = static_cast<std::uint16_t>((node.box.low[axis] + node.box.high[axis]) / 2);
    Node lower = node;
    Node upper = node;
    lower.box.high[axis] = middle;
    upper.box.low[axis] = middle;
    const std::size_t others = open_.size();
    for (Node* half : {&lower, &upper}) {
      if (bounder_.trim(sequence, half->box)) {
        look_at(*half);
      }
    }
    // The more promising half is split first.
    if (open_.size() == others + 2 && sooner(open_[others], open_[others + 1])) {
      std::swap(open_[others], open_[others + 1]);
    }
  }

  const Problem& problem_;
  const Bounder& bounder_;
  Workspace room_;
  std::size_t keep_;
  double gap_;  // boxes whose bound lies within this of the answer need no further look
  std::vector<Sequence> sequences_;
  std::vector<Find> found_;
  std::vector<Node> open_;
  std::vector<std::pair<double, std::uint32_t>> top_;
  double least_left_ = infinity;    // of the boxes excluded, but for rounding
  double least_closed_ = infinity;  // of the boxes closed by values
};

// The stacks of one paste: nothing to search.
std::vector<Candidate> single_layers(const Problem& problem, std::size_t keep) {
  std::vector<Candidate> found;
  for (std::size_t paste = 0; paste < problem.materials.size(); ++paste) {
    const Material& m = problem.materials[paste];
    if (problem.depth_mm >= m.minimum_mm && problem.depth_mm <= m.maximum_mm) {
      Candidate candidate{{paste}, {problem.depth_mm}, 0};
      candidate.expected = expected_of(problem, candidate);
      found.push_back(std::move(candidate));
    }
  }
  std::stable_sort(found.begin(), found.end(),
                   [](const Candidate& a, const Candidate& b) { return a.expected < b.expected; });
  found.resize(std::min(found.size(), keep));
  return found;
}

}  // namespace

SearchResult search(const Problem& problem, std::size_t keep, bool certify) {
  SearchResult result;
  result.best.push_back(single_layers(problem, keep));
  double bound = infinity;
  if (!result.best[0].empty()) bound = result.best[0].front().expected;
  if (problem.max_layers > 1) {
    const Bounder bounder(problem, certify ? 1.0 : quick_trust);
    std::optional<BranchAndBound> fewer;
    for (int layers = 2; layers <= problem.max_layers; ++layers) {
      BranchAndBound branch(problem, bounder, static_cast<std::size_t>(layers), keep);
      if (fewer) {
        branch.seed(*fewer);
      }
      branch.run();
      result.best.push_back(branch.best());
      if (!result.best.back().empty()) {
        bound = std::min({bound, result.best.back().front().expected, branch.least_left()});
      }
      fewer.emplace(std::move(branch));
    }
  }
  result.bound = certify ? std::max(0.0, bound) : 0;
  return result;
}

}  // namespace mamelon::detail

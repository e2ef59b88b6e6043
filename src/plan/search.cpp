#include "plan/search.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>
#include <utility>

#include "base/find.h"
#include "plan/coarse.h"

namespace mamelon::detail {
namespace {

constexpr float nothing = 1e30F;
// Places that each sequence is followed downhill from: it may have a valley on either side.
constexpr std::size_t starts = 2;
// A guess of the coarse search may lie so far above what its sequence comes to: this, and a share.
constexpr double guess_margin = 0.3;
constexpr double guess_share = 0.25;
// Sequences that are settled at most.
constexpr std::size_t most_settled = 1500;
// How far the coarse search reaches from each of its splits.
constexpr double move_mm = 0.2;

// Thicknesses of a layer that the coarse search tries, in steps up to `most`: finer where thin.
std::vector<int> coarse_steps(const Problem& problem, int most) {
  const double step_mm = problem.request->step_mm;
  std::vector<int> nodes;
  int least = most;
  for (const Material& m : problem.materials) least = std::min(least, m.least_steps);
  double mm = least * step_mm;
  while (mm < (most + 0.5) * step_mm) {
    const int steps = static_cast<int>(std::lround(mm / step_mm));
    if (nodes.empty() || steps > nodes.back()) nodes.push_back(steps);
    mm += std::clamp(mm / 4, 0.2, 1.5);
  }
  return nodes;
}

// Splits of a depth: all layers but one at coarse steps, and that one takes the rest.
std::vector<std::array<int, 3>> splits_of(const Problem& problem, std::size_t layers, int depth) {
  if (layers == 1) return {{depth, 0, 0}};
  const std::vector<int> nodes = coarse_steps(problem, depth);
  std::vector<std::array<int, 3>> splits;
  for (std::size_t slack = 0; slack < layers; ++slack) {
    const std::size_t i = slack == 0 ? 1 : 0;
    const std::size_t j = 3 - slack - i;
    for (const int a : nodes) {
      for (const int b : layers == 3 ? nodes : std::vector<int>{0}) {
        std::array<int, 3> split{};
        split[i] = a;
        if (layers == 3) split[j] = b;
        split[slack] = depth - a - b;
        if (split[slack] >= std::max(a, b)) splits.push_back(split);
      }
    }
  }
  std::sort(splits.begin(), splits.end());
  splits.erase(std::unique(splits.begin(), splits.end()), splits.end());
  return splits;
}

// The coarse search at one depth: for each sequence the least guess of the goal's mean square.
class CoarseSearch {
 public:
  CoarseSearch(const Tables& tables, std::size_t layers, int depth, bool nominal,
               const std::vector<bool>& offered, const std::function<void()>& check)
      : tables_(tables),
        problem_(tables.problem()),
        layers_(layers),
        pastes_(problem_.materials.size()),
        offered_(offered),
        splits_(splits_of(problem_, layers, depth)) {
    for (std::size_t below = 1; below < layers; ++below) below_rows_ *= pastes_;
    best_.assign(starts * below_rows_ * tables.lanes(), nothing);
    place_.assign(best_.size(), 0);
    penalty_.resize(tables.lanes());
    set_constants(nominal);
    for (std::size_t s = 0; s < splits_.size(); ++s) {
      try_split(s, check);
    }
  }

  // `start` 0: of splits whose outermost layer is thin, 1: thick.
  [[nodiscard]] float guess(std::size_t start, std::size_t below, std::size_t paste) const {
    return best_[at(start, below) + tables_.lane(paste)];
  }
  [[nodiscard]] float guess(std::size_t below, std::size_t paste) const {
    return std::min(guess(0, below, paste), guess(1, below, paste));
  }
  [[nodiscard]] const std::array<int, 3>& split(std::size_t start, std::size_t below,
                                                std::size_t paste) const {
    return splits_[static_cast<std::size_t>(place_[at(start, below) + tables_.lane(paste)])];
  }

 private:
  [[nodiscard]] std::size_t at(std::size_t start, std::size_t below) const {
    return (start * below_rows_ + below) * tables_.lanes();
  }

  void set_constants(bool nominal) {
    const PlanRequest& request = *problem_.request;
    double constant = 0;
    double model = 0;
    for (std::size_t v = 0; v < problem_.views.size(); ++v) {
      const View& view = problem_.views[v];
      if (view.weight == 0) continue;
      const ViewTable& table = tables_.views()[v];
      CoarseView coarse;
      for (std::size_t i = 0; i < tables_.bands(); ++i) {
        for (const double w :
             {table.x[i] / view.white.x, table.y[i] / view.white.y, table.z[i] / view.white.z}) {
          coarse.weights.push_back(static_cast<float>(w));
        }
      }
      const Lab& t = view.target;
      const double scale = std::sqrt(view.weight);
      int at = 0;
      for (std::size_t i = 0; i < 3; ++i) {
        for (std::size_t j = i; j < 3; ++j) {
          coarse.root[at++] = static_cast<float>(scale * table.root[j][i]);
        }
      }
      coarse.target[0] = static_cast<float>(t.l);
      coarse.target[1] = static_cast<float>(t.a);
      coarse.target[2] = static_cast<float>(t.b);
      views_.push_back(std::move(coarse));
      constant += view.weight * view.target_ms;
      model += view.weight * view.paste_ms;
    }
    model_variance_.resize(tables_.lanes());
    for (std::size_t paste = 0; paste < pastes_; ++paste) {
      const double sd = model_sd(problem_, paste, tables_.engine());
      model_variance_[tables_.lane(paste)] = static_cast<float>(sd * sd);
    }
    const double sd = request.thickness_sd_mm;
    task_.bands = tables_.bands();
    task_.lanes = tables_.lanes();
    task_.views = views_;
    task_.total_held = request.total_held;
    task_.thickness_variance = nominal ? 0 : static_cast<float>(sd * sd);
    task_.model_ms = nominal ? 0 : static_cast<float>(model);
    task_.constant_ms = nominal ? 0 : static_cast<float>(constant);
    task_.move_mm = static_cast<float>(move_mm);
    task_.model_variance = model_variance_.data();
    task_.penalty = penalty_.data();
    floor_errors_ = nominal ? 0 : static_cast<int>(problem_.floor_errors.size());
  }

  [[nodiscard]] bool allowed(std::size_t paste, int steps) const {
    const Material& m = problem_.materials[paste];
    return offered_[paste] && tables_.has(paste, steps) && steps >= m.least_steps - beyond_limit;
  }

  void try_split(std::size_t s, const std::function<void()>& check) {
    const std::array<int, 3>& split = splits_[s];
    const int top = split[layers_ - 1];
    if (top < 1) return;
    bool any = false;
    std::fill(penalty_.begin(), penalty_.end(), nothing);
    for (std::size_t paste = 0; paste < pastes_; ++paste) {
      if (!allowed(paste, top)) continue;
      penalty_[tables_.lane(paste)] = 0;
      any = true;
    }
    if (!any) return;
    task_.top = tables_.top(top);
    start_ = static_cast<std::size_t>(2 * top > std::accumulate(split.begin(), split.end(), 0));
    task_.place_of_this = static_cast<float>(s);
    task_.first_lane = 0;
    Tables::Below bare;
    tables_.start(bare);
    put_on(bare, split, 0, 0, check);
  }

  // Every further lower layer on those of `row`, then all pastes above them.
  void put_on(const Tables::Below& below, const std::array<int, 3>& split, std::size_t row,
              double sd, const std::function<void()>& check) {
    const auto layer = static_cast<std::size_t>(below.layers);
    if (layer + 1 == layers_) return try_above(below, row, sd);
    for (std::size_t paste = 0; paste < pastes_; ++paste) {
      if (layer == 0) check();
      if (layer > 0 && !may_follow(problem_, row, paste)) continue;
      if (!allowed(paste, split[layer])) continue;
      Tables::Below more = below;
      tables_.add(more, paste, split[layer]);
      task_.first_lane = tables_.first_lane_on(paste);
      put_on(more, split, row * pastes_ + paste,
             std::max(sd, model_sd(problem_, paste, tables_.engine())), check);
    }
  }

  void try_above(const Tables::Below& below, std::size_t row, double sd) {
    below_.assign(below.rho.begin(), below.rho.end());
    slopes_.clear();
    task_.layers_below = below.layers;
    task_.columns = below.layers + floor_errors_;
    for (int c = 0; c < task_.columns; ++c) {
      const std::vector<double>& slope = below.slope[static_cast<std::size_t>(c)];
      slopes_.insert(slopes_.end(), slope.begin(), slope.end());
    }
    task_.below = below_.data();
    task_.slopes = slopes_.data();
    task_.model_variance_below = static_cast<float>(sd * sd);
    task_.best = best_.data() + at(start_, row);
    task_.place = place_.data() + at(start_, row);
    lower_best(task_);
  }

  const Tables& tables_;
  const Problem& problem_;
  std::size_t layers_;
  std::size_t pastes_;
  std::size_t below_rows_ = 1;
  std::size_t start_ = 0;  // that the split at hand belongs to
  const std::vector<bool>& offered_;
  std::vector<std::array<int, 3>> splits_;
  std::vector<float> best_, place_, penalty_, model_variance_, below_, slopes_;
  std::vector<CoarseView> views_;
  int floor_errors_ = 0;
  CoarseTask task_;
};

struct Guess {
  float mean_square = 0;
  std::vector<std::size_t> pastes;
  std::size_t below = 0;
};

// Calls `visit` for every allowed sequence that goes on from this one to so many layers.
template <class Visit>
void each_sequence(const Problem& problem, std::size_t layers, std::vector<std::size_t>& sequence,
                   const Visit& visit) {
  if (sequence.size() == layers) return visit();
  for (std::size_t paste = 0; paste < problem.materials.size(); ++paste) {
    if (!sequence.empty() && !may_follow(problem, sequence.back(), paste)) continue;
    sequence.push_back(paste);
    each_sequence(problem, layers, sequence, visit);
    sequence.pop_back();
  }
}

// Every allowed sequence with its guess over all depths, least first, as many as may be settled.
std::vector<Guess> guesses_of(const Tables& tables, std::size_t layers,
                              const std::vector<CoarseSearch>& searches) {
  const Problem& problem = tables.problem();
  std::vector<Guess> guesses;
  std::vector<std::size_t> sequence;
  each_sequence(problem, layers, sequence, [&] {
    if (engine_of(problem, sequence) != tables.engine()) return;
    std::size_t below = 0;
    for (std::size_t j = 0; j + 1 < layers; ++j) {
      below = below * problem.materials.size() + sequence[j];
    }
    float sum = 0;
    for (const CoarseSearch& search : searches) sum += search.guess(below, sequence.back());
    if (sum >= nothing) return;
    guesses.push_back({sum / static_cast<float>(searches.size()), sequence, below});
  });
  const std::size_t some = std::min(guesses.size(), most_settled);
  std::partial_sort(guesses.begin(), guesses.begin() + static_cast<std::ptrdiff_t>(some),
                    guesses.end(), [](const Guess& a, const Guess& b) {
                      return a.mean_square != b.mean_square ? a.mean_square < b.mean_square
                                                            : a.pastes < b.pastes;
                    });
  guesses.resize(some);
  return guesses;
}

}  // namespace

double largest_miss(Engine engine) {
  return engine == Engine::transport ? 1.2 : 0.02;
}

std::vector<int> settled(const Problem& problem, const std::vector<std::size_t>& pastes,
                         std::vector<int> steps, int depth) {
  int rest = depth;
  for (std::size_t j = 0; j < pastes.size(); ++j) {
    const Material& m = problem.materials[pastes[j]];
    if (m.most_steps < m.least_steps) return {};
    steps[j] = std::clamp(steps[j], m.least_steps, m.most_steps);
    rest -= steps[j];
  }
  for (std::size_t j = 0; j < pastes.size(); ++j) {
    const Material& m = problem.materials[pastes[j]];
    const int taken = std::clamp(steps[j] + rest, m.least_steps, m.most_steps);
    rest -= taken - steps[j];
    steps[j] = taken;
  }
  return rest == 0 ? steps : std::vector<int>{};
}

double descend(const Problem& problem, const std::vector<std::size_t>& pastes,
               std::vector<int>& steps, const std::function<double(const std::vector<int>&)>& goal,
               double first_move_mm) {
  double least = goal(steps);
  const std::size_t layers = pastes.size();
  int step = std::max(1, static_cast<int>(std::lround(first_move_mm / problem.request->step_mm)));
  while (step > 0) {
    std::vector<int> best = steps;
    double there = least;
    for (std::size_t a = 0; a < layers; ++a) {
      for (std::size_t b = 0; b < layers; ++b) {
        if (a == b) continue;
        std::vector<int> moved = steps;
        moved[a] += step;
        moved[b] -= step;
        if (moved[a] > problem.materials[pastes[a]].most_steps ||
            moved[b] < problem.materials[pastes[b]].least_steps) {
          continue;
        }
        const double value = goal(moved);
        if (value < there) {
          there = value;
          best = std::move(moved);
        }
      }
    }
    if (there < least) {
      least = there;
      steps = std::move(best);
    } else {
      step /= 2;
    }
  }
  return least;
}

std::vector<Candidate> search(const Tables& tables, std::size_t layers,
                              const std::vector<int>& depths, std::size_t keep, bool nominal,
                              const std::vector<bool>& offered,
                              const std::function<void()>& check) {
  const Problem& problem = tables.problem();
  std::vector<CoarseSearch> searches;
  searches.reserve(depths.size());
  for (const int depth : depths) {
    searches.emplace_back(tables, layers, depth, nominal, offered, check);
  }
  const double miss = largest_miss(tables.engine());
  std::vector<Candidate> found;
  std::vector<double> least;  // the `keep` least goals found, in order
  for (const Guess& guess : guesses_of(tables, layers, searches)) {
    const double kept =
        least.size() < keep ? std::numeric_limits<double>::infinity() : least.back();
    const double hopeless = kept * (1 + guess_share) + guess_margin + miss;
    if (std::sqrt(guess.mean_square) > hopeless) break;
    check();
    Candidate candidate{guess.pastes, {}, 0};
    double mean_square = 0;
    for (std::size_t d = 0; d < depths.size(); ++d) {
      const std::size_t top = candidate.pastes.back();
      std::vector<int> steps;
      double goal = std::numeric_limits<double>::infinity();
      const std::size_t better =
          searches[d].guess(1, guess.below, top) < searches[d].guess(0, guess.below, top);
      for (const std::size_t start : {better, 1 - better}) {
        const float here = searches[d].guess(start, guess.below, top);
        if (here >= nothing || (start != better && std::sqrt(here) > hopeless)) break;
        const std::array<int, 3>& split = searches[d].split(start, guess.below, top);
        std::vector<int> moved = settled(
            problem, candidate.pastes,
            {split.begin(), split.begin() + static_cast<std::ptrdiff_t>(layers)}, depths[d]);
        if (moved.empty()) break;
        const double there = descend(problem, candidate.pastes, moved, [&](const auto& at) {
          return std::sqrt(tables.value(candidate.pastes, at).mean_square(nominal));
        });
        if (there < goal) {
          goal = there;
          steps = std::move(moved);
        }
      }
      if (steps.empty()) break;
      mean_square += goal * goal / static_cast<double>(depths.size());
      candidate.steps.push_back(std::move(steps));
    }
    if (candidate.steps.size() != depths.size()) continue;
    candidate.expected = std::sqrt(mean_square);
    least.insert(std::upper_bound(least.begin(), least.end(), candidate.expected),
                 candidate.expected);
    least.resize(std::min(least.size(), keep));
    found.push_back(std::move(candidate));
  }
  detail::stable_sort_by(found, &Candidate::expected);
  const auto enough = std::find_if(found.begin(), found.end(), [&](const Candidate& c) {
    return least.size() == keep && c.expected > least.back() + miss;
  });
  found.erase(enough, found.end());
  return found;
}

}  // namespace mamelon::detail

#include "plan/search.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace mamelon::detail {
namespace {

constexpr double grid_step_mm = 0.1;
constexpr double tolerance_mm = 1e-9;

bool fits(const Problem& problem, const Candidate& candidate) {
  for (std::size_t j = 0; j < candidate.pastes.size(); ++j) {
    const Material& m = problem.materials[candidate.pastes[j]];
    if (candidate.thickness_mm[j] < m.minimum_mm - tolerance_mm ||
        candidate.thickness_mm[j] > m.maximum_mm + tolerance_mm) {
      return false;
    }
  }
  return true;
}

// Moves thickness between layers `a` and `b` to the least value within `reach` mm, by golden
// section (Kiefer 1953).
void exchange(const Problem& problem, Candidate& best, std::size_t a, std::size_t b, double reach) {
  const Material& ma = problem.materials[best.pastes[a]];
  const Material& mb = problem.materials[best.pastes[b]];
  const double da = best.thickness_mm[a];
  const double db = best.thickness_mm[b];
  double low = std::max({-reach, ma.minimum_mm - da, db - mb.maximum_mm});
  double high = std::min({reach, ma.maximum_mm - da, db - mb.minimum_mm});
  const auto at = [&](double shift) {
    Candidate moved = best;
    moved.thickness_mm[a] = da + shift;
    moved.thickness_mm[b] = db - shift;
    moved.expected = evaluate(problem, moved).expected;
    return moved;
  };
  constexpr double golden = 0.6180339887498949;
  Candidate left = at(high - golden * (high - low));
  Candidate right = at(low + golden * (high - low));
  while (high - low > 1e-4) {
    if (left.expected <= right.expected) {
      high = right.thickness_mm[a] - da;
      right = left;
      left = at(high - golden * (high - low));
    } else {
      low = left.thickness_mm[a] - da;
      left = right;
      right = at(low + golden * (high - low));
    }
  }
  for (const Candidate& moved : {left, right, at(low), at(high)}) {
    if (moved.expected < best.expected) {
      best = moved;
    }
  }
}

void polish(const Problem& problem, Candidate& candidate) {
  const std::size_t layers = candidate.pastes.size();
  for (int round = 0; round < (layers > 2 ? 4 : 1); ++round) {
    for (std::size_t a = 0; a < layers; ++a) {
      for (std::size_t b = a + 1; b < layers; ++b) {
        exchange(problem, candidate, a, b, grid_step_mm);
      }
    }
  }
}

class GridSearch {
 public:
  explicit GridSearch(const Problem& problem)
      : problem_(problem),
        steps_(static_cast<std::size_t>(std::ceil(problem.depth_mm / grid_step_mm - 1e-9))) {}

  // The best thicknesses of every sequence of `layers` pastes.
  std::vector<Candidate> run(std::size_t layers) {
    found_.clear();
    Candidate start;
    choose_pastes(start, layers);
    return std::move(found_);
  }

 private:
  void choose_pastes(const Candidate& below, std::size_t layers) {
    for (std::size_t paste = 0; paste < problem_.materials.size(); ++paste) {
      if (!below.pastes.empty() && !may_follow(problem_, below.pastes.back(), paste)) {
        continue;
      }
      Candidate next = below;
      next.pastes.push_back(paste);
      if (next.pastes.size() < layers) {
        choose_pastes(next, layers);
        continue;
      }
      best_ = next;
      best_.expected = std::numeric_limits<double>::infinity();
      next.thickness_mm.resize(layers);
      choose_thickness(next, 0, steps_);
      if (std::isfinite(best_.expected)) {
        found_.push_back(best_);
      }
    }
  }

  void choose_thickness(Candidate& candidate, std::size_t layer, std::size_t left) {
    const double step_mm = problem_.depth_mm / static_cast<double>(steps_);
    if (layer + 1 == candidate.pastes.size()) {
      candidate.thickness_mm[layer] = step_mm * static_cast<double>(left);
      if (left > 0 && fits(problem_, candidate)) {
        candidate.expected = evaluate(problem_, candidate).expected;
        if (candidate.expected < best_.expected) {
          best_ = candidate;
        }
      }
      return;
    }
    for (std::size_t g = 1; g < left; ++g) {
      candidate.thickness_mm[layer] = step_mm * static_cast<double>(g);
      choose_thickness(candidate, layer + 1, left - g);
    }
  }

  const Problem& problem_;
  std::size_t steps_;
  Candidate best_;
  std::vector<Candidate> found_;
};

bool better(const Candidate& a, const Candidate& b) {
  return a.expected < b.expected;
}

}  // namespace

SearchResult search(const Problem& problem, std::size_t keep) {
  SearchResult result;
  result.bound = std::numeric_limits<double>::infinity();
  GridSearch grid(problem);
  for (int layers = 1; layers <= problem.max_layers; ++layers) {
    std::vector<Candidate> found = grid.run(static_cast<std::size_t>(layers));
    std::stable_sort(found.begin(), found.end(), better);
    found.resize(std::min(found.size(), keep));
    for (Candidate& candidate : found) {
      polish(problem, candidate);
    }
    std::stable_sort(found.begin(), found.end(), better);
    if (!found.empty()) {
      result.bound = std::min(result.bound, found.front().expected);
    }
    result.best.push_back(std::move(found));
  }
  return result;
}

}  // namespace mamelon::detail

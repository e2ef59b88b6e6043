#include "plan/polish.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace mamelon::detail {
namespace {

constexpr double last_step_mm = 1e-4;

// Moves `amount` from layer `b` to layer `a`; false outside the limits.
bool exchange(const Problem& problem, Candidate& candidate, std::size_t a, std::size_t b,
              double amount) {
  const Material& ma = problem.materials[candidate.pastes[a]];
  const Material& mb = problem.materials[candidate.pastes[b]];
  const double room = std::max(0.0, std::min(ma.maximum_mm - candidate.thickness_mm[a],
                                             candidate.thickness_mm[b] - mb.minimum_mm));
  const double moved = std::min(amount, room);
  if (!(moved > 0)) {
    return false;
  }
  candidate.thickness_mm[a] += moved;
  candidate.thickness_mm[b] -= moved;
  candidate.expected = expected_of(problem, candidate);
  return true;
}

}  // namespace

void settle(const Problem& problem, Candidate& candidate) {
  const std::size_t layers = candidate.pastes.size();
  for (std::size_t a = 0; a < layers; ++a) {
    const Material& m = problem.materials[candidate.pastes[a]];
    const double wanted = std::clamp(candidate.thickness_mm[a], m.minimum_mm, m.maximum_mm);
    double rest = candidate.thickness_mm[a] - wanted;
    candidate.thickness_mm[a] = wanted;
    for (std::size_t b = 0; b < layers && rest != 0; ++b) {
      if (b == a) {
        continue;
      }
      const Material& other = problem.materials[candidate.pastes[b]];
      const double taken = std::clamp(candidate.thickness_mm[b] + rest, other.minimum_mm,
                                      std::max(other.minimum_mm, other.maximum_mm));
      rest -= taken - candidate.thickness_mm[b];
      candidate.thickness_mm[b] = taken;
    }
  }
}

void polish(const Problem& problem, Candidate& candidate, double reach_mm) {
  settle(problem, candidate);
  candidate.expected = expected_of(problem, candidate);
  const std::size_t layers = candidate.pastes.size();
  for (double step = reach_mm; step > last_step_mm;) {
    Candidate best = candidate;
    for (std::size_t a = 0; a < layers; ++a) {
      for (std::size_t b = 0; b < layers; ++b) {
        Candidate moved = candidate;
        if (a != b && exchange(problem, moved, a, b, step) && moved.expected < best.expected) {
          best = std::move(moved);
        }
      }
    }
    if (best.expected < candidate.expected) {
      candidate = std::move(best);
    } else {
      step /= 2;
    }
  }
}

}  // namespace mamelon::detail

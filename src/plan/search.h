#pragma once
// The sequences of pastes worth a look in the full engine, by the one-stream picture of them.

#include <cstddef>
#include <functional>
#include <vector>

#include "plan/tables.h"

namespace mamelon::detail {

// Pastes and their whole steps from the floor outward; one set of steps a depth.
struct Candidate {
  std::vector<std::size_t> pastes;
  std::vector<std::vector<int>> steps;
  double expected = 0;  // the goal, root mean square over the depths
};

// How much the one-stream picture may miss the goal by. Measured over random stacks
// (tests/bench/RESULTS.md); by two fluxes only the thinned bands and tabulated slopes miss.
double largest_miss(Engine engine);

// Those sequences of `layers` pastes whose goal may be among the `keep` least, their steps set to
// the least goal as the tables see it, best first. `depths` in steps, one or more. With `nominal`
// the goal is ΔE00 alone. Only stacks of the tables' engine are looked at, of pastes that are
// `offered`. Empty where nothing fills a depth. Calls `check` often.
std::vector<Candidate> search(const Tables& tables, std::size_t layers,
                              const std::vector<int>& depths, std::size_t keep, bool nominal,
                              const std::vector<bool>& offered, const std::function<void()>& check);

// The best steps of one sequence at one depth as the tables see it, from the steps given; empty
// where its limits do not fill the depth.
std::vector<int> settled(const Problem& problem, const std::vector<std::size_t>& pastes,
                         std::vector<int> steps, int depth);

// Downhill in `goal` by exchanges between two layers, of `first_move_mm` and then of ever less down
// to one step, within the limits.
inline constexpr double usual_move_mm = 0.2;
double descend(const Problem& problem, const std::vector<std::size_t>& pastes,
               std::vector<int>& steps, const std::function<double(const std::vector<int>&)>& goal,
               double first_move_mm = usual_move_mm);

}  // namespace mamelon::detail

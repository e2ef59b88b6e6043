#pragma once
// A plan request made ready for the search: everything resolved to numbers on one grid.

#include <memory>
#include <string>
#include <vector>

#include "mamelon/plan.h"

namespace mamelon::detail {

// Directions in which the floor's reflectance may be uncertain.
inline constexpr std::size_t most_floor_errors = 3;

// One light under which colours are compared.
struct View {
  Viewing viewing;
  std::shared_ptr<const Weights> weights;
  Xyz white;
  Lab target;
  Mat3 metric{};         // ΔE00² ≈ δᵀ metric δ for small δ at the target
  double weight = 0;     // share in the objective; the shares add up to 1
  double target_ms = 0;  // mean square of ΔE00 that the target's own uncertainty brings
  double paste_ms = 0;   // the same for a reflectance model error of sd 1
  Mat3 paste_lab{};      // covariance of Lab for a reflectance model error of sd 1
};

// One paste.
struct Material {
  std::vector<double> k;
  std::vector<double> s;
  double minimum_mm = 0;
  double maximum_mm = 0;
  double sd = 0;
  Interface surface;
  int role = 0;
};

struct Problem {
  std::vector<double> floor;                      // internal
  std::vector<std::vector<double>> floor_errors;  // one standard deviation each, internal
  std::vector<Material> materials;
  std::vector<View> views;  // the target's own first
  double depth_mm = 0;
  double thickness_sd_mm = 0;
  int max_layers = 1;
  bool role_order = true;
  DifferenceWeights weights;
  Mat3 target_covariance{};
};

// Checks a request and resolves it. Adds to `warnings` what the user should know of it.
Problem make_problem(const PlanRequest& request, std::vector<std::string>& warnings);

// Whether `upper` may follow directly on `lower`.
bool may_follow(const Problem& problem, std::size_t lower, std::size_t upper);

}  // namespace mamelon::detail

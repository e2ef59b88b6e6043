#pragma once
// A plan request made ready for the search: everything resolved to numbers on one grid.

#include <memory>
#include <string>
#include <vector>

#include "mamelon/plan.h"

namespace mamelon::detail {

// One light under which colours are compared.
struct View {
  Viewing viewing;
  std::shared_ptr<const Weights> weights;
  Xyz white;
  Lab target;
  Mat3 metric{};         // ΔE00² ≈ δᵀ metric δ for small δ at the target
  double weight = 0;     // share in the goal; the shares add up to 1
  double target_ms = 0;  // mean square of ΔE00 that the target's own uncertainty brings
  double paste_ms = 0;   // the same for a reflectance model error of sd 1
  Mat3 paste_lab{};      // covariance of Lab for a reflectance model error of sd 1
};

// One paste.
struct Material {
  int least_steps = 1;
  int most_steps = 1;
  int role = 0;
  bool transport = false;  // carries the constants, and they are wanted
  Interface surface;
};

struct Problem {
  const PlanRequest* request = nullptr;           // outlives the problem
  std::vector<double> floor;                      // internal
  std::vector<std::vector<double>> floor_errors;  // one standard deviation each, internal
  std::vector<Material> materials;
  std::vector<View> views;  // the target's own first
  int depth_steps = 1;
  Mat3 target_covariance{};
};

// Checks a request and resolves it. Adds to `warnings` what the user should know of it.
Problem make_problem(const PlanRequest& request, std::vector<std::string>& warnings);

// The nearest whole number of steps to a depth. Throws as `plan` does for a depth out of range.
int steps_of_depth(const PlanRequest& request, double depth_mm);

// A number of steps in mm, as the decimal that it is.
double mm_of(const Problem& problem, int steps);

// Whether `upper` may follow directly on `lower`.
bool may_follow(const Problem& problem, std::size_t lower, std::size_t upper);

// The engine of a stack: transport where every paste is known to it.
Engine engine_of(const Problem& problem, const std::vector<std::size_t>& pastes);

// The model error of a paste's reflectance, and the largest of several by the engine of their
// stack.
double model_sd(const Problem& problem, std::size_t paste, Engine engine);
double model_sd(const Problem& problem, const std::vector<std::size_t>& pastes);

// What was planned, with all of the request and `more` settings.
Provenance provenance_of(const PlanRequest& request, const std::string& what,
                         const std::string& more);

// How far a change of colour goes in ΔE00: √(gᵀ metric g).
double length(const Mat3& metric, const Vec3& g);

}  // namespace mamelon::detail

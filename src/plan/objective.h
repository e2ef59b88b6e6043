#pragma once
// The value of one stack: colour, its gradient in every thickness, and the expected difference.

#include <cstddef>
#include <vector>

#include "plan/problem.h"

namespace mamelon::detail {

// Pastes and their thicknesses from the floor outward.
struct Candidate {
  std::vector<std::size_t> pastes;
  std::vector<double> thickness_mm;
  double expected = 0;  // the objective: rms ΔE00 over all errors
};

// Reflectance seen outside, its slope in every thickness, and what each error of the floor makes of
// it.
struct Light {
  std::vector<double> reflectance;
  std::vector<std::vector<double>> slope;
  std::vector<std::vector<double>> floor_error;
};

// One light's part of an evaluation.
struct ViewValue {
  Lab lab;
  double de00 = 0;
  std::vector<Vec3> gradient;     // dLab per mm of each layer
  std::vector<Vec3> floor_error;  // change of Lab with each error of the floor
  double expected = 0;
};

struct Evaluation {
  std::vector<double> reflectance;
  std::vector<ViewValue> views;
  double expected = 0;
};

Evaluation evaluate(const Problem& problem, const Candidate& candidate);
// The same of a light that another engine predicted.
Evaluation evaluate(const Problem& problem, const Candidate& candidate, Light light);
// By Kubelka and Munk.
Light propagate_light(const Problem& problem, const Candidate& candidate);
// The objective alone.
double expected_of(const Problem& problem, const Candidate& candidate);

// sqrt of gᵀ metric g.
double length(const Mat3& metric, const Vec3& g);

// Covariance of the difference between the stack's colour and the target in one view.
Mat3 difference_covariance(const Problem& problem, const Candidate& candidate,
                           const ViewValue& value, const View& view);

}  // namespace mamelon::detail

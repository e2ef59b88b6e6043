#pragma once
// Least-squares means of tabs and the multivariate analysis of variance behind their covariances.

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "shade/study_rows.h"

namespace mamelon::detail {

// A mean square: the sum of squares and products over its degrees of freedom.
struct MeanSquare {
  Mat3 matrix{};
  double dof = 0;
};

// One random factor (day, operator, instrument): its mean square expects
// error + (k / dof) · covariance, with k of Henderson's method 3.
struct FactorAnalysis {
  std::size_t factor = 0;
  std::size_t levels = 0;
  std::size_t independent_levels = 0;  // fewer, where a dropped factor is nested in this one
  MeanSquare mean_square;
  double k = 0;
  Mat3 covariance{};  // unbiased
  std::string note;
};

struct VarianceAnalysis {
  std::vector<Vec3> means;          // of every tab; NaN for a tab without rows
  std::vector<double> mean_factor;  // random covariance of a mean = mean_factor · error covariance
  std::vector<Vec3> residuals;
  MeanSquare error;   // what tells two readings of a tab apart within the factors
  MeanSquare repeat;  // without moving the tab: within tab, day, operator and instrument
  std::optional<Mat3> placement;  // between such sittings of a tab, where it shows (p < 0.01)
  double placement_k = 0;
  MeanSquare placement_square;
  std::vector<FactorAnalysis> factors;
  std::vector<std::string> notes;  // about factors that could not be told apart
};

// `metric` weighs the coordinates in the test for placement.
VarianceAnalysis analyse(const StudyRows& rows, const Mat3& metric);

}  // namespace mamelon::detail

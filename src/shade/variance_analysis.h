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
// error + of_nested + (k / dof) · covariance, with k of Henderson's method 3.
struct FactorAnalysis {
  std::size_t factor = 0;
  std::size_t levels = 0;
  MeanSquare mean_square;
  double k = 0;
  Mat3 of_nested{};   // the part of a factor whose levels are nested in this one's
  Mat3 covariance{};  // unbiased
  // Means average these errors over levels: the covariance that all factors give to a mean of all
  // levels, or to one new reading, is Σ weight · excess. A weight lies below 0 where the mean
  // square of an outer factor holds more of this one than the mean does.
  double weight_in_mean = 0;
  double weight_in_new = 0;
  MeanSquare pooled;  // the mean square, of an outer factor pooled over the coordinates
  Mat3 excess{};      // of the pooled mean square over the error
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
  std::vector<std::string> notes;  // about factors that cannot be told apart, or hold others
};

// `metric` weighs the coordinates in the test for placement.
VarianceAnalysis analyse(const StudyRows& rows, const Mat3& metric);

}  // namespace mamelon::detail

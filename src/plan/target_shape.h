#pragma once
// The shape of ΔE00 around a target, for bounds.
//
// In the coordinates y = root (Lab − target) the length of a small y is ΔE00. Farther out the two
// part; how far is tabulated from a dense sample of directions.

#include <array>
#include <cstddef>
#include <vector>

#include "plan/problem.h"

namespace mamelon::detail {

double norm(const Vec3& v);
double dot(const Vec3& a, const Vec3& b);

// Upper triangular U with UᵀU = m, by Cholesky.
Mat3 upper_root(const Mat3& m);

// Least |y + Σ columns·x| over low ≤ x ≤ high, `count` (0 to 2) unknowns.
double least_length(const Vec3& y, const std::array<Vec3, 2>& columns, std::size_t count,
                    const std::array<double, 2>& low, const std::array<double, 2>& high);

// For each coordinate, the least |m x| over all x with that coordinate 1: the inverse of a row of
// the inverse.
Vec3 least_per_axis(const Mat3& m);

// ΔE00 on spheres around the target: its least (less half a percent for what lies between the
// sampled directions, and not above what larger spheres hold), and the steepest change of
// ΔE00 / |y| across and along, times |y| (a tenth more for the same reason).
struct RatioTables {
  std::vector<double> least_de00;
  std::vector<double> ratio_slope;
};
RatioTables tabulate_ratio(const View& view, const Mat3& root, const DifferenceWeights& weights);

// One of the tables at a length of y.
double interpolate(const std::vector<double>& at_radii, double y);

}  // namespace mamelon::detail

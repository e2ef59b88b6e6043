#pragma once
// Lower bounds of the objective over boxes of thicknesses.

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "plan/cell_kernel.h"
#include "plan/problem.h"

namespace mamelon::detail {

// A sequence of pastes from the floor outward.
struct Sequence {
  std::size_t layers = 0;
  std::array<std::size_t, most_layers> paste{};
};

// Ranges of the free thicknesses in grid steps. One layer (`slack_layer`) takes what the others
// leave of the depth.
struct Box {
  std::array<std::uint16_t, 2> low{};
  std::array<std::uint16_t, 2> high{};
};

using Steps = std::array<int, most_layers>;  // thickness of each layer in grid steps

struct BoxValue {
  double bound = 0;      // no allowed thicknesses in the box have a lower objective
  double at_point = 0;   // objective at `point`, by the metric of the target
  Steps point{};         // the expansion point
  std::size_t axis = 0;  // the free thickness to split next
};

// Bounds, built once for a problem.
//
// With y = root (Lab − target) the mean-value form gives, for any point of the box,
// y ∈ y(point) + Σ (∂y at point ± its range in the box) · step; the ranges are exact per band
// because reflectance and its slopes are monotone in every thickness and in the floor. ΔE00 is at
// least a known function of |y| (see `least_de00`).
class Bounder {
 public:
  // `trust` scales the ranges: 1 is rigorous, less is quick.
  Bounder(const Problem& problem, double trust);

  [[nodiscard]] const Tables& tables() const { return tables_; }
  [[nodiscard]] double step_mm() const { return tables_.step_mm; }

  // The whole allowed region of a sequence; false when it is empty.
  [[nodiscard]] bool whole(const Sequence& sequence, Box& box) const;
  // Shrinks a box to what the depth allows; false when nothing is left.
  [[nodiscard]] bool trim(const Sequence& sequence, Box& box) const;
  // Bounds below `enough` are made as sharp as they can be.
  // Whether the limits of the pastes allow every point of the box.
  [[nodiscard]] bool within_limits(const Sequence& sequence, const Box& box) const;
  [[nodiscard]] BoxValue bound(const Sequence& sequence, const Box& box, double enough) const;
  // The objective at a grid point; infinite outside the limits of a paste.
  [[nodiscard]] double value(const Sequence& sequence, const Steps& steps) const;
  // The same, whatever the limits.
  [[nodiscard]] double unlimited_value(const Sequence& sequence, const Steps& steps) const;

 private:
  struct ViewFrame {
    const View* view = nullptr;
    Mat3 root{};           // metric = rootᵀ root
    Mat3 lab_root{};       // root · dLab/df, f the cube roots of XYZ over white
    Vec3 column_length{};  // of lab_root
    Vec3 f{};              // of the target
    Vec3 f_to_y{};         // least |y| of a unit off in one f, whatever the others
    Vec3 derivative{};     // df/dXYZ at the target
    double weight = 0;
    std::vector<double> least_de00;   // at |y| = radius(i)
    std::vector<double> ratio_slope;  // how fast ΔE00 / |y| changes, times |y|, up to radius(i)
  };
  struct Range {
    int low = 0;
    int high = 0;
  };

  // What the sums of one view say at the expansion point.
  struct Point {
    Vec3 f{};
    Vec3 derivative{};
    Lab lab;
    std::array<Vec3, most_layers> gradient{};  // of y
    std::array<double, most_layers> bend{};    // gradient summed over X, Y, Z apart
  };
  static Point at_point(const ViewFrame& frame, const CellSums& sums, std::size_t layers);
  struct ViewBound;
  void sharpen(const ViewFrame& frame, ViewBound& value) const;
  [[nodiscard]] ViewBound view_bound(const ViewFrame& frame, const CellSums& sums,
                                     std::size_t layers, const std::array<double, 2>& low,
                                     const std::array<double, 2>& high) const;
  [[nodiscard]] double constant(const Sequence& sequence) const;
  [[nodiscard]] Range limits(std::size_t paste) const;
  [[nodiscard]] Range slack_range(const Sequence& sequence, const Box& box) const;
  [[nodiscard]] Steps expansion_point(const Sequence& sequence, const Box& box) const;
  [[nodiscard]] CellInput input(const Sequence& sequence, const Steps& at) const;

  const Problem& problem_;
  double trust_;
  std::vector<ViewFrame> frames_;
  Tables tables_;
};

// The layer that takes what the others leave: the second, or the only one.
[[nodiscard]] std::size_t slack_layer(std::size_t layers);
// The layer behind a free thickness.
[[nodiscard]] std::size_t free_layer(std::size_t axis);

}  // namespace mamelon::detail

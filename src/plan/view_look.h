#pragma once
// What the sums over a box of thicknesses say of the colour difference in one view.
//
// With y = root (Lab − target) the mean-value form gives, for any point of the box,
// y ∈ y(point) + Σ (∂y at the point) step ± blur in each coordinate; the blur comes from the ranges
// of the slopes, which are exact per band because reflectance and its slopes are monotone in every
// thickness and in the floor. The gradients themselves have such a form, from second derivatives.

#include <array>
#include <cstddef>

#include "plan/cell_kernel.h"
#include "plan/difference_floor.h"
#include "plan/least_square.h"
#include "plan/problem.h"

namespace mamelon::detail {

// A view with what bounds need of it.
struct ViewFrame {
  const View* view = nullptr;
  Mat3 root{};  // metric = rootᵀ root
  Mat3 inverse_root{};
  Mat3 lab_root{};    // root · dLab/df, f the cube roots of XYZ over white
  Vec3 f{};           // of the target
  Vec3 f_to_y{};      // least |y| of a unit off in one f, whatever the others
  Vec3 derivative{};  // df/dXYZ at the target
  DistanceFloor floor;
};
ViewFrame make_frame(const Problem& problem, const View& view);
ViewTable make_view_table(const ViewFrame& frame, std::size_t bands, std::size_t padded);

// How the thicknesses of a box can move from its expansion point.
struct Travel {
  std::size_t layers = 0;
  std::size_t floor_errors = 0;
  Region region;                  // free thicknesses, in mm from the point
  std::array<double, 2> reach{};  // most that each of them can move
  double trust = 1;               // share of the ranges that is believed in; 1 is rigorous
  double thickness_variance = 0;
  double rounding = 0;  // most that single precision moves y on the way
};

// The layer that takes what the others leave: the second, or the only one.
[[nodiscard]] std::size_t slack_layer(std::size_t layers);
// The layer behind a free thickness.
[[nodiscard]] std::size_t free_layer(std::size_t axis);

// The colour at the expansion point; its slopes stand for the whole box where the sums' do.
struct PointColour {
  Vec3 f{};
  Vec3 derivative{};  // df/dXYZ
  Lab lab;
  std::array<Vec3, most_slopes> gradient{};  // of y
};
PointColour colour_at(const ViewFrame& frame, const CellSums& sums, std::size_t slopes);

class ViewLook {
 public:
  ViewLook() = default;
  // `curved` where `sums` holds bends.
  ViewLook(const ViewFrame& frame, const CellSums& sums, const Travel& travel, bool curved);

  // No point of the box has a lower mean square. Quick.
  [[nodiscard]] double least_square() const { return de_ * de_ + spread_; }
  [[nodiscard]] double least_de_square() const { return de_ * de_; }
  [[nodiscard]] const std::array<double, 2>& doubt() const { return doubt_; }
  [[nodiscard]] const Lab& lab() const { return point_.lab; }

  // Adds to a sum of squares that is linear but for `blur_square`, and to `constant`, so that
  // constant + (√sum − √blur)² is a closer bound. `curved` where `sums` holds bends.
  void add_to(const ViewFrame& frame, const CellSums& sums, const Travel& travel, bool curved,
              const DifferenceWeights& weights, SumOfSquares& sum, double& blur_square,
              double& constant) const;

  // Shrinks the region to where ΔE00 can be below `enough`; false when nothing is left.
  [[nodiscard]] bool contract(const ViewFrame& frame, double enough, Region& region) const;

 private:
  struct Turn;  // how a gradient turns with the free thicknesses
  [[nodiscard]] Turn turn_of(const ViewFrame& frame, const CellSums& sums, const Travel& travel,
                             std::size_t layer) const;

  PointColour point_;
  Vec3 relative_{};     // how far df/dXYZ moves within the box, relative to the point
  Vec3 theta_{};        // how far it is off the target's anywhere in the box, relative to that
  double darkest_ = 0;  // least X, Y or Z over white within the box
  Vec3 fall_{};         // most that X, Y, Z fall, relative to the point
  Vec3 rise_{};
  std::array<Vec3, most_slopes> off_{};  // most that each coordinate of a gradient changes
  Vec3 y_{};                             // at the point
  std::array<Vec3, 2> columns_{};        // of y along the free thicknesses
  std::array<Vec3, 2> column_off_{};
  Vec3 blur_{};
  double de_ = 0;      // least ΔE00
  double spread_ = 0;  // least mean square over the errors of thickness and floor
  std::array<double, 2> doubt_{};
  double rounding_ = 0;  // of y on the way
};

}  // namespace mamelon::detail

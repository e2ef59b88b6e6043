#pragma once
// Whether a box of thicknesses can show colours near the target, asked along one direction of
// colour at a time.
//
// With y = root (Lab − target) and a unit vector d, |y| ≥ d·y. For colours within some distance of
// the target, d·y is at least a weighted sum of reflectances: the cube roots of CIELAB are concave,
// so that a chord lies below and a tangent above them. That sum obeys the mean-value theorem with
// slopes whose ranges are known per band. Where they keep their signs, the best point to expand
// about is a corner of the box, and the bound is the least value itself.

#include <array>
#include <cstddef>
#include <optional>

#include "plan/view_look.h"

namespace mamelon::detail {

// Free thicknesses of a box, and what their sum may be, in grid steps.
struct Ground {
  std::size_t axes = 0;
  std::array<int, 2> low{};
  std::array<int, 2> high{};
  int least_sum = 0;
  int greatest_sum = 0;
};
using GroundPoint = std::array<int, 2>;

// Ranges of the slopes of a function over the ground, per step along each free thickness.
struct Slopes {
  std::array<double, 2> least{};
  std::array<double, 2> greatest{};
};

// About what the function gains on the way from one point to another.
double change_between(const Slopes& slopes, const GroundPoint& from, const GroundPoint& to);

// The point about which the mean-value form says most of the least value (Baumann 1988, BIT 28:80),
// moved to where the sum allows it.
GroundPoint best_centre(const Ground& ground, const Slopes& slopes);

// The least that the function can change from the centre to any point of the ground.
double least_change(const Ground& ground, const Slopes& slopes, const GroundPoint& centre);

// Shrinks the ground to where the function can rise by no more than `room` above the centre; false
// when nothing is left.
bool contract(Ground& ground, const Slopes& slopes, const GroundPoint& centre, double room);

// d·y ≥ constant + coefficient · XYZ for every colour whose y is shorter than `within`; nothing for
// targets so dark that the chord would leave the cube root's own range.
struct Facing {
  double constant = 0;
  Vec3 coefficient{};
};
std::optional<Facing> facing(const ViewFrame& frame, const Vec3& direction, double within);

// A colour's X, Y and Z, f of them, and df/dXYZ.
struct SeenColour {
  Vec3 xyz{};
  Vec3 f{};
  Vec3 slope{};
};
SeenColour seen(const ViewFrame& frame, const std::array<float, 3>& xyz);
// y of a colour.
Vec3 offset(const ViewFrame& frame, const SeenColour& colour);

// A distance that |y| is at least in the whole box, from one of X, Y, Z alone; `colour` is that of
// `sums`.
double least_apart(const ViewFrame& frame, const SeenColour& colour, const CellSums& sums);

}  // namespace mamelon::detail

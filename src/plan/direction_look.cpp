#include "plan/direction_look.h"

#include <algorithm>
#include <cmath>

#include "plan/cube_root.h"
#include "plan/small_algebra.h"

namespace mamelon::detail {
namespace {

// The least change along one free thickness alone, which is concave in the way gone.
double change(const Slopes& slopes, std::size_t axis, double way) {
  return std::min(slopes.least[axis] * way, slopes.greatest[axis] * way);
}

Vec3 white_of(const ViewFrame& frame) {
  return {frame.view->white.x, frame.view->white.y, frame.view->white.z};
}

}  // namespace

double change_between(const Slopes& slopes, const GroundPoint& from, const GroundPoint& to) {
  double gain = 0;
  for (std::size_t axis = 0; axis < 2; ++axis) {
    gain += (slopes.least[axis] + slopes.greatest[axis]) / 2 * (to[axis] - from[axis]);
  }
  return gain;
}

GroundPoint best_centre(const Ground& ground, const Slopes& slopes) {
  GroundPoint centre{};
  int sum = 0;
  for (std::size_t axis = 0; axis < ground.axes; ++axis) {
    const double least = slopes.least[axis];
    const double greatest = slopes.greatest[axis];
    const int low = ground.low[axis];
    const int high = ground.high[axis];
    if (least >= 0) {
      centre[axis] = low;
    } else if (greatest <= 0) {
      centre[axis] = high;
    } else {
      const double balanced = (greatest * low - least * high) / (greatest - least);
      centre[axis] = std::clamp(static_cast<int>(std::lround(balanced)), low, high);
    }
    sum += centre[axis];
  }
  // Half of what is too much or too little from each, then whatever one has no room for.
  for (std::size_t turn = 0; turn < 2 * ground.axes; ++turn) {
    const std::size_t axis = turn % ground.axes;
    const int off = sum - std::clamp(sum, ground.least_sum, ground.greatest_sum);
    const int share = turn == 0 && ground.axes == 2 ? off / 2 : off;
    const int moved = std::clamp(centre[axis] - share, ground.low[axis], ground.high[axis]);
    sum += moved - centre[axis];
    centre[axis] = moved;
  }
  return centre;
}

// A separable concave function is least at a corner of the ground, and every corner lies on an edge
// of its rectangle.
double least_change(const Ground& ground, const Slopes& slopes, const GroundPoint& centre) {
  double least = 0;
  if (ground.axes == 1) {
    const int from = std::max(ground.low[0], ground.least_sum);
    const int to = std::min(ground.high[0], ground.greatest_sum);
    return std::min(change(slopes, 0, from - centre[0]), change(slopes, 0, to - centre[0]));
  }
  for (std::size_t axis = 0; axis < 2; ++axis) {
    const std::size_t other = 1 - axis;
    for (const int edge : {ground.low[axis], ground.high[axis]}) {
      const int from = std::max(ground.low[other], ground.least_sum - edge);
      const int to = std::min(ground.high[other], ground.greatest_sum - edge);
      if (from <= to) {
        least = std::min(least, change(slopes, axis, edge - centre[axis]) +
                                    std::min(change(slopes, other, from - centre[other]),
                                             change(slopes, other, to - centre[other])));
      }
    }
  }
  return least;
}

bool contract(Ground& ground, const Slopes& slopes, const GroundPoint& centre, double room) {
  for (std::size_t axis = 0; axis < ground.axes; ++axis) {
    double left = room;
    if (ground.axes == 2) {
      const std::size_t other = 1 - axis;
      left -= std::min(change(slopes, other, ground.low[other] - centre[other]),
                       change(slopes, other, ground.high[other] - centre[other]));
    }
    if (left < 0) {
      continue;
    }
    const int width = ground.high[axis] - ground.low[axis];
    if (slopes.least[axis] * width > left) {
      ground.high[axis] = std::min(
          ground.high[axis], centre[axis] + static_cast<int>(std::ceil(left / slopes.least[axis])));
    } else if (slopes.greatest[axis] * width < -left) {
      ground.low[axis] =
          std::max(ground.low[axis],
                   centre[axis] + static_cast<int>(std::floor(left / slopes.greatest[axis])));
    }
  }
  int least = 0;
  int greatest = 0;
  for (std::size_t axis = 0; axis < ground.axes; ++axis) {
    if (ground.low[axis] > ground.high[axis]) {
      return false;
    }
    least += ground.low[axis];
    greatest += ground.high[axis];
  }
  return least <= ground.greatest_sum && greatest >= ground.least_sum;
}

std::optional<Facing> facing(const ViewFrame& frame, const Vec3& direction, double within) {
  const Vec3 white = white_of(frame);
  Facing facing;
  for (std::size_t c = 0; c < 3; ++c) {
    const double share = frame.lab_root[0][c] * direction[0] + frame.lab_root[1][c] * direction[1] +
                         frame.lab_root[2][c] * direction[2];
    const double target = frame.f[c];
    const double off = within / frame.f_to_y[c];
    const double low = target - off;
    const double high = target + off;
    if (!(low > least_cube_root)) {
      return {};
    }
    double slope = frame.derivative[c];
    double at = target;
    if (share > 0) {
      slope = 1 / (white[c] * (low * low + low * high + high * high));
      at = low;
    }
    facing.coefficient[c] = share * slope;
    facing.constant += share * (at - target - slope * white[c] * at * at * at);
  }
  return facing;
}

SeenColour seen(const ViewFrame& frame, const std::array<float, 3>& xyz) {
  const Vec3 white = white_of(frame);
  SeenColour colour;
  for (std::size_t c = 0; c < 3; ++c) {
    colour.xyz[c] = static_cast<double>(xyz[c]);
    const CubeRoot root = cube_root(colour.xyz[c], white[c]);
    colour.f[c] = root.f;
    colour.slope[c] = root.slope;
  }
  return colour;
}

Vec3 offset(const ViewFrame& frame, const SeenColour& colour) {
  return mamelon::multiply(frame.lab_root, Vec3{colour.f[0] - frame.f[0], colour.f[1] - frame.f[1],
                                                colour.f[2] - frame.f[2]});
}

// f lies below its tangent; downward its slope goes as X^(−2/3) at most, and
// (1 + t)^(2/3) ≤ 1 + 2t/3.
double least_apart(const ViewFrame& frame, const SeenColour& colour, const CellSums& sums) {
  double apart = 0;
  for (std::size_t c = 0; c < 3; ++c) {
    const double x = colour.xyz[c];
    const double below = static_cast<double>(sums.below[c]);
    const double left = std::max(x - below, 1e-4 * x);
    const double low = colour.f[c] - colour.slope[c] * (1 + 2.0 / 3 * (x - left) / left) * below;
    const double high = colour.f[c] + colour.slope[c] * static_cast<double>(sums.above[c]);
    apart = std::max(apart, frame.f_to_y[c] * std::max(frame.f[c] - high, low - frame.f[c]));
  }
  return apart;
}

}  // namespace mamelon::detail

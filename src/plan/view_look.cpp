#include "plan/view_look.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "plan/cube_root.h"
#include "plan/small_algebra.h"

namespace mamelon::detail {
namespace {

// Rows of a bound with a blur well above this, or this share of the difference, count for little.
constexpr double row_scale = 0.3;
constexpr double row_share = 0.1;

// dLab/df.
constexpr Mat3 lab_of_f{{{0, 116, 0}, {500, -500, 0}, {0, 200, -200}}};

// For each coordinate, the least |m x| over all x with that coordinate 1: the inverse of a row of
// the inverse.
Vec3 least_per_axis(const Mat3& m) {
  const auto cofactor = [&](std::size_t i, std::size_t j) {
    const std::size_t r = (i + 1) % 3;
    const std::size_t q = (i + 2) % 3;
    const std::size_t c = (j + 1) % 3;
    const std::size_t d = (j + 2) % 3;
    return m[r][c] * m[q][d] - m[r][d] * m[q][c];
  };
  const double determinant =
      m[0][0] * cofactor(0, 0) + m[0][1] * cofactor(0, 1) + m[0][2] * cofactor(0, 2);
  Vec3 least{};
  for (std::size_t axis = 0; axis < 3; ++axis) {
    least[axis] =
        std::abs(determinant) / norm({cofactor(0, axis), cofactor(1, axis), cofactor(2, axis)});
  }
  return least;
}

// |m| v, coordinate by coordinate.
Vec3 multiply_sizes(const Mat3& m, const Vec3& v) {
  Vec3 out{};
  for (std::size_t i = 0; i < 3; ++i) {
    out[i] = std::abs(m[i][0]) * v[0] + std::abs(m[i][1]) * v[1] + std::abs(m[i][2]) * v[2];
  }
  return out;
}

// Adds the rows of value + columns x ± blur to a sum of squares, and the blur to its own. Rows that
// are little but blur count for less: a smaller weight only lowers the bound.
struct Rows {
  Vec3 value{};
  std::array<Vec3, 2> columns{};
  Vec3 blur{};
};
void add_rows(const Rows& rows, double weight, double scale, SumOfSquares& sum,
              double& blur_square) {
  Rows kept;
  for (std::size_t c = 0; c < 3; ++c) {
    const double share = scale * scale / (scale * scale + rows.blur[c] * rows.blur[c]);
    kept.value[c] = share * rows.value[c];
    kept.columns[0][c] = share * rows.columns[0][c];
    kept.columns[1][c] = share * rows.columns[1][c];
    kept.blur[c] = share * rows.blur[c];
  }
  sum.add(weight, kept.value, kept.columns);
  blur_square += weight * dot(kept.blur, kept.blur);
}

double as_double(float value) {
  return value;
}

}  // namespace

std::size_t slack_layer(std::size_t layers) {
  return layers > 1 ? 1 : 0;
}
std::size_t free_layer(std::size_t axis) {
  return axis == 0 ? 0 : 2;
}

ViewFrame make_frame(const Problem& problem, const View& view) {
  ViewFrame frame;
  frame.view = &view;
  frame.root = upper_root(view.metric);
  frame.inverse_root = inverse_upper(frame.root);
  frame.lab_root = mamelon::multiply(frame.root, lab_of_f);
  const Xyz target = to_xyz(view.target, view.white);
  const Vec3 xyz{target.x, target.y, target.z};
  const Vec3 white{view.white.x, view.white.y, view.white.z};
  for (std::size_t c = 0; c < 3; ++c) {
    const CubeRoot root = cube_root(xyz[c], white[c]);
    frame.f[c] = root.f;
    frame.derivative[c] = root.slope;
  }
  frame.f_to_y = least_per_axis(frame.lab_root);
  frame.floor = DistanceFloor(view.target, frame.inverse_root, problem.weights);
  return frame;
}

ViewTable make_view_table(const ViewFrame& frame, std::size_t bands, std::size_t padded) {
  ViewTable table;
  table.reach.resize(3 * padded);
  const Weights& weights = *frame.view->weights;
  const std::vector<double>* rows[3] = {&weights.x, &weights.y, &weights.z};
  for (const std::vector<double>* row : rows) {
    for (std::size_t i = 0; i < padded; ++i) {
      table.weights.push_back(static_cast<float>(i < bands ? (*row)[i] : 0));
    }
  }
  for (std::size_t i = 0; i < bands; ++i) {
    Vec3 df{};
    for (std::size_t c = 0; c < 3; ++c) {
      df[c] = frame.derivative[c] * (*rows[c])[i];
    }
    const Vec3 dy = mamelon::multiply(frame.lab_root, df);
    for (std::size_t c = 0; c < 3; ++c) {
      table.reach[c * padded + i] = static_cast<float>(std::abs(dy[c]));
    }
  }
  return table;
}

namespace {

void set_gradients(const ViewFrame& frame, const CellSums& sums, std::size_t slopes,
                   PointColour& point) {
  for (std::size_t j = 0; j < slopes; ++j) {
    Vec3 df{};
    for (std::size_t c = 0; c < 3; ++c) {
      df[c] = point.derivative[c] * as_double(sums.slope[j][c]);
    }
    point.gradient[j] = mamelon::multiply(frame.lab_root, df);
  }
}

}  // namespace

PointColour colour_at(const ViewFrame& frame, const CellSums& sums, std::size_t slopes) {
  const double white[3] = {frame.view->white.x, frame.view->white.y, frame.view->white.z};
  PointColour point;
  for (std::size_t c = 0; c < 3; ++c) {
    const CubeRoot root = cube_root(as_double(sums.xyz[c]), white[c]);
    point.f[c] = root.f;
    point.derivative[c] = root.slope;
  }
  point.lab = {116 * point.f[1] - 16, 500 * (point.f[0] - point.f[1]),
               200 * (point.f[1] - point.f[2])};
  set_gradients(frame, sums, slopes, point);
  return point;
}

ViewLook::ViewLook(const ViewFrame& frame, const CellSums& sums, const Travel& travel,
                   bool curved) {
  const std::size_t slopes = travel.layers + travel.floor_errors;
  point_ = colour_at(frame, sums, 0);
  const double white[3] = {frame.view->white.x, frame.view->white.y, frame.view->white.z};
  double apart = 0;  // |y| that one of X, Y, Z alone keeps
  darkest_ = 1;
  for (std::size_t c = 0; c < 3; ++c) {
    const double x = as_double(sums.xyz[c]);
    const double below = as_double(sums.below[c]);
    const double above = as_double(sums.above[c]);
    const double left = std::max(x - below, 1e-4 * x);
    fall_[c] = (x - left) / left;
    rise_[c] = above / x;
    darkest_ = std::min(darkest_, left / white[c]);
    // df/dX goes as X^(−2/3), and (1 + t)^(2/3) ≤ 1 + 2t/3.
    const double steepest = 1 + 2.0 / 3 * fall_[c];
    const double flattest = 1 / (1 + 2.0 / 3 * rise_[c]);
    const double slope_at_point = point_.derivative[c];
    if (!curved) {
      point_.derivative[c] *= (steepest + flattest) / 2;
    }
    relative_[c] = slope_at_point / point_.derivative[c] *
                   (curved ? std::max(steepest - 1, 1 - flattest) : (steepest - flattest) / 2);
    const double ratio = point_.derivative[c] / frame.derivative[c];
    theta_[c] = std::abs(ratio - 1) + relative_[c] * ratio;
    const double greatest_f = point_.f[c] + slope_at_point * above;
    const double least_f = point_.f[c] - slope_at_point * steepest * below;
    apart =
        std::max(apart, frame.f_to_y[c] * std::max(frame.f[c] - greatest_f, least_f - frame.f[c]));
  }
  set_gradients(frame, sums, slopes, point_);
  for (std::size_t j = 0; j < slopes; ++j) {
    Vec3 crooked{};  // what the change of df/dXYZ adds
    for (std::size_t c = 0; c < 3; ++c) {
      crooked[c] = theta_[c] * frame.derivative[c] * as_double(sums.slope_off[j][c]) +
                   relative_[c] * point_.derivative[c] * std::abs(as_double(sums.slope[j][c]));
    }
    crooked = multiply_sizes(frame.lab_root, crooked);
    const double weight = j < travel.layers ? travel.thickness_variance : 1;
    for (std::size_t c = 0; c < 3; ++c) {
      off_[j][c] = travel.trust * (as_double(sums.slope_off_y[j][c]) + crooked[c]);
      const double least = std::max(0.0, std::abs(point_.gradient[j][c]) - off_[j][c]);
      spread_ += weight * least * least;
    }
  }
  const Lab& target = frame.view->target;
  y_ = mamelon::multiply(
      frame.root, Vec3{point_.lab.l - target.l, point_.lab.a - target.a, point_.lab.b - target.b});
  for (std::size_t axis = 0; axis + 1 < travel.layers; ++axis) {
    Vec3 df{};
    Vec3 crooked{};
    for (std::size_t c = 0; c < 3; ++c) {
      const double slope = as_double(sums.exchange[axis][c]);
      df[c] = point_.derivative[c] * slope;
      crooked[c] = theta_[c] * frame.derivative[c] * as_double(sums.exchange_off[axis][c]) +
                   relative_[c] * point_.derivative[c] * std::abs(slope);
    }
    columns_[axis] = mamelon::multiply(frame.lab_root, df);
    crooked = multiply_sizes(frame.lab_root, crooked);
    double step = 0;
    for (std::size_t c = 0; c < 3; ++c) {
      column_off_[axis][c] = travel.trust * (as_double(sums.exchange_off_y[axis][c]) + crooked[c]);
      blur_[c] += travel.reach[axis] * column_off_[axis][c];
      step += travel.reach[axis] * column_off_[axis][c];
    }
    doubt_[axis] = step + 0.25 * travel.reach[axis] * norm(columns_[axis]);
  }
  Rows rows;
  rows.value = y_;
  rows.columns = columns_;
  rows.blur = blur_;
  SumOfSquares sum;
  double blur_square = 0;
  add_rows(rows, 1, row_scale + row_share * norm(rows.value), sum, blur_square);
  rounding_ = travel.rounding;
  const double nearest =
      std::sqrt(sum.least(travel.region)) - std::sqrt(blur_square) - travel.rounding;
  de_ = frame.floor(std::max({nearest, apart, 0.0}));
}

bool ViewLook::contract(const ViewFrame& frame, double enough, Region& region) const {
  const double most = frame.floor.reach(enough) + rounding_;
  if (!std::isfinite(most)) {
    return true;
  }
  for (std::size_t axis = 0; axis < region.unknowns; ++axis) {
    const std::size_t other = 1 - axis;
    for (std::size_t c = 0; c < 3; ++c) {
      const auto least = [&](std::size_t a, double x) {
        return x * columns_[a][c] - std::abs(x) * column_off_[a][c];
      };
      const auto greatest = [&](std::size_t a, double x) {
        return x * columns_[a][c] + std::abs(x) * column_off_[a][c];
      };
      double rest_low = y_[c];
      double rest_high = y_[c];
      if (region.unknowns == 2) {
        rest_low += std::min(least(other, region.low[other]), least(other, region.high[other]));
        rest_high +=
            std::max(greatest(other, region.low[other]), greatest(other, region.high[other]));
      }
      // On either side of the point, where both bounds are straight, what is allowed is one
      // interval.
      double low = std::numeric_limits<double>::infinity();
      double high = -low;
      for (const double end : {region.low[axis], region.high[axis]}) {
        double from = 0;
        double to = 1;  // shares of `end`
        const auto keep_at_most = [&](double per_share, double room) {
          if (per_share > 0) {
            to = std::min(to, room / per_share);
          } else if (per_share < 0) {
            from = std::max(from, room / per_share);
          } else if (room < 0) {
            to = -1;
          }
        };
        keep_at_most(least(axis, end), most - rest_low);
        keep_at_most(-greatest(axis, end), most + rest_high);
        if (from <= to) {
          low = std::min({low, from * end, to * end});
          high = std::max({high, from * end, to * end});
        }
      }
      region.low[axis] = std::max(region.low[axis], low);
      region.high[axis] = std::min(region.high[axis], high);
      if (region.low[axis] > region.high[axis]) {
        return false;
      }
    }
  }
  return true;
}

// The change of a gradient along the free thicknesses at the point, and how far off that is.
struct ViewLook::Turn {
  std::array<Vec3, 2> columns{};
  Vec3 blur{};
};

ViewLook::Turn ViewLook::turn_of(const ViewFrame& frame, const CellSums& sums, const Travel& travel,
                                 std::size_t layer) const {
  // d(f'(X) s)/dδ = f'' X' s + f' s' in each of X, Y, Z, s the slope of the layer and X' that along
  // the free thickness; f'' = −2/3 f' / X.
  const std::size_t slack = slack_layer(travel.layers);
  Turn turn;
  for (std::size_t axis = 0; axis + 1 < travel.layers; ++axis) {
    const std::size_t j = free_layer(axis);
    const std::size_t with = pair_of(layer, j);
    const std::size_t without = pair_of(layer, slack);
    Vec3 df{};
    Vec3 crooked{};
    for (std::size_t c = 0; c < 3; ++c) {
      const double along = as_double(sums.slope[j][c]) - as_double(sums.slope[slack][c]);
      const double along_off =
          as_double(sums.slope_off[j][c]) + as_double(sums.slope_off[slack][c]);
      const double slope = as_double(sums.slope[layer][c]);
      const double slope_off = as_double(sums.slope_off[layer][c]);
      const double bend = as_double(sums.bend[with][c]) - as_double(sums.bend[without][c]);
      const double bend_off =
          as_double(sums.bend_off[with][c]) + as_double(sums.bend_off[without][c]);
      const double second = -2.0 / 3 * point_.derivative[c] / as_double(sums.xyz[c]);
      df[c] = second * along * slope + point_.derivative[c] * bend;
      // f'' goes as X^(−5/3), less than X^(−2) downward; upward by the tangent.
      const double bent = std::max((1 + fall_[c]) * (1 + fall_[c]) - 1, 5.0 / 3 * rise_[c]);
      const double product_off =
          std::abs(along) * slope_off + std::abs(slope) * along_off + slope_off * along_off;
      crooked[c] = std::abs(second) * (product_off * (1 + bent) + std::abs(along * slope) * bent) +
                   relative_[c] * point_.derivative[c] * std::abs(bend) +
                   theta_[c] * frame.derivative[c] * bend_off;
    }
    turn.columns[axis] = mamelon::multiply(frame.lab_root, df);
    crooked = multiply_sizes(frame.lab_root, crooked);
    for (std::size_t c = 0; c < 3; ++c) {
      turn.blur[c] += travel.reach[axis] * travel.trust *
                      (as_double(sums.bend_off_y[with][c]) +
                       as_double(sums.bend_off_y[without][c]) + crooked[c]);
    }
  }
  return turn;
}

void ViewLook::add_to(const ViewFrame& frame, const CellSums& sums, const Travel& travel,
                      bool curved, const DifferenceWeights& weights, SumOfSquares& sum,
                      double& blur_square, double& constant) const {
  const double weight = frame.view->weight;
  const double variance = travel.thickness_variance;
  const bool bends = curved && darkest_ > cie_epsilon;
  Vec3 blur = blur_;
  std::array<Vec3, most_slopes> off = off_;
  std::array<Turn, most_layers> turns;
  if (bends) {
    for (std::size_t j = 0; j < travel.layers; ++j) {
      turns[j] = turn_of(frame, sums, travel, j);
      for (std::size_t c = 0; c < 3; ++c) {
        off[j][c] = std::min(off[j][c], turns[j].blur[c] +
                                            travel.reach[0] * std::abs(turns[j].columns[0][c]) +
                                            travel.reach[1] * std::abs(turns[j].columns[1][c]));
      }
    }
    // The columns turn as the gradients they are made of; a change that grows along the way counts
    // half.
    const std::size_t slack = slack_layer(travel.layers);
    Vec3 half{};
    for (std::size_t axis = 0; axis + 1 < travel.layers; ++axis) {
      const Turn& taker = turns[free_layer(axis)];
      for (std::size_t c = 0; c < 3; ++c) {
        double turn = taker.blur[c] + turns[slack].blur[c];
        for (std::size_t a = 0; a + 1 < travel.layers; ++a) {
          turn += travel.reach[a] * std::abs(taker.columns[a][c] - turns[slack].columns[a][c]);
        }
        half[c] += 0.5 * travel.reach[axis] * std::min(turn, 2 * column_off_[axis][c]);
      }
    }
    for (std::size_t c = 0; c < 3; ++c) {
      blur[c] = std::min(blur[c], half[c]);
    }
  }

  const Lab& target = frame.view->target;
  const std::array<Vec3, 2> in_lab{mamelon::multiply(frame.inverse_root, columns_[0]),
                                   mamelon::multiply(frame.inverse_root, columns_[1])};
  const Vec3 blur_in_lab = multiply_sizes(frame.inverse_root, blur);
  ColourBox box{point_.lab, {}};
  for (std::size_t i = 0; i < 3; ++i) {
    box.half[i] = std::abs(in_lab[0][i]) * travel.reach[0] +
                  std::abs(in_lab[1][i]) * travel.reach[1] + blur_in_lab[i];
  }
  const Mat3 m = least_difference(target, box, weights);
  Rows rows;
  rows.value = mamelon::multiply(
      m, Vec3{point_.lab.l - target.l, point_.lab.a - target.a, point_.lab.b - target.b});
  rows.columns = {mamelon::multiply(m, in_lab[0]), mamelon::multiply(m, in_lab[1])};
  rows.blur = multiply_sizes(mamelon::multiply(m, frame.inverse_root), blur);
  const double scale = row_scale + row_share * norm(rows.value);
  add_rows(rows, weight, scale, sum, blur_square);

  for (std::size_t j = 0; j < travel.layers + travel.floor_errors; ++j) {
    Rows turning;
    const double share = weight * (j < travel.layers ? variance : 1);
    for (std::size_t c = 0; c < 3; ++c) {
      if (bends && j < travel.layers && turns[j].blur[c] < 0.7 * off[j][c]) {
        turning.value[c] = point_.gradient[j][c];
        turning.columns[0][c] = turns[j].columns[0][c];
        turning.columns[1][c] = turns[j].columns[1][c];
        turning.blur[c] = turns[j].blur[c];
      } else {
        const double least = std::max(0.0, std::abs(point_.gradient[j][c]) - off[j][c]);
        constant += share * least * least;
      }
    }
    if (bends && j < travel.layers && variance > 0) {
      add_rows(turning, share, scale / std::sqrt(variance), sum, blur_square);
    }
  }
}

}  // namespace mamelon::detail

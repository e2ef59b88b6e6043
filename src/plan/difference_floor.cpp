#include "plan/difference_floor.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "plan/small_algebra.h"

namespace mamelon::detail {
namespace {

constexpr double twenty_five_to_7 = 6103515625;
// |dT/dh| ≤ 0.17 + 2·0.24 + 3·0.32 + 4·0.20 and T ≤ 1 + 0.17 + 0.24 + 0.32 + 0.20.
constexpr double greatest_hue_slope = 2.41;
constexpr double greatest_hue_factor = 1.93;

constexpr double first_radius = 0.1;
double shell_radius(std::size_t i) {
  return first_radius * static_cast<double>(i * i);
}

// √(C⁷ / (C⁷ + 25⁷)), which rises with C.
double chroma_share(double mean_chroma) {
  const double c2 = mean_chroma * mean_chroma;
  const double c7 = c2 * c2 * c2 * mean_chroma;
  return std::sqrt(c7 / (c7 + twenty_five_to_7));
}

// T of CIEDE2000 for a hue of cosine c and sine s.
double hue_factor(double c, double s) {
  constexpr double cos_30 = 0.86602540378443865;
  constexpr double cos_6 = 0.99452189536827333;
  constexpr double sin_6 = 0.10452846326765347;
  constexpr double cos_63 = 0.45399049973954675;
  constexpr double sin_63 = 0.89100652418836786;
  const double c2 = c * c - s * s;
  const double s2 = 2 * c * s;
  const double c3 = c2 * c - s2 * s;
  const double s3 = s2 * c + c2 * s;
  const double c4 = c2 * c2 - s2 * s2;
  const double s4 = 2 * c2 * s2;
  return 1 - 0.17 * (c * cos_30 + s * 0.5) + 0.24 * c2 + 0.32 * (c3 * cos_6 - s3 * sin_6) -
         0.20 * (c4 * cos_63 + s4 * sin_63);
}

// An upper bound of asin(x) for 0 ≤ x ≤ 0.7.
double arc(double x) {
  return 1.12 * x;
}

// What the box says of the pair of target and sample.
struct Pair {
  double g = 1;      // middle of 1 + G
  double g_off = 0;  // most that it is off
  double c1 = 0;     // chroma of the target, with the middle g
  double c1_off = 0;
  double c2 = 0;  // chroma of the box's centre
  double c2_off = 0;
  double mean_c = 0;  // greatest mean chroma
};

Pair pair_of(const Lab& target, const ColourBox& box) {
  const Lab& q = box.centre;
  const double reach = std::hypot(box.half[1], box.half[2]);
  const double plain1 = std::hypot(target.a, target.b);
  const double plain2 = std::hypot(q.a, q.b);
  const double most = 1 + 0.5 * (1 - chroma_share((plain1 + std::max(0.0, plain2 - reach)) / 2));
  const double least = 1 + 0.5 * (1 - chroma_share((plain1 + plain2 + reach) / 2));
  Pair pair;
  pair.g = (most + least) / 2;
  pair.g_off = (most - least) / 2;
  pair.c1 = std::hypot(pair.g * target.a, target.b);
  pair.c1_off = pair.g_off * std::abs(target.a);
  pair.c2 = std::hypot(pair.g * q.a, q.b);
  pair.c2_off = std::hypot(most * box.half[1], box.half[2]) + pair.g_off * std::abs(q.a);
  pair.mean_c = (pair.c1 + pair.c1_off + pair.c2 + pair.c2_off) / 2;
  return pair;
}

// (2 √(C1 C2) / (C1 + C2))², least over both chromas' ranges.
double least_hue_share(const Pair& pair) {
  const auto share = [](double q) { return 4 * q / ((1 + q) * (1 + q)); };
  const double low = (pair.c2 - pair.c2_off) / (pair.c1 + pair.c1_off);
  const double high = (pair.c2 + pair.c2_off) / std::max(1e-12, pair.c1 - pair.c1_off);
  return std::min(share(low), share(high));
}

// Weights along and across the mean hue; nothing where the hue is too wide.
struct HueFrame {
  double c = 1;  // of the mean hue
  double s = 0;
  double along = 0;
  double across = 0;
  double turn = 0;  // most that the mean hue is off, in radians
};
std::optional<HueFrame> hue_frame(const Lab& target, const ColourBox& box, const Pair& pair,
                                  double along, const DifferenceWeights& weights) {
  constexpr double widest = 0.7;
  if (!(pair.c1 > 0) || !(pair.c2 > 0) || pair.c1_off > widest * pair.c1 ||
      pair.c2_off > widest * pair.c2) {
    return {};
  }
  const double c = pair.g * target.a / pair.c1 + pair.g * box.centre.a / pair.c2;
  const double s = target.b / pair.c1 + box.centre.b / pair.c2;
  const double size = std::hypot(c, s);
  if (size < 1) {
    return {};
  }
  HueFrame frame{c / size, s / size, along, 0, 0};
  const double turn = (arc(pair.c1_off / pair.c1) + arc(pair.c2_off / pair.c2)) / 2;
  frame.turn = turn;
  const double t = hue_factor(frame.c, frame.s) + greatest_hue_slope * turn;
  const double sh = 1 + 0.015 * pair.mean_c * std::min(t, greatest_hue_factor);
  frame.across = std::sqrt(least_hue_share(pair)) / (weights.kh * sh);
  // 1 / cos(Δh/2), Δh off by twice the turn.
  const double cosine = size / 2;
  frame.along /= std::min(1.0, cosine + std::sqrt(std::max(0.0, 1 - cosine * cosine)) * turn);
  // Turning the frame by `turn` keeps at least this share of the form (Gershgorin), and g off by
  // `g_off` this share of its root.
  const double least = std::min(frame.along, frame.across);
  const double most = std::max(frame.along, frame.across);
  const double uneven = most / least;
  const double turned =
      1 - (uneven - 1 / uneven) * turn - (1 - 1 / (uneven * uneven)) * turn * turn;
  const double stretched = 1 - pair.g_off / pair.g * uneven;
  if (turned <= 0 || stretched <= 0) {
    return {};
  }
  const double kept = std::sqrt(turned) * stretched;
  frame.along *= kept;
  frame.across *= kept;
  return frame;
}

// Most of |R_T|, which is alive near a mean hue of 275° only.
double greatest_rotation(const std::optional<HueFrame>& frame, const Pair& pair) {
  constexpr double cos_275 = 0.08715574274765817;
  constexpr double sin_275 = -0.99619469809174555;
  constexpr double sin_60 = 0.86602540378443865;
  double sine = sin_60;
  if (frame && frame->c * cos_275 + frame->s * sin_275 < -0.2) {
    // More than 101° away less a turn of up to 11° or 45°: sin(60° exp(−(90/25)²)) and with 56°.
    sine = frame->turn < 0.19 ? 3e-6 : 0.007;
  }
  return 2 * chroma_share(pair.mean_c) * sine;
}

}  // namespace

Mat3 least_difference(const Lab& target, const ColourBox& box, const DifferenceWeights& weights) {
  const double mean_l = (target.l + box.centre.l) / 2;
  const double from_50 = std::abs(mean_l - 50) + box.half[0] / 2;
  const double square = from_50 * from_50;
  const double sl = 1 + 0.015 * square / std::sqrt(20 + square);
  const Pair pair = pair_of(target, box);
  const double along = 1 / (weights.kc * (1 + 0.045 * pair.mean_c));
  const std::optional<HueFrame> frame = hue_frame(target, box, pair, along, weights);
  const double kept = std::sqrt(1 - greatest_rotation(frame, pair) / 2);

  Mat3 m{};
  m[0][0] = 1 / (weights.kl * sl);
  if (frame) {
    m[1] = {0, kept * frame->along * pair.g * frame->c, kept * frame->along * frame->s};
    m[2] = {0, -kept * frame->across * pair.g * frame->s, kept * frame->across * frame->c};
  } else {
    const double across = 1 / (weights.kh * (1 + 0.015 * pair.mean_c * greatest_hue_factor));
    const double both = kept * std::min(along, across);
    m[1][1] = both * (pair.g - pair.g_off);
    m[2][2] = both;
  }
  return m;
}

DistanceFloor::DistanceFloor(const Lab& target, const Mat3& inverse_root,
                             const DifferenceWeights& weights) {
  for (std::size_t i = 0; i < shells; ++i) {
    ColourBox box{target, {}};
    for (std::size_t c = 0; c < 3; ++c) {
      box.half[c] = shell_radius(i + 1) * norm(inverse_root[c]);
    }
    stretch_[i] = stretch_of(multiply(least_difference(target, box, weights), inverse_root)).least;
  }
  // No reflectance has a colour outside this box.
  const ColourBox all{{50, 0, 0}, {50, 200, 200}};
  double least = shell_radius(shells) *
                 stretch_of(multiply(least_difference(target, all, weights), inverse_root)).least;
  for (std::size_t i = shells; i-- > 0;) {
    beyond_[i] = least;
    least = std::min(least, stretch_[i] * shell_radius(i));
  }
}

double DistanceFloor::operator()(double distance) const {
  if (distance >= shell_radius(shells)) {
    return beyond_[shells - 1];
  }
  const auto shell = std::min(
      shells - 1, static_cast<std::size_t>(std::sqrt(std::max(0.0, distance) / first_radius)));
  return std::min(stretch_[shell] * distance, beyond_[shell]);
}

double DistanceFloor::reach(double de) const {
  for (std::size_t i = 0; i < shells; ++i) {
    const double distance = de / stretch_[i];
    if (beyond_[i] >= de && distance <= shell_radius(i + 1)) {
      return std::max(distance, shell_radius(i));
    }
  }
  return std::numeric_limits<double>::infinity();
}

}  // namespace mamelon::detail

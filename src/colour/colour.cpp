#include "mamelon/colour.h"

#include <cmath>

#include "mamelon/error.h"

#include "colour/hue_difference.h"
#include "colour/vectors.h"

namespace mamelon {
namespace {

constexpr double epsilon = 216.0 / 24389.0;
constexpr double kappa = 24389.0 / 27.0;
using detail::degree;

double lightness_function(double t) {
  return t > epsilon ? std::cbrt(t) : (kappa * t + 16) / 116;
}

double lightness_slope(double t) {
  if (!(t > epsilon)) return kappa / 116;
  const double root = std::cbrt(t);
  return 1 / (3 * root * root);
}

double inverse_lightness_function(double f) {
  const double cube = f * f * f;
  return cube > epsilon ? cube : (116 * f - 16) / kappa;
}

double inverse_lightness_slope(double f) {
  return f * f * f > epsilon ? 3 * f * f : 116 / kappa;
}

template <class To, class From>
Measured<To> carried(const Measured<From>& from, const To& value, const Mat3& jacobian) {
  return {value, propagate(jacobian, from.random), propagate(jacobian, from.shared), from.dof};
}

struct Transform {
  Mat3 forward;
  Mat3 backward;
};

const Transform& cat16() {
  static const Transform transform{detail::cat16_matrix, detail::inverse(detail::cat16_matrix)};
  return transform;
}

// The linear Bradford matrix of ICC.1 (annex E).
const Transform& bradford() {
  static const Transform transform = [] {
    constexpr Mat3 m = {
        {{0.8951, 0.2664, -0.1614}, {-0.7502, 1.7135, 0.0367}, {0.0389, -0.0685, 1.0296}}};
    return Transform{m, detail::inverse(m)};
  }();
  return transform;
}

}  // namespace

Lab to_lab(const Xyz& xyz, const Xyz& white) {
  const double fx = lightness_function(xyz.x / white.x);
  const double fy = lightness_function(xyz.y / white.y);
  const double fz = lightness_function(xyz.z / white.z);
  return {116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)};
}

Xyz to_xyz(const Lab& lab, const Xyz& white) {
  const double fy = (lab.l + 16) / 116;
  const double fx = fy + lab.a / 500;
  const double fz = fy - lab.b / 200;
  return {white.x * inverse_lightness_function(fx), white.y * inverse_lightness_function(fy),
          white.z * inverse_lightness_function(fz)};
}

Lch to_lch(const Lab& lab) {
  const double chroma = std::sqrt(lab.a * lab.a + lab.b * lab.b);
  if (lab.a == 0 && lab.b == 0) return {lab.l, chroma, 0};
  double hue = std::atan2(lab.b, lab.a) / degree;
  if (hue < 0) hue += 360;
  // A hue just below 0 rounds to 360, which is written 0; adding 0 turns −0 into 0.
  return {lab.l, chroma, hue >= 360 ? 0 : hue + 0.0};
}

Lab to_lab(const Lch& lch) {
  const double hue = lch.h_deg * degree;
  return {lch.l, lch.c * std::cos(hue), lch.c * std::sin(hue)};
}

Mat3 lab_jacobian(const Xyz& xyz, const Xyz& white) {
  const double dx = lightness_slope(xyz.x / white.x) / white.x;
  const double dy = lightness_slope(xyz.y / white.y) / white.y;
  const double dz = lightness_slope(xyz.z / white.z) / white.z;
  return {{{0, 116 * dy, 0}, {500 * dx, -500 * dy, 0}, {0, 200 * dy, -200 * dz}}};
}

Mat3 xyz_jacobian(const Lab& lab, const Xyz& white) {
  const double fy = (lab.l + 16) / 116;
  const double dx = white.x * inverse_lightness_slope(fy + lab.a / 500);
  const double dy = white.y * inverse_lightness_slope(fy);
  const double dz = white.z * inverse_lightness_slope(fy - lab.b / 200);
  return {{{dx / 116, dx / 500, 0}, {dy / 116, 0, 0}, {dz / 116, 0, -dz / 200}}};
}

Mat3 lch_jacobian(const Lab& lab) {
  const double c = std::sqrt(lab.a * lab.a + lab.b * lab.b);
  if (!(c > 0))
    throw ArgumentError(
        "hue has no derivative at zero chroma; state the uncertainty of a* and b* instead");
  return {{{1, 0, 0},
           {0, lab.a / c, lab.b / c},
           {0, -lab.b / (c * c) / degree, lab.a / (c * c) / degree}}};
}

Measured<Lab> measured_lab(const Measured<Xyz>& xyz, const Xyz& white) {
  return carried(xyz, to_lab(xyz.value, white), lab_jacobian(xyz.value, white));
}

Measured<Xyz> measured_xyz(const Measured<Lab>& lab, const Xyz& white) {
  return carried(lab, to_xyz(lab.value, white), xyz_jacobian(lab.value, white));
}

Measured<Lch> measured_lch(const Measured<Lab>& lab) {
  return carried(lab, to_lch(lab.value), lch_jacobian(lab.value));
}

Mat3 adaptation_matrix(const Xyz& from_white, const Xyz& to_white, Adaptation method) {
  const Transform& transform = method == Adaptation::cat16 ? cat16() : bradford();
  const Vec3 from = multiply(transform.forward, Vec3{from_white.x, from_white.y, from_white.z});
  const Vec3 to = multiply(transform.forward, Vec3{to_white.x, to_white.y, to_white.z});
  const Vec3 gain{to[0] / from[0], to[1] / from[1], to[2] / from[2]};
  return multiply(transform.backward, multiply(diagonal(gain), transform.forward));
}

Measured<Xyz> measured_adapted(const Measured<Xyz>& xyz, const Xyz& from_white, const Xyz& to_white,
                               Adaptation method) {
  return carried(xyz, adapt(xyz.value, from_white, to_white, method),
                 adaptation_matrix(from_white, to_white, method));
}

Xyz adapt(const Xyz& xyz, const Xyz& from_white, const Xyz& to_white, Adaptation method) {
  const Transform& transform = method == Adaptation::cat16 ? cat16() : bradford();
  Vec3 cone = multiply(transform.forward, Vec3{xyz.x, xyz.y, xyz.z});
  const Vec3 from = multiply(transform.forward, Vec3{from_white.x, from_white.y, from_white.z});
  const Vec3 to = multiply(transform.forward, Vec3{to_white.x, to_white.y, to_white.z});
  for (std::size_t i = 0; i < 3; ++i) cone[i] *= to[i] / from[i];
  const Vec3 adapted = multiply(transform.backward, cone);
  return {adapted[0], adapted[1], adapted[2]};
}

}  // namespace mamelon

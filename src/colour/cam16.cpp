#include <algorithm>
#include <cmath>
#include <numbers>

#include "mamelon/colour.h"
#include "mamelon/error.h"

#include "colour/vectors.h"

namespace mamelon {
namespace {

struct SurroundFactors {
  double f;
  double c;
  double nc;
};

SurroundFactors factors_of(Surround surround) {
  switch (surround) {
    case Surround::average:
      return {1.0, 0.69, 1.0};
    case Surround::dim:
      return {0.9, 0.59, 0.9};
    case Surround::dark:
      break;
  }
  return {0.8, 0.525, 0.8};
}

Vec3 cone_of(const Xyz& xyz) {
  return multiply(detail::cat16_matrix, Vec3{100 * xyz.x, 100 * xyz.y, 100 * xyz.z});
}

double compress(double response, double fl) {
  const double power = std::pow(fl * std::fabs(response) / 100, 0.42);
  return std::copysign(400 * power / (27.13 + power), response);
}

double achromatic(const Vec3& response) {
  return 2 * response[0] + response[1] + response[2] / 20;
}

void check(const Cam16Conditions& conditions) {
  if (!(conditions.adapting_luminance_cd_m2 > 0))
    throw ArgumentError("CAM16 needs an adapting luminance above 0 cd/m2");
  if (!(conditions.background_y > 0 && conditions.background_y <= 1))
    throw ArgumentError("CAM16 needs the Y of the background in (0, 1], for instance 0.2");
  if (!(conditions.white.x > 0 && conditions.white.y > 0 && conditions.white.z > 0))
    throw ArgumentError("CAM16 needs a white with X, Y and Z above 0");
}

}  // namespace

Cam16Ucs to_cam16_ucs(const Xyz& xyz, const Cam16Conditions& conditions) {
  check(conditions);
  const SurroundFactors surround = factors_of(conditions.surround);
  const double la = conditions.adapting_luminance_cd_m2;
  const double adapted = std::clamp(surround.f * (1 - std::exp((-la - 42) / 92) / 3.6), 0.0, 1.0);
  const double k = 1 / (5 * la + 1);
  const double k4 = k * k * k * k;
  const double fl = 0.2 * k4 * (5 * la) + 0.1 * (1 - k4) * (1 - k4) * std::cbrt(5 * la);
  const double n = conditions.background_y / conditions.white.y;
  const double nbb = 0.725 * std::pow(1 / n, 0.2);
  const double z = 1.48 + std::sqrt(n);

  const Vec3 white = cone_of(conditions.white);
  const Vec3 cone = cone_of(xyz);
  Vec3 white_response{};
  Vec3 response{};
  for (std::size_t i = 0; i < 3; ++i) {
    const double gain = adapted * 100 * conditions.white.y / white[i] + 1 - adapted;
    white_response[i] = compress(gain * white[i], fl);
    response[i] = compress(gain * cone[i], fl);
  }

  const double a = response[0] - 12 * response[1] / 11 + response[2] / 11;
  const double b = (response[0] + response[1] - 2 * response[2]) / 9;
  // The factor Nbb of both achromatic responses cancels in J; a negative ratio, of a colour outside
  // the real ones, has no lightness.
  const double ratio = std::fmax(0.0, achromatic(response) / achromatic(white_response));
  const double lightness = 100 * std::pow(ratio, surround.c * z);

  const double saturation = std::sqrt(a * a + b * b);
  const double hue = std::atan2(b, a);
  const double eccentricity = (std::cos(hue + 2) + 3.8) / 4;
  const double t = 50000.0 / 13 * surround.nc * nbb * eccentricity * saturation /
                   (response[0] + response[1] + 1.05 * response[2] + 0.305);
  const double colourfulness = std::pow(std::fmax(0.0, t), 0.9) * std::sqrt(lightness / 100) *
                               std::pow(1.64 - std::pow(0.29, n), 0.73) * std::pow(fl, 0.25);

  const double uniform = std::log1p(0.0228 * colourfulness) / 0.0228;
  const double scale = saturation > 0 ? uniform / saturation : 0;
  return {1.7 * lightness / (1 + 0.007 * lightness), scale * a, scale * b};
}

}  // namespace mamelon

#include "mamelon/difference.h"

#include <cmath>
#include <numbers>

#include "colour/hue_difference.h"

namespace mamelon {
namespace {

constexpr double pi = std::numbers::pi;
using detail::degree;

// The sign of p·q − r·s, exact short of underflow: rounding keeps order, so unequal rounded
// products decide, and equal ones leave it to their rounding errors.
int sign_of_difference(double p, double q, double r, double s) {
  const double pq = p * q;
  const double rs = r * s;
  if (pq > rs) return 1;
  if (pq < rs) return -1;
  const double pq_error = std::fma(p, q, -pq);
  const double rs_error = std::fma(r, s, -rs);
  return pq_error > rs_error ? 1 : (pq_error < rs_error ? -1 : 0);
}

// 1 + G scales a* to a'; it depends on the mean chroma of the pair.
double a_scale(double mean_chroma) {
  const double c2 = mean_chroma * mean_chroma;
  const double c7 = c2 * c2 * c2 * mean_chroma;
  constexpr double twenty_five_to_7 = 6103515625;
  return 1 + 0.5 * (1 - std::sqrt(c7 / (c7 + twenty_five_to_7)));
}

double rotation_chroma(double mean_chroma) {
  const double c2 = mean_chroma * mean_chroma;
  const double c7 = c2 * c2 * c2 * mean_chroma;
  constexpr double twenty_five_to_7 = 6103515625;
  return 2 * std::sqrt(c7 / (c7 + twenty_five_to_7));
}

double hue(double b, double a_prime) {
  const double h = std::atan2(b, a_prime);
  return h < 0 ? h + 2 * pi : h;
}

}  // namespace

SignedDifference de00_parts(const Lab& reference, const Lab& sample,
                            const DifferenceWeights& weights) {
  const Lab& p = reference;
  const Lab& q = sample;
  const double scale =
      a_scale((std::sqrt(p.a * p.a + p.b * p.b) + std::sqrt(q.a * q.a + q.b * q.b)) / 2);
  const double a1 = scale * p.a;
  const double a2 = scale * q.a;
  const double c1 = std::sqrt(a1 * a1 + p.b * p.b);
  const double c2 = std::sqrt(a2 * a2 + q.b * q.b);
  const double h1 = hue(p.b, a1);
  const double h2 = hue(q.b, a2);
  const bool achromatic = c1 == 0 || c2 == 0;

  // a1'b2 − a2'b1 = (1 + G)(a1 b2 − a2 b1) is the sine of the turn from reference to sample times
  // both chromas. Its sign, taken exactly from the coordinates as given, says which way round is
  // shorter; where it is 0 and the colours stand opposite, ISO/CIE 11664-6 keeps the plain mean.
  const int turn = achromatic ? 0 : sign_of_difference(p.a, q.b, q.a, p.b);

  double dh = 0;
  double mean_hue = h1 + h2;  // where one colour has no hue, the other's
  if (!achromatic) {
    dh = detail::hue_difference(a1, p.b, c1, a2, q.b, c2);
    // Near the half turn the exact sign rules, and at it the order of the hues.
    if (a1 * a2 + p.b * q.b < 0)
      dh = std::copysign(dh, turn < 0 || (turn == 0 && h2 < h1) ? -1.0 : 1.0);
    mean_hue /= 2;
    const bool past_180 = (h2 > h1 && turn < 0) || (h2 < h1 && turn > 0);
    if (past_180) {
      // h1 + h2 < 360° exactly when a1 b2 + a2 b1 < 0 for two hues on either side of 0°.
      const bool below_360 = sign_of_difference(p.a, q.b, -q.a, p.b) < 0;
      mean_hue += below_360 ? pi : -pi;
    }
  }

  const double mean_l = (p.l + q.l) / 2;
  const double mean_c = (c1 + c2) / 2;
  const double l50 = (mean_l - 50) * (mean_l - 50);
  const double t = 1 - 0.17 * std::cos(mean_hue - 30 * degree) + 0.24 * std::cos(2 * mean_hue) +
                   0.32 * std::cos(3 * mean_hue + 6 * degree) -
                   0.20 * std::cos(4 * mean_hue - 63 * degree);
  const double from_blue = (mean_hue / degree - 275) / 25;
  const double rotation_angle = 30 * degree * std::exp(-from_blue * from_blue);
  const double rotation = -std::sin(2 * rotation_angle) * rotation_chroma(mean_c);
  const double sl = 1 + 0.015 * l50 / std::sqrt(20 + l50);
  const double sc = 1 + 0.045 * mean_c;
  const double sh = 1 + 0.015 * mean_c * t;

  SignedDifference parts;
  parts.dl = (q.l - p.l) / (weights.kl * sl);
  parts.dc = (c2 - c1) / (weights.kc * sc);
  parts.dh = dh / (weights.kh * sh);
  parts.de = std::sqrt(parts.dl * parts.dl + parts.dc * parts.dc + parts.dh * parts.dh +
                       rotation * (parts.dc * parts.dh));
  return parts;
}

double de00(const Lab& reference, const Lab& sample, const DifferenceWeights& weights) {
  return de00_parts(reference, sample, weights).de;
}

double de76(const Lab& reference, const Lab& sample) {
  const double dl = sample.l - reference.l;
  const double da = sample.a - reference.a;
  const double db = sample.b - reference.b;
  return std::sqrt(dl * dl + da * da + db * db);
}

}  // namespace mamelon

#include "capture/describe_fit.h"

#include <algorithm>

#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "base/numbers.h"
#include "capture/algebra.h"

namespace mamelon::detail {
namespace {

double median_of(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return (values[(values.size() - 1) / 2] + values[values.size() / 2]) / 2;
}

}  // namespace

void describe_patches(const Calibration& c, CardFit& fit) {
  std::size_t at = 0;
  std::vector<double> loo;
  for (PatchFit& p : fit.patches) {
    if (!p.used) continue;
    p.fitted = to_lab(to_xyz(c.map->of_patch(c.training.patches[at]).xyz), c.training.white);
    p.de00 = de00(p.reference, p.fitted);
    // A grey card has nothing to leave out: its error is its fit's.
    const Eigen::Vector3d e = c.errors.empty()
                                  ? Eigen::Vector3d(to_eigen(p.fitted) - to_eigen(p.reference))
                                  : c.errors[at].error;
    p.loo_de00 =
        de00(p.reference, {p.reference.l + e[0], p.reference.a + e[1], p.reference.b + e[2]});
    loo.push_back(p.loo_de00);
    ++at;
  }
  if (loo.empty()) return;
  fit.loo_de00_max = *std::max_element(loo.begin(), loo.end());
  fit.loo_de00_median = median_of(loo);
}

void check_agreement(const std::string& with, const Calibration& c, const CardFit& fit) {
  // The average camera may be that far off at strong colours.
  if (c.method == CorrectionMethod::grey) return;
  constexpr double told = 1.5;  // of cards whose rendering could be told: 0.6 at most in simulation
  if (c.tone && fit.loo_de00_median > told) {
    throw CaptureError(
        "the camera's rendering cannot be told from the card's neutrals: patches left out are "
        "missed "
        "by ΔE00 " +
        format_fixed(fit.loo_de00_median, 1) +
        " (median); use a raw, linear or unrendered sRGB export");
  }
  // The estimate bends itself to patches that it was fitted to; those left out tell. The ends of a
  // tone curve disagree with any card.
  const bool left_out = c.method == CorrectionMethod::response_estimate && !c.tone;
  const auto error = [left_out](const PatchFit& p) { return left_out ? p.loo_de00 : p.de00; };
  std::vector<const PatchFit*> far;
  std::size_t used = 0;
  for (const PatchFit& p : fit.patches) {
    if (!p.used) continue;
    ++used;
    if (error(p) > 3) far.push_back(&p);
  }
  if (3 * far.size() <= used) return;
  std::sort(far.begin(), far.end(),
            [&](const PatchFit* a, const PatchFit* b) { return error(*a) > error(*b); });
  std::string table;
  for (const PatchFit* p : far) {
    table += (table.empty() ? "" : ", ") + p->name + " " + format_fixed(error(*p), 1);
  }
  throw CaptureError("the patches do not agree with " + with +
                     ": wrong card, or strongly uneven light; ΔE00 of " + table);
}

}  // namespace mamelon::detail

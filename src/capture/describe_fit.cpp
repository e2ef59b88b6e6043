#include "capture/describe_fit.h"

#include <algorithm>

#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "base/numbers.h"
#include "colour/vectors.h"

namespace mamelon::detail {
namespace {

double median_of(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return (values[(values.size() - 1) / 2] + values[values.size() / 2]) / 2;
}

}  // namespace

void describe_patches(const CardMap& c, CardFit& fit) {
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
  fit.loo_de00_near = c.errors.empty() ? fit.loo_de00_median : de00_near_teeth(c.errors);
}

void check_agreement(const std::string& with, const CardMap& c, const CardFit& fit) {
  // The average camera may be that far off at strong colours.
  if (c.method == CorrectionMethod::grey) return;
  // The estimate bends itself to patches that it was fitted to; those left out tell. The ends of a
  // tone curve disagree with any card.
  const bool left_out = c.method == CorrectionMethod::response_estimate && !c.tone;
  const auto error = [left_out](const PatchFit& p) { return left_out ? p.loo_de00 : p.de00; };
  // A camera's own rendering moves strong colours far; another card moves all of them farther.
  const double far_off = c.fallback.empty() ? 3 : 6;
  std::vector<const PatchFit*> far;
  std::size_t used = 0;
  for (const PatchFit& p : fit.patches) {
    if (!p.used) continue;
    ++used;
    if (error(p) > far_off) far.push_back(&p);
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

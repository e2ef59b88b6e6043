// Signals of boxes, and how two of them differ.

#include <algorithm>
#include <cmath>

#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "base/numbers.h"
#include "capture/belongs.h"
#include "capture/colour_map.h"
#include "capture/later.h"
#include "capture/patches.h"
#include "colour/vectors.h"

namespace mamelon {
namespace {

detail::RegionSample sample_box(const Photo& photo, const BoxPx& box) {
  if (!(box.x >= 0 && box.y >= 0 && box.width >= 1 && box.height >= 1 &&
        box.x + box.width <= static_cast<double>(photo.width) &&
        box.y + box.height <= static_cast<double>(photo.height))) {
    throw ArgumentError("the box is empty or reaches beyond the photo of " +
                        std::to_string(photo.width) + "×" + std::to_string(photo.height) +
                        " pixels");
  }
  const detail::Homography same = {1, 0, 0, 0, 1, 0, 0, 0, 1};
  detail::RegionSample sample =
      detail::sample_region(photo, same, same, {box.x, box.y, box.width - 1, box.height - 1}, 0);
  if (const std::string reason = detail::reason_against(sample); !reason.empty()) {
    throw CaptureError("the box cannot be read: " + reason);
  }
  return sample;
}

std::string text_of(const BoxPx& box) {
  return detail::format_number(box.x) + "," + detail::format_number(box.y) + "," +
         detail::format_number(box.width) + "," + detail::format_number(box.height);
}

}  // namespace

Signal box_signal(const Photo& photo, const BoxPx& box, SurfaceKind kind) {
  const detail::RegionSample sample = sample_box(photo, box);
  return {sample.rgb, sample.rgb_cov, sample.centre, kind};
}

Reading read_box(const Photo& photo, const CardFit& fit, const BoxPx& box, SurfaceKind kind,
                 const std::string& label) {
  if (!fit.correction) throw ArgumentError("the card fit holds no correction");
  check_belongs(photo, fit, "reading a box");
  const detail::RegionSample sample = sample_box(photo, box);
  Reading reading{
      .label = label,
      .zone = {},
      .lab = fit.correction->lab(Signal{sample.rgb, sample.rgb_cov, sample.centre, kind}),
      .reflectance = std::nullopt,
      .viewing = fit.viewing,
      .count = sample.pixels,
      .warnings = {},
      .provenance = make_provenance("read_box", text_of(box) + detail::kind_setting(kind),
                                    {photo.provenance.digest, fit.provenance.digest}),
      .kind = kind};
  detail::warn_of_unlikely_colour(fit, reading);
  return reading;
}

LabDifference difference(const CardFit& fit, const Signal& one, const Signal& other) {
  if (!fit.correction) throw ArgumentError("the card fit holds no correction");
  const Measured<Lab> a = fit.correction->lab(one);
  const Measured<Lab> b = fit.correction->lab(other);
  const Eigen::Matrix3d common = detail::to_eigen(fit.correction->common(one, other));
  const Eigen::Matrix3d covariance = detail::to_eigen(a.covariance()) +
                                     detail::to_eigen(b.covariance()) - common - common.transpose();
  LabDifference out;
  out.one = a.value;
  out.other = b.value;
  out.apart = {a.value.l - b.value.l, a.value.a - b.value.a, a.value.b - b.value.b};
  out.covariance = detail::to_mat3(covariance);
  out.de00 = de00(a.value, b.value);
  out.de00_u95 = std::sqrt(detail::squared_u95(a.value, covariance));
  return out;
}

}  // namespace mamelon

#include "capture/sheen.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include <Eigen/Dense>
#include <opencv2/imgproc.hpp>

#include "capture/smooth_surface.h"
#include "capture/tooth_cells.h"

namespace mamelon::detail {
namespace {

// Of white's light: what is certain where a patch holds more, and what belongs to such a patch.
constexpr double certain = 0.06;
constexpr double possible = 0.04;
constexpr double least_patch_mm2 = 1.5;
// The tooth's own colour: less than a third of the tooth lies below it.
constexpr double own_share = 0.3;

float from_f(float f) {
  constexpr float kappa = 24389.0F / 27.0F;
  return f * f * f > 216.0F / 24389.0F ? f * f * f : (116 * f - 16) / kappa;
}

}  // namespace

cv::Mat1b find_sheen(const LabView& view, const cv::Mat1b& tooth) {
  const ToothCells cells = tooth_cells(view, tooth);
  constexpr std::size_t least_cells = 40;
  if (cells.places.size() < least_cells) return cv::Mat1b(cv::Mat1b::zeros(tooth.size()));
  const auto count = static_cast<Eigen::Index>(cells.places.size());
  Eigen::VectorXd ratio(count);  // of short-wave light to luminance, both over white's
  Eigen::VectorXd luminance(count);
  for (Eigen::Index i = 0; i < count; ++i) {
    const cv::Vec3f& lab = cells.lab(cells.places[static_cast<std::size_t>(i)]);
    const float f = (lab[0] + 16) / 116;
    luminance[i] = std::max(1e-6, static_cast<double>(from_f(f)));
    ratio[i] = static_cast<double>(from_f(f - lab[2] / 200)) / luminance[i];
  }
  const Eigen::MatrixXd basis = quadratic_basis(cells.places);
  const Eigen::VectorXd own_ratio = quantile_surface(basis, ratio, own_share);
  const Eigen::VectorXd own_luminance = quantile_surface(basis, luminance, 0.5);
  cv::Mat1f added(cv::Mat1f::zeros(cells.inside.size()));
  cv::Mat1b candidates(cv::Mat1b::zeros(cells.inside.size()));
  for (Eigen::Index i = 0; i < count; ++i) {
    const cv::Point& p = cells.places[static_cast<std::size_t>(i)];
    const double own = std::clamp(own_ratio[i], 0.3, 0.95);
    const double white = (ratio[i] - own) * luminance[i] / (1 - own);
    added(p) = static_cast<float>(white);
    // What is bluish and darker is a translucent edge, not light.
    candidates(p) = white > possible && luminance[i] > 0.97 * own_luminance[i] ? 1 : 0;
  }
  cv::Mat1b sheen(cv::Mat1b::zeros(cells.inside.size()));
  for (const auto& part : parts_of(candidates, least_patch_mm2)) {
    const bool sure = std::any_of(part.begin(), part.end(), [&](const cv::Point& p) {
      return static_cast<double>(added(p)) > certain;
    });
    if (!sure) continue;
    for (const cv::Point& p : part) sheen(p) = 1;
  }
  return to_view_size(sheen, tooth);
}

}  // namespace mamelon::detail

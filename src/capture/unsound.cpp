#include "capture/unsound.h"

#include <algorithm>
#include <array>
#include <cmath>

#include <Eigen/Dense>
#include <opencv2/imgproc.hpp>

#include "capture/smooth_surface.h"
#include "capture/tooth_cells.h"

namespace mamelon::detail {
namespace {

constexpr double least_part_mm2 = 0.5;
constexpr double least_share = 0.01;
constexpr float least_edge = 1.5F;  // ΔE*ab from cell to cell

enum Kind : std::uint8_t { sound = 0, dark, metal, white, other };
constexpr std::array<std::string_view, 5> words = {
    "sound", "dark and brown, as caries and stain are", "dark and grey, as metal is",
    "whiter than what is around it, as dried or poorly mineralised enamel is",
    "of another colour with an edge of its own, as old composite is"};

double median_of(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

// Change of colour from cell to cell.
cv::Mat1f edges_of(const cv::Mat3f& lab) {
  cv::Mat1f sum(cv::Mat1f::zeros(lab.size()));
  for (int c = 0; c < 3; ++c) {
    cv::Mat1f channel;
    cv::Mat1f dx;
    cv::Mat1f dy;
    cv::extractChannel(lab, channel, c);
    cv::Sobel(channel, dx, CV_32F, 1, 0, 3, 1.0 / 8);
    cv::Sobel(channel, dy, CV_32F, 0, 1, 3, 1.0 / 8);
    sum += dx.mul(dx) + dy.mul(dy);
  }
  cv::sqrt(sum, sum);
  return sum;
}

// Whether the part's border is an edge and no gradual change.
bool has_edge(const std::vector<cv::Point>& part, const ToothCells& cells, const cv::Mat1f& edges) {
  cv::Mat1b mask(cv::Mat1b::zeros(edges.size()));
  for (const cv::Point& p : part) mask(p) = 1;
  cv::morphologyEx(mask, mask, cv::MORPH_GRADIENT, cv::Mat::ones(3, 3, CV_8U));
  std::vector<double> along;
  for (const cv::Point& p : cells.places) {
    if (mask(p) != 0) along.push_back(static_cast<double>(edges(p)));
  }
  return !along.empty() && median_of(std::move(along)) > static_cast<double>(least_edge);
}

// What each cell looks like by itself.
cv::Mat1b kinds_of(const ToothCells& cells, const cv::Mat1b& glare) {
  const auto count = static_cast<Eigen::Index>(cells.places.size());
  const Eigen::MatrixXd basis = quadratic_basis(cells.places);
  std::array<Eigen::VectorXd, 3> off;  // from the smooth surface
  std::vector<double> lightness;
  for (int c = 0; c < 3; ++c) {
    Eigen::VectorXd values(count);
    for (Eigen::Index i = 0; i < count; ++i) {
      values[i] = static_cast<double>(cells.lab(cells.places[static_cast<std::size_t>(i)])[c]);
    }
    if (c == 0) lightness.assign(values.begin(), values.end());
    off.at(static_cast<std::size_t>(c)) = values - quantile_surface(basis, values, 0.5);
  }
  std::vector<double> sizes;
  for (Eigen::Index i = 0; i < count; ++i) {
    sizes.push_back(std::hypot(off[0][i], off[1][i], off[2][i]));
  }
  const double noise = median_of(sizes);
  const double own_lightness = median_of(lightness);
  cv::Mat1b deep;
  cv::erode(cells.inside, deep, cv::Mat::ones(5, 5, CV_8U), {-1, -1}, 1, cv::BORDER_CONSTANT, 0);
  cv::Mat1b kinds(cv::Mat1b::zeros(cells.inside.size()));
  for (Eigen::Index i = 0; i < count; ++i) {
    const cv::Point& p = cells.places[static_cast<std::size_t>(i)];
    if (deep(p) == 0) continue;
    const cv::Vec3f& lab = cells.lab(p);
    const double chroma = std::hypot(static_cast<double>(lab[1]), static_cast<double>(lab[2]));
    const double off_chroma = std::hypot(off[1][i], off[2][i]);
    if (static_cast<double>(lab[0]) < 0.75 * own_lightness && (chroma < 8 || lab[2] <= 0)) {
      kinds(p) = metal;
    } else if (glare(p) != 0) {
      continue;
    } else if (off[0][i] < -12 && chroma >= 8 && lab[2] > 0) {
      kinds(p) = dark;
    } else if (off[0][i] > 5 && off_chroma > 4 && off[2][i] < 0) {
      kinds(p) = white;
    } else if (off_chroma > std::max(7.0, 3 * noise) && std::abs(off[0][i]) < 12) {
      kinds(p) = other;
    }
  }
  return kinds;
}

}  // namespace

Unsound find_unsound(const LabView& view, const cv::Mat1b& tooth, const cv::Mat1b& glare) {
  Unsound found{.where = cv::Mat1b(cv::Mat1b::zeros(tooth.size())), .parts = {}};
  const ToothCells cells = tooth_cells(view, tooth);
  constexpr std::size_t least_cells = 60;
  if (cells.places.size() < least_cells) return found;
  cv::Mat1f glaring;
  glare.convertTo(glaring, CV_32F);
  cv::resize(glaring, glaring, cells.inside.size(), 0, 0, cv::INTER_AREA);
  const cv::Mat1b kinds = kinds_of(cells, cv::Mat1b(glaring > 0.3F));
  const cv::Mat1f edges = edges_of(cells.lab);
  cv::Mat1b where(cv::Mat1b::zeros(kinds.size()));
  for (const Kind kind : {dark, metal, white, other}) {
    std::size_t count = 0;
    std::vector<cv::Point> places;
    for (const auto& part : parts_of(cv::Mat1b((kinds == kind) & 1), least_part_mm2)) {
      if ((kind == white || kind == other) && !has_edge(part, cells, edges)) continue;
      count += part.size();
      places.insert(places.end(), part.begin(), part.end());
    }
    const double share = static_cast<double>(count) / static_cast<double>(cells.places.size());
    if (share < least_share) continue;
    found.parts.push_back({words.at(kind), share});
    for (const cv::Point& p : places) where(p) = 1;
  }
  found.where = to_view_size(where, tooth);
  return found;
}

}  // namespace mamelon::detail

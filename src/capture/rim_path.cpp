#include "capture/rim_path.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include <opencv2/imgproc.hpp>

#include "capture/rim_network.h"
#include "capture/steady_blur.h"

namespace mamelon::detail {
namespace {

using Radii = std::array<float, ray_count>;  // in mm

// The picture that the network looks at. Colours are scaled so that the tooth at the seed has a
// typical tooth's colour: light and white balance then matter little.
struct Features {
  double px_per_mm = 1;
  float to_view = 1;  // pixels of the view for one pixel
  cv::Mat4f values;   // L*, a*, b*, depth of dark seams
};

constexpr std::array<float, 3> typical_lab = {73.0F, 1.5F, 17.0F};

std::array<float, 3> roots_of(const cv::Vec3f& lab) {
  const float y = (lab[0] + 16.0F) / 116.0F;
  return {y + lab[1] / 500.0F, y, y - lab[2] / 200.0F};
}

// Median over a square of 2 mm around the seed, channel by channel.
std::array<float, 3> median_roots(const cv::Mat3f& lab, cv::Point2f seed, double px_per_mm) {
  const int reach = std::max(1, static_cast<int>(px_per_mm));
  std::array<std::vector<float>, 3> values;
  const int cx = std::clamp(static_cast<int>(std::lround(seed.x)), 0, lab.cols - 1);
  const int cy = std::clamp(static_cast<int>(std::lround(seed.y)), 0, lab.rows - 1);
  for (int y = std::max(0, cy - reach); y <= std::min(lab.rows - 1, cy + reach); ++y) {
    for (int x = std::max(0, cx - reach); x <= std::min(lab.cols - 1, cx + reach); ++x) {
      const auto roots = roots_of(lab(y, x));
      for (std::size_t c = 0; c < 3; ++c) values[c].push_back(roots[c]);
    }
  }
  std::array<float, 3> median{};
  for (std::size_t c = 0; c < 3; ++c) {
    const auto middle = values[c].begin() + static_cast<std::ptrdiff_t>(values[c].size() / 2);
    std::nth_element(values[c].begin(), middle, values[c].end());
    median[c] = std::max(*middle, 0.1F);
  }
  return median;
}

Features features_of(const LabView& view, cv::Point2f seed) {
  constexpr double wanted_px_per_mm = 14;
  Features out;
  cv::Mat3f lab;
  const double shrink = view.px_per_mm / wanted_px_per_mm;
  if (shrink > 1.15) {
    cv::resize(view.lab, lab, {}, 1 / shrink, 1 / shrink, cv::INTER_AREA);
  } else {
    lab = view.lab;
  }
  out.to_view = static_cast<float>(view.lab.cols) / static_cast<float>(lab.cols);
  out.px_per_mm = view.px_per_mm / static_cast<double>(out.to_view);
  steady_blur(lab, 0.05 * out.px_per_mm);
  const auto here = median_roots(lab, seed / out.to_view, out.px_per_mm);
  const auto typical = roots_of({typical_lab[0], typical_lab[1], typical_lab[2]});
  // Above L* 8 scaling the light scales its cube root.
  const std::array<float, 3> gain = {typical[0] / here[0], typical[1] / here[1],
                                     typical[2] / here[2]};
  constexpr float brightest = 1.17F;  // cube root of 1.6 times white
  cv::Mat1f lightness(lab.size());
  out.values.create(lab.size());
  for (int y = 0; y < lab.rows; ++y) {
    for (int x = 0; x < lab.cols; ++x) {
      auto roots = roots_of(lab(y, x));
      for (std::size_t c = 0; c < 3; ++c) roots[c] = std::min(roots[c] * gain[c], brightest);
      const float l = 116 * roots[1] - 16;
      lightness(y, x) = l;
      out.values(y, x) = {l, 500 * (roots[0] - roots[1]), 200 * (roots[1] - roots[2]), 0};
    }
  }
  cv::Mat1f closed;
  const int radius = std::max(1, static_cast<int>(std::lround(0.4 * out.px_per_mm)));
  cv::morphologyEx(lightness, closed, cv::MORPH_CLOSE,
                   cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * radius + 1, 2 * radius + 1}));
  for (int y = 0; y < lab.rows; ++y) {
    for (int x = 0; x < lab.cols; ++x) out.values(y, x)[3] = closed(y, x) - lightness(y, x);
  }
  return out;
}

cv::Vec4f interpolated(const cv::Mat4f& image, float px, float py) {
  const float x = std::clamp(px, 0.0F, static_cast<float>(image.cols - 1));
  const float y = std::clamp(py, 0.0F, static_cast<float>(image.rows - 1));
  const int x0 = std::min(static_cast<int>(x), image.cols - 2);
  const int y0 = std::min(static_cast<int>(y), image.rows - 2);
  const float u = x - static_cast<float>(x0);
  const float v = y - static_cast<float>(y0);
  return (1 - v) * ((1 - u) * image(y0, x0) + u * image(y0, x0 + 1)) +
         v * ((1 - u) * image(y0 + 1, x0) + u * image(y0 + 1, x0 + 1));
}

cv::Point2f direction(int ray, bool mirrored) {
  const double angle = 2 * std::numbers::pi * ray / ray_count * (mirrored ? -1 : 1);
  return {static_cast<float>(std::cos(angle)), static_cast<float>(std::sin(angle))};
}

float radius_mm(int step) {
  return static_cast<float>((step + 0.5) * ray_step_mm);
}

RayPicture rays_from(const Features& features, cv::Point2f centre, bool mirrored) {
  // Middle and spread that the weights were learned with.
  constexpr std::array<float, 4> middle = {73, 1.5F, 17, 0};
  constexpr std::array<float, 4> spread = {12, 6, 8, 6};
  RayPicture picture;
  picture.reserve(static_cast<std::size_t>(ray_count) * ray_steps * ray_channels);
  const auto scale = static_cast<float>(features.px_per_mm);
  for (int ray = 0; ray < ray_count; ++ray) {
    const cv::Point2f towards = direction(ray, mirrored) * scale;
    for (int step = 0; step < ray_steps; ++step) {
      const cv::Point2f p = centre + towards * radius_mm(step);
      const cv::Vec4f value = interpolated(features.values, p.x, p.y);
      for (int c = 0; c < 4; ++c) {
        const auto i = static_cast<std::size_t>(c);
        picture.push_back(std::clamp((value[c] - middle[i]) / spread[i], -5.0F, 5.0F));
      }
      picture.push_back(std::clamp(radius_mm(step) / 3 - 1, -5.0F, 5.0F));
    }
  }
  return picture;
}

// The likeliest closed path: one step a ray, neighbours a few steps apart at most. Two turns are
// searched and the middle one kept, so that the path meets itself.
std::array<int, ray_count> closed_path(const RimLogs& logs) {
  constexpr int farthest = 4;
  constexpr float bend_cost = 0.15F;
  constexpr int rays = 2 * ray_count;
  std::array<float, ray_steps> before{};
  std::array<float, ray_steps> now{};
  std::array<std::array<std::int8_t, ray_steps>, rays> from{};
  const auto cost = [&](int ray, int step) {
    return -logs[static_cast<std::size_t>((ray % ray_count) * ray_steps + step)];
  };
  for (int step = 0; step < ray_steps; ++step) {
    before[static_cast<std::size_t>(step)] = cost(0, step);
  }
  for (int ray = 1; ray < rays; ++ray) {
    for (int step = 0; step < ray_steps; ++step) {
      float best = 1e9F;
      for (int move = -farthest; move <= farthest; ++move) {
        const int source = step + move;
        if (source < 0 || source >= ray_steps) continue;
        const float total =
            before[static_cast<std::size_t>(source)] + bend_cost * static_cast<float>(move * move);
        if (total < best) {
          best = total;
          from[static_cast<std::size_t>(ray)][static_cast<std::size_t>(step)] =
              static_cast<std::int8_t>(move);
        }
      }
      now[static_cast<std::size_t>(step)] = best + cost(ray, step);
    }
    before = now;
  }
  std::array<int, rays> whole{};
  whole.back() = static_cast<int>(std::min_element(before.begin(), before.end()) - before.begin());
  for (std::size_t ray = rays - 1; ray > 0; --ray) {
    whole[ray - 1] = whole[ray] + from[ray][static_cast<std::size_t>(whole[ray])];
  }
  std::array<int, ray_count> path{};
  for (std::size_t ray = 0; ray < ray_count; ++ray) {
    path[ray] = whole[ray < ray_count / 2 ? ray + ray_count : ray];
  }
  return path;
}

// Steps that the rim may lie at, from first to last, for each ray.
struct Reach {
  std::array<int, ray_count> first{};
  std::array<int, ray_count> last{};
};

struct RayFrame {
  const Features& features;
  cv::Point2f centre;
  bool mirrored = false;

  [[nodiscard]] cv::Point at(int ray, int step) const {
    const float away = radius_mm(step) * static_cast<float>(features.px_per_mm);
    const cv::Point2f p = (centre + direction(ray, mirrored) * away) * features.to_view;
    return {static_cast<int>(std::lround(p.x)), static_cast<int>(std::lround(p.y))};
  }
};

// The first step of a ray that lies outside the mask.
int first_outside(const RayFrame& frame, int ray, const cv::Mat1b& mask) {
  for (int step = 0; step < ray_steps; ++step) {
    const cv::Point p = frame.at(ray, step);
    if (p.x < 0 || p.y < 0 || p.x >= mask.cols || p.y >= mask.rows || mask(p) == 0) return step;
  }
  return ray_steps - 1;
}

// Rays that pass a point within 0.4 mm, and the step beside it.
template <typename Change>
void for_rays_at(const RayFrame& frame, cv::Point2f point, Change&& change) {
  const cv::Point2f to = (point / frame.features.to_view - frame.centre) /
                         static_cast<float>(frame.features.px_per_mm);
  const double distance = std::hypot(to.x, to.y);
  const int step = std::clamp(static_cast<int>(distance / ray_step_mm), 0, ray_steps - 1);
  int nearest = 0;
  double least = 1e9;
  for (int ray = 0; ray < ray_count; ++ray) {
    const cv::Point2f along = direction(ray, frame.mirrored);
    const double beside = std::abs(along.x * to.y - along.y * to.x);
    const bool ahead = along.dot(to) > 0;
    if (ahead && beside < least) {
      least = beside;
      nearest = ray;
    }
    if (ahead && beside < 0.4) change(ray, step);
  }
  change(nearest, step);
}

Reach reach_of(const RayFrame& frame, const RimLimits& limits) {
  Reach reach;
  constexpr int beside_drawn = 4;  // steps: 0.56 mm
  for (int ray = 0; ray < ray_count; ++ray) {
    const auto i = static_cast<std::size_t>(ray);
    reach.last[i] =
        limits.allowed.empty() ? ray_steps - 1 : first_outside(frame, ray, limits.allowed);
    if (limits.drawn.empty()) continue;
    const int drawn = first_outside(frame, ray, limits.drawn);
    reach.first[i] = std::max(0, drawn - beside_drawn);
    reach.last[i] = std::min(reach.last[i], drawn + beside_drawn);
  }
  for (const cv::Point2f& p : limits.outside) {
    for_rays_at(frame, p, [&](int ray, int step) {
      int& last = reach.last[static_cast<std::size_t>(ray)];
      last = std::min(last, std::max(0, step - 1));
    });
  }
  for (const cv::Point2f& p : limits.inside) {
    for_rays_at(frame, p, [&](int ray, int step) {
      int& first = reach.first[static_cast<std::size_t>(ray)];
      first = std::max(first, step + 1);
    });
  }
  return reach;
}

Radii radii_from(const Features& features, cv::Point2f centre, bool mirrored,
                 const RimLimits& limits) {
  RimLogs logs = rim_logs(rays_from(features, centre, mirrored));
  const Reach reach = reach_of({features, centre, mirrored}, limits);
  constexpr float floor = -9;
  constexpr float forbidden = -40;
  for (int ray = 0; ray < ray_count; ++ray) {
    const auto i = static_cast<std::size_t>(ray);
    for (int step = 0; step < ray_steps; ++step) {
      float& value = logs[i * ray_steps + static_cast<std::size_t>(step)];
      value = std::max(value, floor);
      if (step < reach.first[i] || step > reach.last[i]) value = forbidden;
    }
  }
  const auto path = closed_path(logs);
  Radii radii{};
  for (std::size_t ray = 0; ray < ray_count; ++ray) {
    const float* row = logs.data() + ray * ray_steps;
    // Between the steps: the mean over those next to the path.
    const int first = std::max(0, path[ray] - 2);
    const int last = std::min(ray_steps - 1, path[ray] + 2);
    float weight = 0;
    float sum = 0;
    float top = -1e9F;
    for (int step = first; step <= last; ++step) top = std::max(top, row[step]);
    for (int step = first; step <= last; ++step) {
      const float w = static_cast<float>(std::exp(static_cast<double>(row[step] - top)));
      weight += w;
      sum += w * radius_mm(step);
    }
    radii[ray] = sum / weight;
  }
  return radii;
}

cv::Mat1b filled(const Radii& radii, const Features& features, cv::Point2f centre, bool mirrored) {
  std::vector<cv::Point> corners;
  constexpr int fraction_bits = 4;
  for (int ray = 0; ray < ray_count; ++ray) {
    const float away =
        radii[static_cast<std::size_t>(ray)] * static_cast<float>(features.px_per_mm);
    const cv::Point2f p = centre + direction(ray, mirrored) * away;
    corners.emplace_back(static_cast<int>(std::lround(p.x * (1 << fraction_bits))),
                         static_cast<int>(std::lround(p.y * (1 << fraction_bits))));
  }
  cv::Mat1b mask(cv::Mat1b::zeros(features.values.size()));
  cv::fillPoly(mask, std::vector<std::vector<cv::Point>>{corners}, 1, cv::LINE_8, fraction_bits);
  return mask;
}

cv::Point2f centre_of(const cv::Mat1b& mask, cv::Point2f otherwise) {
  const cv::Moments m = cv::moments(mask, true);
  if (m.m00 <= 0) return otherwise;
  return {static_cast<float>(m.m10 / m.m00), static_cast<float>(m.m01 / m.m00)};
}

double overlap(const cv::Mat1b& a, const cv::Mat1b& b) {
  const double either = cv::countNonZero(a | b);
  return either > 0 ? cv::countNonZero(a & b) / either : 0;
}

}  // namespace

Rim find_rim(const LabView& view, cv::Point2f seed, const RimLimits& given) {
  const Features features = features_of(view, seed);
  RimLimits limits = given;
  // What was pointed at belongs to the tooth.
  limits.inside.push_back(seed);
  const cv::Point2f start = seed / features.to_view;
  const Radii radii = radii_from(features, start, false, limits);
  const cv::Mat1b first = filled(radii, features, start, false);
  const cv::Point2f centre = centre_of(first, start);
  // Three centres well within the tooth vote: its middle and two places on either side of it.
  std::array<cv::Point2f, 3> offsets{};
  const float least_mm = *std::min_element(radii.begin(), radii.end());
  const double away_mm = std::min(0.35 * static_cast<double>(least_mm), 0.7);
  offsets[1] = direction(ray_count / 8, false) * static_cast<float>(away_mm * features.px_per_mm);
  offsets[2] = -offsets[1];
  cv::Mat1b votes(cv::Mat1b::zeros(features.values.size()));
  for (std::size_t i = 0; i < offsets.size(); ++i) {
    const bool mirrored = i % 2 == 1;
    const cv::Point2f from = centre + offsets[i];
    votes += filled(radii_from(features, from, mirrored, limits), features, from, mirrored);
  }
  const cv::Mat1b shared((votes > static_cast<int>(offsets.size()) / 2) & 1);
  Rim rim;
  rim.agreement = overlap(first, shared);
  // At the view's resolution by interpolation, so that the rim stays smooth.
  cv::Mat1f soft;
  shared.convertTo(soft, CV_32F);
  if (soft.size() != view.lab.size()) {
    cv::resize(soft, soft, view.lab.size(), 0, 0, cv::INTER_LINEAR);
  }
  steady_blur(soft, 0.08 * view.px_per_mm);
  rim.tooth = (soft > 0.5F) & 1;
  if (!limits.allowed.empty()) rim.tooth &= limits.allowed;
  return rim;
}

}  // namespace mamelon::detail

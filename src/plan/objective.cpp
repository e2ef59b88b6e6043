#include "plan/objective.h"

#include <algorithm>
#include <cmath>

namespace mamelon::detail {
namespace {

Vec3 integrate(const std::vector<double>& values, const Weights& w) {
  Vec3 xyz{};
  for (std::size_t i = 0; i < values.size(); ++i) {
    xyz[0] += w.x[i] * values[i];
    xyz[1] += w.y[i] * values[i];
    xyz[2] += w.z[i] * values[i];
  }
  return xyz;
}

double largest_sd(const Problem& problem, const Candidate& candidate) {
  double sd = 0;
  for (const std::size_t paste : candidate.pastes) {
    sd = std::max(sd, problem.materials[paste].sd);
  }
  return sd;
}

ViewValue view_value(const Problem& problem, const Light& light, const View& view, double sd) {
  ViewValue value;
  const Vec3 sum = integrate(light.reflectance, *view.weights);
  const Xyz xyz{sum[0], sum[1], sum[2]};
  value.lab = to_lab(xyz, view.white);
  value.de00 = de00(view.target, value.lab, problem.weights);
  const Mat3 jacobian = lab_jacobian(xyz, view.white);
  double square = value.de00 * value.de00 + view.target_ms + sd * sd * view.paste_ms;
  for (const auto& slope : light.slope) {
    value.gradient.push_back(multiply(jacobian, integrate(slope, *view.weights)));
    const double spread = problem.thickness_sd_mm * length(view.metric, value.gradient.back());
    square += spread * spread;
  }
  for (const auto& error : light.floor_error) {
    value.floor_error.push_back(multiply(jacobian, integrate(error, *view.weights)));
    const double spread = length(view.metric, value.floor_error.back());
    square += spread * spread;
  }
  value.expected = std::sqrt(square);
  return value;
}

}  // namespace

double length(const Mat3& metric, const Vec3& g) {
  const Vec3 mg = multiply(metric, g);
  return std::sqrt(std::max(0.0, g[0] * mg[0] + g[1] * mg[1] + g[2] * mg[2]));
}

// Reflectance seen outside and its slope in every thickness. Inside the material
// dR/dd = S(1 + R²) − 2(K + S)R at the layer's own surface (Kubelka 1948), carried outward by
// dR/dRg = T²/(1 − R0 Rg)² of each layer above.
Light propagate_light(const Problem& problem, const Candidate& candidate) {
  const std::size_t bands = problem.floor.size();
  Light light{problem.floor, {}, problem.floor_errors};
  for (std::size_t j = 0; j < candidate.pastes.size(); ++j) {
    const Material& m = problem.materials[candidate.pastes[j]];
    light.slope.emplace_back(bands);
    for (std::size_t i = 0; i < bands; ++i) {
      const LayerOptics layer = layer_optics(m.k[i], m.s[i], candidate.thickness_mm[j]);
      const double below = light.reflectance[i];
      const double escape = layer.t / (1 - layer.r0 * below);
      for (std::size_t under = 0; under < j; ++under) {
        light.slope[under][i] *= escape * escape;
      }
      for (auto& error : light.floor_error) {
        error[i] *= escape * escape;
      }
      const double r = over(layer, below);
      light.slope[j][i] = m.s[i] * (1 + r * r) - 2 * (m.k[i] + m.s[i]) * r;
      light.reflectance[i] = r;
    }
  }
  const Interface& surface = problem.materials[candidate.pastes.back()].surface;
  for (std::size_t i = 0; i < bands; ++i) {
    const double internal = light.reflectance[i];
    const double escape = 1 - surface.k2 * internal;
    const double gain = (1 - surface.k1) * (1 - surface.k2) / (escape * escape);
    for (auto& slope : light.slope) {
      slope[i] *= gain;
    }
    for (auto& error : light.floor_error) {
      error[i] *= gain;
    }
    light.reflectance[i] = to_measured(internal, surface);
  }
  return light;
}

Evaluation evaluate(const Problem& problem, const Candidate& candidate) {
  return evaluate(problem, candidate, propagate_light(problem, candidate));
}

Evaluation evaluate(const Problem& problem, const Candidate& candidate, Light light) {
  Evaluation result;
  const double sd = largest_sd(problem, candidate);
  double mean_square = 0;
  for (const View& view : problem.views) {
    result.views.push_back(view_value(problem, light, view, sd));
    mean_square += view.weight * result.views.back().expected * result.views.back().expected;
  }
  result.expected = std::sqrt(mean_square);
  result.reflectance = std::move(light.reflectance);
  return result;
}

double expected_of(const Problem& problem, const Candidate& candidate) {
  const Light light = propagate_light(problem, candidate);
  const double sd = largest_sd(problem, candidate);
  double mean_square = 0;
  for (const View& view : problem.views) {
    if (view.weight > 0) {
      const double expected = view_value(problem, light, view, sd).expected;
      mean_square += view.weight * expected * expected;
    }
  }
  return std::sqrt(mean_square);
}

Mat3 difference_covariance(const Problem& problem, const Candidate& candidate,
                           const ViewValue& value, const View& view) {
  const double sd = largest_sd(problem, candidate);
  Mat3 total = add(problem.target_covariance, scale(view.paste_lab, sd * sd));
  const auto add_outer = [&](const Vec3& g, double variance) {
    for (std::size_t i = 0; i < 3; ++i) {
      for (std::size_t j = 0; j < 3; ++j) {
        total[i][j] += variance * g[i] * g[j];
      }
    }
  };
  for (const Vec3& g : value.gradient) {
    add_outer(g, problem.thickness_sd_mm * problem.thickness_sd_mm);
  }
  for (const Vec3& g : value.floor_error) {
    add_outer(g, 1);
  }
  return total;
}

}  // namespace mamelon::detail

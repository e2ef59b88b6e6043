#include "material/ordinates.h"

#include <cmath>

#include "material/quadrature.h"

namespace mamelon::detail {
namespace {

// Share of unpolarised light that crosses the surface from inside at cosine `mu`.
double fresnel_transmittance(double mu, double n) {
  const double sine2 = n * n * (1 - mu * mu);
  if (sine2 >= 1) {
    return 0;
  }
  const double outside = std::sqrt(1 - sine2);
  const double rs = (n * mu - outside) / (n * mu + outside);
  const double rp = (mu - n * outside) / (mu + n * outside);
  return 1 - (rs * rs + rp * rp) / 2;
}

// Small enough to change no total, large enough to keep √w away from underflow.
constexpr double beam_weight = 1e-10;

}  // namespace

Ordinates::Ordinates(int streams, double refractive_index_, Light incidence)
    : moments(streams), refractive_index(refractive_index_) {
  const Directions points = directions(static_cast<std::size_t>(streams), refractive_index);
  mu = points.mu;
  weight = points.weight;
  normal = mu.size() - 1;
  const double n = refractive_index;
  k1 = (n - 1) * (n - 1) / ((n + 1) * (n + 1));
  const double k2 = n > 1 ? interface_of(n, false).k2 : 0;
  outer_diffuse = 1 - (1 - k2) * n * n;
  if (incidence == Light::beam_45) {
    mu.push_back(std::sqrt(1 - 0.5 / (n * n)));
    weight.push_back(beam_weight);
  }
  std::vector<double> through;
  double spread = 0;
  for (std::size_t i = 0; i < size(); ++i) {
    flux.push_back(std::sqrt(2 * weight[i] * mu[i]));
    through.push_back(fresnel_transmittance(mu[i], n));
    if (i < normal) spread += flux[i] * flux[i] * through[i];
  }
  // The quadrature of Fresnel's transmittance is put right, so that the surface passes exactly
  // 1 − k2 of even light. The streams of beams and eyes are exact as they are.
  const double along = flux[normal] * flux[normal] * through[normal];
  for (std::size_t i = 0; i < normal && spread > 0; ++i) {
    through[i] *= (1 - k2 - along) / spread;
  }
  for (std::size_t i = 0; i < size(); ++i) {
    inner.push_back(1 - through[i]);
    light.push_back(incidence == Light::even ? n * n * flux[i] * through[i] : 0);
  }
  if (incidence == Light::beam_45) {
    light.back() = through.back() / flux.back();
  }
  normal_beam.assign(size(), 0);
  normal_beam[normal] = (1 - k1) / flux[normal];
}

Phase::Phase(const Ordinates& ordinates, double anisotropy)
    : peak(std::pow(anisotropy, ordinates.moments)),
      even(ordinates.size() * ordinates.size()),
      odd(even.size()) {
  const std::size_t n = ordinates.size();
  std::vector<double> legendre(n, 1);
  std::vector<double> previous(n, 0);
  double moment = 1;
  for (int l = 0; l < ordinates.moments; ++l) {
    const double share = (moment - peak) / (1 - peak) * (2 * l + 1);
    std::vector<double>& part = l % 2 == 0 ? even : odd;
    for (std::size_t i = 0; i < n; ++i) {
      for (std::size_t j = 0; j < n; ++j) {
        part[i * n + j] += share * legendre[i] * legendre[j];
      }
    }
    for (std::size_t i = 0; i < n; ++i) {
      const double next = ((2 * l + 1) * ordinates.mu[i] * legendre[i] - l * previous[i]) / (l + 1);
      previous[i] = legendre[i];
      legendre[i] = next;
    }
    moment *= anisotropy;
  }
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j < n; ++j) {
      const double scale = std::sqrt(ordinates.weight[i] / ordinates.mu[i]) *
                           std::sqrt(ordinates.weight[j] / ordinates.mu[j]);
      even[i * n + j] *= scale;
      odd[i * n + j] *= scale;
    }
  }
}

}  // namespace mamelon::detail

// Stated rms and 95 % values held against whole stacks drawn at random: a sampler of its own on the
// public prediction, with every error the plan counts.

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <iostream>
#include <random>

#include <gtest/gtest.h>

#include "plan_samples.h"

namespace mamelon {
namespace {

int studies(int usual) {
  const char* wanted = std::getenv("MAMELON_STUDIES");
  return wanted == nullptr ? usual : std::atoi(wanted);
}

using Random = std::mt19937_64;

// L with L Lᵀ the correlation of model errors of neighbouring bands.
std::vector<std::vector<double>> smooth_root(const Grid& grid) {
  const std::size_t n = grid.count;
  std::vector<std::vector<double>> l(n, std::vector<double>(n));
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j <= i; ++j) {
      const double apart = (grid.wavelength_nm(i) - grid.wavelength_nm(j)) / 60;
      double sum = std::exp(-0.5 * apart * apart) + (i == j ? 1e-6 : 0);
      for (std::size_t k = 0; k < j; ++k) sum -= l[i][k] * l[j][k];
      l[i][j] = i == j ? std::sqrt(sum) : sum / l[j][j];
    }
  }
  return l;
}

PlanRequest random_request(Random& random) {
  std::uniform_real_distribution<double> uniform(0, 1);
  PlanRequest request = test::sample_request(
      test::with_transport(test::sample_set(8, static_cast<unsigned>(random()))),
      test::target_lab({64 + 18 * uniform(random), 4 * uniform(random), 9 + 18 * uniform(random)}),
      1 + 0.1 * static_cast<double>(random() % 21));
  request.floor = test::flat_floor(0.1 + 0.3 * uniform(random));
  request.target.lab.random = diagonal({0.3 * uniform(random), 0.05, 0.2 * uniform(random)});
  request.floor_errors = {test::flat_floor(0.04 * uniform(random))};
  request.max_layers = 3;
  request.alternatives = 1;
  request.total_held = uniform(random) < 0.3;
  for (Paste& paste : request.pastes.pastes) {
    paste.transport->reflectance_sd = 0.003 * uniform(random);
    const std::size_t bands = paste.absorption.size();
    paste.transport->modes = {
        {std::vector<double>(bands, 0.08), std::vector<double>(bands, -0.01), 0, 0},
        {std::vector<double>(bands, 0.02), std::vector<double>(bands, 0.03), 0.03, 0}};
  }
  return request;
}

// One filling with all that may go wrong, under the target's own light.
class Sampler {
 public:
  Sampler(const PlanRequest& request, const Plan& plan)
      : request_(request), plan_(plan), smooth_(smooth_root(request.floor.grid())) {
    for (const PlannedLayer& layer : plan.layers) {
      const auto& all = request.pastes.pastes;
      pastes_.push_back(*std::find_if(all.begin(), all.end(),
                                      [&](const Paste& p) { return p.name == layer.paste; }));
    }
  }

  double draw(Random& random) {
    std::normal_distribution<double> normal;
    const Interface under = interface_of(request_.floor_refractive_index, false);
    const double z_floor = normal(random);
    std::vector<double> floor;
    for (std::size_t i = 0; i < request_.floor.size(); ++i) {
      const double seen = request_.floor[i] + z_floor * request_.floor_errors[0][i];
      floor.push_back(std::clamp(to_internal(seen, under), 0.0, 1.0));
    }
    Stack stack{Reflectance(request_.floor.grid(), floor), {}, false};
    double kept = 0;
    double sd = 0;
    std::vector<std::pair<std::string, std::vector<double>>> errors;
    for (std::size_t j = 0; j < pastes_.size(); ++j) {
      auto known = std::find_if(errors.begin(), errors.end(),
                                [&](const auto& e) { return e.first == pastes_[j].name; });
      if (known == errors.end()) {
        errors.push_back({pastes_[j].name, {normal(random), normal(random)}});
        known = errors.end() - 1;
      }
      double mm = plan_.layers[j].thickness_mm;
      if (request_.total_held && j + 1 == pastes_.size()) {
        mm -= kept;
      } else {
        const double error = 0.15 * normal(random);
        kept += error;
        mm += error;
      }
      stack.layers.push_back({moved(pastes_[j], known->second), std::max(mm, 0.02)});
      sd = std::max(sd, pastes_[j].transport->reflectance_sd);
    }
    std::vector<double> seen = predict(stack, Engine::transport).values();
    std::vector<double> z(seen.size());
    for (double& value : z) value = normal(random);
    for (std::size_t i = 0; i < seen.size(); ++i) {
      double smooth = 0;
      for (std::size_t k = 0; k <= i; ++k) smooth += smooth_[i][k] * z[k];
      seen[i] = std::clamp(seen[i] + sd * smooth, 0.0, 1.0);
    }
    Lab target = request_.target.lab.value;
    const Mat3& c = request_.target.lab.random;
    target.l += std::sqrt(c[0][0]) * normal(random);
    target.a += std::sqrt(c[1][1]) * normal(random);
    target.b += std::sqrt(c[2][2]) * normal(random);
    return de00(target, to_lab(Reflectance(request_.floor.grid(), seen), test::d65()));
  }

 private:
  static Paste moved(Paste paste, const std::vector<double>& z) {
    TransportConstants& t = *paste.transport;
    std::vector<double> absorption = t.absorption.values();
    std::vector<double> reduced = t.reduced_scattering.values();
    for (std::size_t e = 0; e < z.size(); ++e) {
      const ConstantsMode& error = t.modes[e];
      for (std::size_t i = 0; i < absorption.size(); ++i) {
        absorption[i] *= std::exp(z[e] * error.ln_absorption[i]);
        reduced[i] *= std::exp(z[e] * error.ln_reduced_scattering[i]);
      }
      t.anisotropy = std::clamp(t.anisotropy + z[e] * error.anisotropy, 0.0, 0.98);
    }
    t.absorption = PerMm(test::visible, std::move(absorption));
    t.reduced_scattering = PerMm(test::visible, std::move(reduced));
    return paste;
  }

  const PlanRequest& request_;
  const Plan& plan_;
  std::vector<std::vector<double>> smooth_;
  std::vector<Paste> pastes_;
};

TEST(Spread, StatedRmsAnd95PercentHoldAgainstMonteCarloStudy) {
  Random random(33);
  const int problems = studies(4);
  const int draws = problems > 4 ? 10000 : 1500;
  int sampled = 0;
  double worst_rms = 0;
  double worst_cover = 0;
  double mean_cover = 0;
  for (int i = 0; i < problems; ++i) {
    const PlanRequest request = random_request(random);
    const PlanSet set = plan(request);
    const Plan& best = set.plans[set.recommended];
    Sampler sampler(request, best);
    double sum = 0;
    int within = 0;
    for (int d = 0; d < draws; ++d) {
      const double de = sampler.draw(random);
      sum += de * de;
      within += de <= best.de00_p95 ? 1 : 0;
    }
    const double rms = std::sqrt(sum / draws);
    const double cover = static_cast<double>(within) / draws;
    sampled += best.sampled ? 1 : 0;
    worst_rms = std::max(worst_rms, std::abs(best.de00_rms / rms - 1));
    worst_cover = std::max(worst_cover, std::abs(cover - 0.95));
    mean_cover += cover / problems;
    EXPECT_NEAR(best.de00_rms / rms, 1, 0.1) << i << (best.sampled ? " sampled" : "");
    EXPECT_NEAR(cover, 0.95, problems > 4 ? 0.02 : 0.03) << i << (best.sampled ? " sampled" : "");
  }
  std::cout << problems << " problems, " << sampled << " by sampling: rms off by up to "
            << worst_rms << ", 95 % held in " << mean_cover << " on average, off by up to "
            << worst_cover << "\n";
}

}  // namespace
}  // namespace mamelon

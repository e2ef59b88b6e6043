// How well stacks are predicted from drawdowns as benches have them. By hand:
//
//   paste_study CASES [SEED [BENCH…]]
//
// All benches, or those named. // Truth: what is read of a specimen of endless width by 32 streams,
// times the share that photons (slab_photons.h) leave within the aperture, with noise; colours of
// stacks by 32 streams.

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <map>
#include <random>
#include <string>
#include <vector>

#include "mamelon/mamelon.h"

#include "material/reading_model.h"
#include "slab_photons.h"

namespace mamelon {
namespace {

const Grid bands{400, 20, 16};
constexpr int true_streams = 32;
constexpr std::array thicknesses{0.5, 1.0, 2.0};
constexpr std::array backings{0.045, 0.82};
constexpr double noise = 0.003;
constexpr double thickness_sd = 0.02;
constexpr std::array<Aperture, 3> apertures{{{13, 8}, {8, 4}, {5, 3}}};
constexpr long photons = 20000;

const Viewing& d65() {
  static const Viewing viewing{standard_illuminant("D65"), Observer::deg2};
  return viewing;
}

Reflectance flat(double value) {
  return {bands, std::vector<double>(bands.count, value)};
}

Paste draw_paste(std::mt19937_64& random, double index) {
  std::uniform_real_distribution<double> uniform(0, 1);
  const double s550 = 0.8 * std::pow(3, uniform(random));
  const double exponent = 0.2 + 0.8 * uniform(random);
  const double k550 = 0.005 + 0.025 * uniform(random);
  const double blue = 0.025 + 0.25 * uniform(random);
  const double tint = 0.05 * uniform(random);
  const double g = 0.6 + 0.3 * uniform(random);
  std::vector<double> k;
  std::vector<double> s;
  for (std::size_t i = 0; i < bands.count; ++i) {
    const double nm = bands.wavelength_nm(i);
    k.push_back(k550 * std::pow(nm / 550, -1.2) + blue * std::exp(-std::pow((nm - 380) / 85, 2)) +
                tint * std::exp(-std::pow((nm - 525) / 45, 2)));
    s.push_back(s550 * std::pow(nm / 550, -exponent));
  }
  Paste paste;
  paste.name = "drawn";
  paste.refractive_index = index;
  paste.absorption = PerMm(bands, k);
  paste.scattering = PerMm(bands, s);
  paste.transport = TransportConstants{PerMm(bands, k), PerMm(bands, s), g};
  return paste;
}

// What each aperture leaves of the light, one a thickness, backing, band and aperture; of specimens
// in contact or across an air gap.
using Shares = std::map<std::pair<double, double>, std::vector<std::array<double, 3>>>;

Shares shares_of(const Paste& paste, const std::vector<double>& true_mm, bool gap,
                 bench::Random& random) {
  Shares shares;
  const TransportConstants& c = *paste.transport;
  const double n = paste.refractive_index;
  const double outside = bench::diffuse_outside(n);
  const Interface surface = interface_of(n, false);
  for (std::size_t t = 0; t < thicknesses.size(); ++t) {
    const double mm = true_mm[t];
    for (const double backing : backings) shares[{thicknesses.at(t), backing}].resize(bands.count);
    for (std::size_t band = 0; band < bands.count; ++band) {
      const bench::Slab slab{c.reduced_scattering[band] / (1 - c.anisotropy) * mm, c.anisotropy, n,
                             gap};
      std::map<double, std::array<double, 4>> sums;
      for (long i = 0; i < photons; ++i) {
        const bench::Exit exit = bench::follow(slab, outside, random);
        const double u = random.next();
        const double angle = 2 * std::numbers::pi * random.next();
        if (!exit.out) continue;
        for (const double backing : backings) {
          const double rho = gap ? backing : to_internal(backing, surface);
          const double weight =
              bench::power(rho, exit.bounces) * std::exp(-c.absorption[band] * mm * exit.path);
          std::array<double, 4>& sum = sums[backing];
          sum[3] += weight;
          for (std::size_t a = 0; a < apertures.size(); ++a) {
            const double from = apertures.at(a).seen_mm / 2 * std::sqrt(u);
            if (std::hypot(from + exit.distance * mm * std::cos(angle),
                           exit.distance * mm * std::sin(angle)) < apertures.at(a).lit_mm / 2) {
              sum.at(a) += weight;
            }
          }
        }
      }
      for (const double backing : backings) {
        const auto& sum = sums[backing];
        for (std::size_t a = 0; a < 3; ++a) {
          shares[{thicknesses.at(t), backing}][band].at(a) = sum.at(a) / sum[3];
        }
      }
    }
  }
  return shares;
}

struct Bench {
  bool gap = false;
  int aperture = -1;  // of `apertures`; −1: endless
  double scale = 1;
};

std::vector<Drawdown> measure(const Paste& paste, const std::vector<double>& true_mm,
                              const Bench& bench, const Shares& shares, std::mt19937_64& random) {
  std::normal_distribution<double> normal;
  std::vector<Drawdown> all;
  for (std::size_t t = 0; t < thicknesses.size(); ++t) {
    for (const double backing : backings) {
      Drawdown one;
      one.specimen = std::to_string(thicknesses.at(t));
      one.thickness_mm = thicknesses.at(t);
      one.thickness_sd_mm = thickness_sd;
      one.geometry = Geometry::diffuse_8_excluded;
      one.contact = bench.gap ? Backing::air_gap : Backing::seen_in_air;
      one.backing = flat(backing);
      one.reflectance_sd = noise;
      one.aperture = Aperture{1000, 500};
      const PasteFitOptions truth{.engine = Engine::transport, .streams = true_streams};
      const detail::ReadingModel model(std::span(&one, 1), truth);
      const TransportConstants& c = *paste.transport;
      std::vector<double> seen =
          model.read(model.prepare({c.absorption.values(), c.reduced_scattering.values(),
                                    c.anisotropy, paste.refractive_index}),
                     0, true_mm[t]);
      for (std::size_t i = 0; i < seen.size(); ++i) {
        const double share = bench.aperture < 0 ? 1
                                                : shares.at({thicknesses.at(t), backing})[i].at(
                                                      static_cast<std::size_t>(bench.aperture));
        seen[i] = bench.scale * seen[i] * share + noise * normal(random);
      }
      if (bench.aperture >= 0)
        one.aperture = apertures.at(static_cast<std::size_t>(bench.aperture));
      one.measured = Reflectance(bands, std::move(seen));
      all.push_back(std::move(one));
    }
  }
  return all;
}

struct Score {
  std::vector<double> de;
  std::vector<double> u95;
  std::vector<double> reduced;
  int inside = 0;
  int refused = 0;
  std::map<std::string, int> causes;

  void add(const Lab& truth, const FittedPrediction& predicted) {
    de.push_back(de00(truth, predicted.lab.value));
    const auto sd = predicted.lab.sd();
    u95.push_back(1.96 * std::sqrt(sd[0] * sd[0] + sd[1] * sd[1] + sd[2] * sd[2]));
    inside += std::abs(truth.l - predicted.lab.value.l) < 1.96 * sd[0] ? 1 : 0;
    inside += std::abs(truth.a - predicted.lab.value.a) < 1.96 * sd[1] ? 1 : 0;
    inside += std::abs(truth.b - predicted.lab.value.b) < 1.96 * sd[2] ? 1 : 0;
  }
  void print(const std::string& name) {
    const auto n = static_cast<double>(de.size());
    double sum = 0;
    for (const double value : de) sum += value;
    std::sort(de.begin(), de.end());
    std::sort(u95.begin(), u95.end());
    std::sort(reduced.begin(), reduced.end());
    const auto part = [](const std::vector<double>& v, double q) {
      return v.empty() ? 0 : v[static_cast<std::size_t>(q * static_cast<double>(v.size() - 1))];
    };
    std::printf("| %-34s | %.2f | %.2f | %.1f | %.2f | %.2f | %d |", name.c_str(),
                n > 0 ? sum / n : 0, part(de, 0.95), n > 0 ? 100 * inside / (3 * n) : 0,
                part(u95, 0.5), part(reduced, 0.5), refused);
    for (const auto& [cause, count] : causes) std::printf(" %d: %s;", count, cause.c_str());
    std::printf("\n");
    std::fflush(stdout);
  }
};

struct StudiedPaste {
  Paste paste;
  std::vector<double> true_mm;
  Shares contact;
  Shares gap;
};

struct Scenario {
  const char* name;
  Bench bench;
  std::function<void(Drawdown&)> describe;
};

void run(const Scenario& scenario, const std::vector<StudiedPaste>& cases, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> uniform(0, 1);
  Score score;
  std::vector<std::optional<PasteFit>> fits;
  for (const StudiedPaste& one : cases) {
    std::vector<Drawdown> drawdowns = measure(one.paste, one.true_mm, scenario.bench,
                                              scenario.bench.gap ? one.gap : one.contact, random);
    if (scenario.describe) std::for_each(drawdowns.begin(), drawdowns.end(), scenario.describe);
    try {
      PasteFitOptions options;
      options.engine = Engine::transport;
      options.model_sd = transport_model_sd;
      fits.push_back(fit_paste(drawdowns, options));
      score.reduced.push_back(fits.back()->chi_square / fits.back()->degrees_of_freedom);
    } catch (const ModelError& error) {
      fits.emplace_back();
      ++score.refused;
      const std::string text = error.what();
      const auto at = text.find("cause: ");
      ++score.causes[at == std::string::npos ? text.substr(0, 60) : text.substr(at + 7, 40)];
    }
  }
  for (std::size_t i = 0; i < cases.size(); ++i) {
    const std::size_t upper = (i + 1) % cases.size();
    const Reflectance floor = flat(0.05 + 0.5 * uniform(random));
    const double d1 = 0.6 + 1.4 * uniform(random);
    const double d2 = 0.3 + 0.9 * uniform(random);
    const double d3 = 0.6 + 1.4 * uniform(random);
    const auto seen = [&](const std::vector<Layer>& layers) {
      return to_lab(predict(Stack{floor, layers, false}, Engine::transport, true_streams), d65());
    };
    if (!fits[i]) continue;
    for (const double d : {d1, d3}) {
      const FittedLayer layer{&*fits[i], d, 0};
      score.add(seen({{cases[i].paste, d}}), predict_fitted(floor, std::span(&layer, 1), d65()));
    }
    if (!fits[upper]) continue;
    for (const double d : {d1, d3}) {
      const std::array two{FittedLayer{&*fits[i], d, 0}, FittedLayer{&*fits[upper], d2, 0}};
      score.add(seen({{cases[i].paste, d}, {cases[upper].paste, d2}}),
                predict_fitted(floor, two, d65()));
    }
  }
  score.print(scenario.name);
}

}  // namespace
}  // namespace mamelon

int main(int argc, char** argv) {
  using namespace mamelon;  // NOLINT(google-build-using-namespace)
  const int count = argc > 1 ? std::atoi(argv[1]) : 12;
  const std::uint64_t seed = argc > 2 ? std::strtoull(argv[2], nullptr, 10) : 7;
  std::mt19937_64 random(seed);
  bench::Random photons_random(seed + 1000);
  std::normal_distribution<double> normal;
  std::vector<StudiedPaste> cases;
  for (int i = 0; i < count; ++i) {
    StudiedPaste one{draw_paste(random, 1.5), {}, {}, {}};
    for (const double d : thicknesses) one.true_mm.push_back(d + thickness_sd * normal(random));
    one.contact = shares_of(one.paste, one.true_mm, false, photons_random);
    one.gap = shares_of(one.paste, one.true_mm, true, photons_random);
    cases.push_back(std::move(one));
  }
  std::printf("| bench | mean | p95 | in 95 %% | U95 | chi2/dof | refused of %d |\n", count);
  const auto unknown = [](Drawdown& one) { one.aperture.reset(); };
  const auto endless = [](Drawdown& one) { one.aperture = Aperture{1000, 500}; };
  const auto touching = [](Drawdown& one) { one.contact = Backing::seen_in_air; };
  const std::vector<Scenario> scenarios{
      {"contact", {}, {}},
      {"contact, aperture not stated", {}, unknown},
      {"air gap", {.gap = true}, {}},
      {"air gap said to be contact", {.gap = true}, touching},
      {"13/8", {.aperture = 0}, {}},
      {"8/4", {.aperture = 1}, {}},
      {"5/3", {.aperture = 2}, {}},
      {"13/8 not stated", {.aperture = 0}, unknown},
      {"8/4 not stated", {.aperture = 1}, unknown},
      {"5/3 not stated", {.aperture = 2}, unknown},
      {"13/8 said to be endless", {.aperture = 0}, endless},
      {"8/4 said to be endless", {.aperture = 1}, endless},
      {"5/3 said to be endless", {.aperture = 2}, endless},
      {"air gap, 8/4", {.gap = true, .aperture = 1}, {}},
      {"scale 0.99", {.scale = 0.99}, {}},
      {"scale 0.98", {.scale = 0.98}, {}},
      {"scale 0.97", {.scale = 0.97}, {}},
  };
  const std::vector<std::string> wanted(argv + std::min(argc, 3), argv + argc);
  for (const Scenario& scenario : scenarios) {
    if (wanted.empty() || std::find(wanted.begin(), wanted.end(), scenario.name) != wanted.end()) {
      run(scenario, cases, seed);
    }
  }
  return 0;
}

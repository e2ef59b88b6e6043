// How well stacks are predicted from drawdowns as benches have them. By hand:
//
//   paste_study CASES [SEED [BENCH…]]
//
// All benches, or those named. Truth: what is read of a specimen of endless width by 32 streams,
// times the share that photons (slab_photons.h) leave within the aperture, with noise; colours of
// stacks by 32 streams. Of benches "as drawn" the index, the instrument's scale, the level of the
// backings and the circles lit and seen are off by errors that are drawn for each paste; of the
// others all are as stated. The spread of a mean and of a share is over pastes: stacks of one paste
// err together.

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

#include "edge_shares.h"
#include "material/reading_model.h"

namespace mamelon {
namespace {

const Grid bands{400, 20, 16};
constexpr int true_streams = 32;
constexpr std::array thicknesses{0.5, 1.0, 2.0};
constexpr std::array backings{0.045, 0.82};
constexpr double noise = 0.003;
constexpr double thickness_sd = 0.02;
constexpr std::array<Aperture, 3> apertures{{{13, 8}, {8, 4}, {5, 3}}};
constexpr long photons = 30000;

// What is drawn of an instrument (published and common: scales of commercial instruments differ by
// 0.5 to 1 %) and of a paste.
constexpr double index_sd = 0.02;
constexpr double scale_sd = 0.0075;
constexpr double backing_sd = 0.0075;
constexpr double circle_sd_mm = 0.05;

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
using Shares = std::map<std::pair<double, double>, std::vector<std::vector<double>>>;

Shares shares_of(const Paste& paste, const std::vector<double>& true_mm,
                 const std::array<Aperture, 3>& circles, bool gap, bench::Random& random) {
  Shares shares;
  const TransportConstants& c = *paste.transport;
  const Interface surface = interface_of(paste.refractive_index, false);
  for (std::size_t t = 0; t < thicknesses.size(); ++t) {
    bench::Specimen specimen{true_mm[t],
                             c.absorption.values(),
                             c.reduced_scattering.values(),
                             c.anisotropy,
                             paste.refractive_index,
                             gap,
                             {}};
    for (const double backing : backings) {
      specimen.floors.push_back(gap ? backing : to_internal(backing, surface));
    }
    auto seen = bench::shares_seen(specimen, {circles.begin(), circles.end()}, photons, random);
    for (std::size_t b = 0; b < backings.size(); ++b) {
      shares[{thicknesses.at(t), backings.at(b)}] = std::move(seen[b]);
    }
  }
  return shares;
}

struct Bench {
  bool gap = false;
  int aperture = -1;  // of `apertures`; −1: endless
  double scale = 1;
  bool drawn = false;
};

// A paste and the bench that it is measured on.
struct StudiedPaste {
  Paste paste;
  std::vector<double> true_mm;
  std::array<Aperture, 3> circles = apertures;  // as they are; `apertures` are stated
  double scale = 1;
  double backing = 1;  // what there is of the backings, against what is stated
  std::uint64_t seed = 0;
  std::map<bool, Shares> shares;  // of contact, of a gap

  const Shares& shares_across(bool gap) {
    const auto found = shares.find(gap);
    if (found != shares.end()) return found->second;
    bench::Random random(seed + (gap ? 500 : 0));
    return shares.emplace(gap, shares_of(paste, true_mm, circles, gap, random)).first->second;
  }
};

std::vector<Drawdown> measure(StudiedPaste& of, const Bench& bench, std::mt19937_64& random) {
  const Paste& paste = of.paste;
  const double scale = bench.scale * of.scale;
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
      one.backing = flat(of.backing * backing);
      one.reflectance_sd = noise;
      one.aperture = Aperture{1000, 500};
      const PasteFitOptions truth{.engine = Engine::transport, .streams = true_streams};
      const detail::ReadingModel model(std::span(&one, 1), truth);
      const TransportConstants& c = *paste.transport;
      std::vector<double> seen =
          model.read(model.prepare({c.absorption.values(), c.reduced_scattering.values(),
                                    c.anisotropy, paste.refractive_index}),
                     0, of.true_mm[t]);
      // The bare backing is read on the same scale.
      one.backing = flat(of.scale * backing);
      for (std::size_t i = 0; i < seen.size(); ++i) {
        const double share =
            bench.aperture < 0 ? 1
                               : of.shares_across(bench.gap).at({thicknesses.at(t), backing})[i].at(
                                     static_cast<std::size_t>(bench.aperture));
        seen[i] = scale * seen[i] * share + noise * normal(random);
      }
      if (bench.aperture >= 0)
        one.aperture = apertures.at(static_cast<std::size_t>(bench.aperture));
      one.measured = Reflectance(bands, std::move(seen));
      all.push_back(std::move(one));
    }
  }
  return all;
}

// Mean over all with the standard error that pastes of unlike means give it.
struct Clustered {
  double mean = 0;
  double error = 0;
};
Clustered clustered(const std::vector<std::vector<double>>& of_pastes) {
  Clustered out;
  double count = 0;
  for (const auto& one : of_pastes) {
    for (const double value : one) out.mean += value;
    count += static_cast<double>(one.size());
  }
  if (count == 0) return out;
  out.mean /= count;
  double squares = 0;
  for (const auto& one : of_pastes) {
    double off = 0;
    for (const double value : one) off += value - out.mean;
    squares += off * off;
  }
  const auto pastes = static_cast<double>(of_pastes.size());
  out.error = pastes > 1 ? std::sqrt(squares * pastes / (pastes - 1)) / count : 0;
  return out;
}

struct Score {
  std::vector<std::vector<double>> de;      // of each paste's stacks
  std::vector<std::vector<double>> inside;  // 1 a coordinate within its interval
  std::vector<double> u95;
  std::vector<double> reduced;
  std::array<double, 3> squares{};  // of errors over their sds, one a coordinate
  int refused = 0;
  std::map<std::string, int> causes;

  void next_paste() {
    de.emplace_back();
    inside.emplace_back();
  }
  void add(const Lab& truth, const FittedPrediction& predicted) {
    de.back().push_back(de00(truth, predicted.lab.value));
    const auto sd = predicted.lab.sd();
    u95.push_back(1.96 * std::sqrt(sd[0] * sd[0] + sd[1] * sd[1] + sd[2] * sd[2]));
    const Lab& found = predicted.lab.value;
    const std::array off{truth.l - found.l, truth.a - found.a, truth.b - found.b};
    for (std::size_t k = 0; k < 3; ++k) {
      const double sds = off.at(k) / sd.at(k);
      squares.at(k) += sds * sds;
      inside.back().push_back(std::abs(sds) < 1.96 ? 1 : 0);
    }
  }
  void print(const std::string& name) {
    const auto part = [](std::vector<double> v, double q) {
      std::sort(v.begin(), v.end());
      return v.empty() ? 0 : v[static_cast<std::size_t>(q * static_cast<double>(v.size() - 1))];
    };
    std::vector<double> all;
    for (const auto& one : de) all.insert(all.end(), one.begin(), one.end());
    const auto n = static_cast<double>(all.size());
    const Clustered mean = clustered(de);
    const Clustered within = clustered(inside);
    std::printf(
        "| %-30s | %3.0f | %.2f ± %.2f | %.2f | %.1f ± %.1f | %.2f %.2f %.2f | %.2f | %.2f | %d |",
        name.c_str(), n, mean.mean, mean.error, part(all, 0.95), 100 * within.mean,
        100 * within.error, std::sqrt(squares[0] / n), std::sqrt(squares[1] / n),
        std::sqrt(squares[2] / n), part(u95, 0.5), part(reduced, 0.5), refused);
    for (const auto& [cause, count] : causes) std::printf(" %d: %s;", count, cause.c_str());
    std::printf("\n");
    std::fflush(stdout);
  }
};

struct Scenario {
  const char* name;
  Bench bench;
  std::function<void(Drawdown&)> describe;
};

void run(const Scenario& scenario, std::vector<StudiedPaste>& cases, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> uniform(0, 1);
  Score score;
  std::vector<std::optional<PasteFit>> fits;
  for (StudiedPaste& one : cases) {
    std::vector<Drawdown> drawdowns = measure(one, scenario.bench, random);
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
    score.next_paste();
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
  std::mt19937_64 random_bench(seed + 2000);
  std::normal_distribution<double> normal;
  std::vector<StudiedPaste> as_stated;
  std::vector<StudiedPaste> as_drawn;
  for (int i = 0; i < count; ++i) {
    StudiedPaste one;
    one.paste = draw_paste(random, 1.5);
    one.seed = 1000 * (seed + 1000) + static_cast<std::uint64_t>(i);
    for (const double d : thicknesses) one.true_mm.push_back(d + thickness_sd * normal(random));
    as_stated.push_back(one);
    one.paste.refractive_index += index_sd * normal(random_bench);
    one.scale = std::exp(scale_sd * normal(random_bench));
    one.backing = std::exp(backing_sd * normal(random_bench));
    for (Aperture& circle : one.circles) {
      circle.lit_mm += circle_sd_mm * normal(random_bench);
      circle.seen_mm += circle_sd_mm * normal(random_bench);
    }
    as_drawn.push_back(std::move(one));
  }
  std::printf(
      "| bench | stacks | mean | p95 | in 95 %% | rms in sds | U95 | chi2/dof | refused of %d |\n",
      count);
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
      {"contact, as drawn", {.drawn = true}, {}},
      {"air gap, as drawn", {.gap = true, .drawn = true}, {}},
      {"13/8, as drawn", {.aperture = 0, .drawn = true}, {}},
      {"8/4, as drawn", {.aperture = 1, .drawn = true}, {}},
      {"5/3, as drawn", {.aperture = 2, .drawn = true}, {}},
      {"contact, not stated, as drawn", {.drawn = true}, unknown},
      {"13/8, not stated, as drawn", {.aperture = 0, .drawn = true}, unknown},
      {"8/4, not stated, as drawn", {.aperture = 1, .drawn = true}, unknown},
      {"5/3, not stated, as drawn", {.aperture = 2, .drawn = true}, unknown},
  };
  const std::vector<std::string> wanted(argv + std::min(argc, 3), argv + argc);
  for (const Scenario& scenario : scenarios) {
    if (wanted.empty() || std::find(wanted.begin(), wanted.end(), scenario.name) != wanted.end()) {
      run(scenario, scenario.bench.drawn ? as_drawn : as_stated, seed);
    }
  }
  return 0;
}

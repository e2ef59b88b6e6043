// How well the whole colour of a tooth is known from a reading through a window. By hand:
//
//   tooth_study TEETH [SEED]
//
// Truth: one medium of drawn constants by 16 streams, times the share that photons leave within the
// window (edge_shares.h). Printed by window and by how light the tooth is.

#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <random>
#include <string>
#include <vector>

#include "mamelon/mamelon.h"

#include "case/tooth_edge.h"
#include "edge_shares.h"

namespace mamelon {
namespace {

const Grid bands{400, 20, 16};
const std::vector<Aperture> windows{{13, 8}, {8, 4}, {5, 3}};
const std::array<const char*, 3> groups{"below 62", "62 to 72", "above 72"};

const Viewing& d65() {
  static const Viewing viewing{standard_illuminant("D65"), Observer::deg2};
  return viewing;
}

struct Score {
  double count = 0;
  double read = 0;
  double off = 0;
  double squares = 0;
  double sd = 0;
  std::array<double, 3> inside{};
};

struct Drawn {
  bench::Specimen tooth;
  Reflectance whole;
};

Drawn draw(std::mt19937_64& random) {
  std::uniform_real_distribution<double> uniform(0, 1);
  std::normal_distribution<double> normal;
  bench::Specimen tooth;
  tooth.thickness_mm = 2 + 3 * uniform(random);
  tooth.g = 0.75 + 0.2 * uniform(random);
  tooth.n = 1.55 + 0.1 * uniform(random);
  tooth.floors = {0.1 + 0.4 * uniform(random)};
  const double reduced = 1.4 * std::exp(0.4 * normal(random));
  const double exponent = 0.5 + uniform(random);
  const double absorption = 0.005 * std::pow(40, uniform(random));
  const double yellow = absorption * (1 + 4 * uniform(random));
  for (std::size_t i = 0; i < bands.count; ++i) {
    const double nm = bands.wavelength_nm(i);
    tooth.reduced.push_back(reduced * std::pow(550 / nm, exponent));
    tooth.absorption.push_back(absorption * (550 / nm) +
                               yellow * std::exp(-std::pow((nm - 400) / 70, 2)));
  }
  Paste paste;
  paste.name = "tooth";
  paste.refractive_index = tooth.n;
  paste.absorption = PerMm(bands, tooth.absorption);
  paste.scattering = PerMm(bands, tooth.reduced);
  paste.transport = TransportConstants{paste.absorption, paste.scattering, tooth.g};
  const Reflectance floor(bands, std::vector<double>(bands.count, tooth.floors.front()));
  return {tooth,
          predict(Stack{floor, {{paste, tooth.thickness_mm}}, false}, Engine::transport, 16)};
}

void run(int count, std::uint64_t seed) {
  constexpr long photons = 4000;
  std::mt19937_64 random(seed);
  bench::Random of_photons(seed + 1000);
  std::array<std::array<Score, 3>, 3> scores{};
  for (int i = 0; i < count;) {
    const Drawn one = draw(random);
    const Lab truth = to_lab(one.whole, d65());
    if (truth.l < 50 || truth.l > 85) continue;  // no tooth
    ++i;
    const auto shares = bench::shares_seen(one.tooth, windows, photons, of_photons);
    for (std::size_t w = 0; w < windows.size(); ++w) {
      std::vector<double> values = one.whole.values();
      for (std::size_t b = 0; b < values.size(); ++b) values[b] *= shares[0][b][w];
      const Reading read = read_spectrum("tooth", Reflectance(bands, values), d65());
      const Measured<Lab> found = detail::seen_widely(read, windows[w], false).lab;
      const Vec3 sd = found.sd();
      Score& score = scores.at(w).at(truth.l < 62 ? 0 : truth.l < 72 ? 1 : 2);
      score.count += 1;
      score.read += read.lab.value.l - truth.l;
      score.off += found.value.l - truth.l;
      score.squares += std::pow(found.value.l - truth.l, 2);
      score.sd += sd[0] * sd[0];
      const Vec3 off{found.value.l - truth.l, found.value.a - truth.a, found.value.b - truth.b};
      for (std::size_t k = 0; k < 3; ++k) {
        score.inside.at(k) += std::abs(off.at(k)) < 1.96 * sd.at(k) ? 1 : 0;
      }
    }
  }
  std::printf("| window | L* | teeth | read | mended | rms | sd | L*, a*, b* in 95 %% |\n");
  for (std::size_t w = 0; w < windows.size(); ++w) {
    for (std::size_t group = 0; group < groups.size(); ++group) {
      const Score& s = scores.at(w).at(group);
      if (s.count == 0) continue;
      std::printf("| %g / %g | %s | %.0f | %.1f | %.1f | %.1f | %.1f | %.0f, %.0f, %.0f |\n",
                  windows[w].lit_mm, windows[w].seen_mm, groups.at(group), s.count,
                  s.read / s.count, s.off / s.count, std::sqrt(s.squares / s.count),
                  std::sqrt(s.sd / s.count), 100 * s.inside[0] / s.count,
                  100 * s.inside[1] / s.count, 100 * s.inside[2] / s.count);
    }
  }
}

}  // namespace
}  // namespace mamelon

int main(int argc, char** argv) {
  mamelon::run(argc > 1 ? std::atoi(argv[1]) : 60,
               argc > 2 ? std::strtoull(argv[2], nullptr, 10) : 1);
  return 0;
}

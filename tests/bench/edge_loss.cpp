// Monte Carlo of where light leaves a slab again: the table behind the edge loss of small
// apertures.
//
//   edge_loss PHOTONS SEED > src/material/edge_loss_table.inc     the table
//   edge_loss PHOTONS SEED check MUA MUS G N MM BACKING GAP LIT SEEN …  one slab read by apertures
//
// Lengths count in thicknesses of the slab, so that a slab is told by µs′d, µa/µs′, g, n and its
// backing. One photon history serves every absorption (weight exp(−µa · path)), every backing
// (weight ρ^bounces) and every aperture (the distribution of the distance between entry and exit).

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <numbers>
#include <vector>

#include "slab_photons.h"

namespace {

using namespace mamelon::bench;  // NOLINT(google-build-using-namespace)

constexpr std::array<double, 9> reduced{0.1, 0.2, 0.4, 0.8, 1.6, 3.2, 6.4, 12.8, 25.6};
constexpr std::array<double, 7> root_ratio{0, 0.07, 0.15, 0.25, 0.4, 0.6, 1};  // √(µa/µs′)
constexpr std::array<double, 5> backing{0, 0.35, 0.65, 0.85, 1};
constexpr std::array<double, 2> anisotropy{0.2, 0.8};
constexpr std::array<double, 2> index{1.45, 1.6};
constexpr std::array<double, 12> radius = [] {
  std::array<double, 12> all{};
  double r = 0.3;
  for (double& one : all) {
    one = r;
    r *= 1.5;
  }
  return all;
}();

constexpr std::size_t halves = 2;
struct Tally {
  // Weight that leaves beyond each radius; the last is all of it.
  std::array<std::array<std::array<double, radius.size() + 1>, backing.size()>, root_ratio.size()>
      beyond{};
};

void fill(Tally& tally, const Slab& slab, double reduced_scattering, double r_outside, long photons,
          Random& random) {
  for (long i = 0; i < photons; ++i) {
    const Exit exit = follow(slab, r_outside, random);
    if (!exit.out) continue;
    const auto reach = static_cast<std::size_t>(
        std::upper_bound(radius.begin(), radius.end(), exit.distance) - radius.begin());
    for (std::size_t b = 0; b < backing.size(); ++b) {
      const double weight = power(backing[b], exit.bounces);
      if (weight < 1e-12) continue;
      for (std::size_t a = 0; a < root_ratio.size(); ++a) {
        const double all =
            weight * std::exp(-root_ratio[a] * root_ratio[a] * reduced_scattering * exit.path);
        tally.beyond[a][b][radius.size()] += all;
        for (std::size_t r = 0; r < reach; ++r) tally.beyond[a][b][r] += all;
      }
    }
  }
}

constexpr double per_unit = 4000;  // of −ln of the part beyond

int coded(double part) {
  if (!(part > 0)) return 65535;
  return static_cast<int>(std::clamp(std::lround(-per_unit * std::log(part)), 0L, 65535L));
}

void print_axis(const char* name, const double* values, std::size_t count) {
  std::printf("inline constexpr std::array<double, %zu> edge_%s{", count, name);
  for (std::size_t i = 0; i < count; ++i) std::printf("%s%.9g", i == 0 ? "" : ", ", values[i]);
  std::printf("};\n");
}

void print_table(long photons, std::uint64_t seed) {
  std::printf("// Made by tests/bench/edge_loss.cpp with %ld photons a slab, seed %llu.\n", photons,
              static_cast<unsigned long long>(seed));
  print_axis("reduced_scattering", reduced.data(), reduced.size());
  print_axis("root_ratio", root_ratio.data(), root_ratio.size());
  print_axis("backing", backing.data(), backing.size());
  print_axis("anisotropy", anisotropy.data(), anisotropy.size());
  print_axis("index", index.data(), index.size());
  print_axis("radius", radius.data(), radius.size());
  std::printf(
      "// −%g ln of the part of the light that leaves beyond each radius; contact or gap, index,\n"
      "// anisotropy, reduced scattering, root ratio, backing, radius, the last fastest.\n"
      "inline constexpr std::array<std::uint16_t, %zu> edge_codes{\n",
      per_unit,
      2 * index.size() * anisotropy.size() * reduced.size() * root_ratio.size() * backing.size() *
          radius.size());
  double squares = 0;
  double worst = 0;
  long count = 0;
  for (const bool gap : {false, true}) {
    for (const double n : index) {
      const double r_outside = diffuse_outside(n);
      for (const double g : anisotropy) {
        for (const double x : reduced) {
          std::array<Tally, halves> tallies;
          for (Tally& tally : tallies) {
            Random random(++seed);
            fill(tally, {x / (1 - g), g, n, gap}, x, r_outside, photons / 2, random);
          }
          std::fprintf(stderr, "gap %d n %.2f g %.1f x %.1f\n", gap ? 1 : 0, n, g, x);
          for (std::size_t a = 0; a < root_ratio.size(); ++a) {
            for (std::size_t b = 0; b < backing.size(); ++b) {
              const auto& one = tallies[0].beyond[a][b];
              const auto& other = tallies[1].beyond[a][b];
              for (std::size_t r = 0; r < radius.size(); ++r) {
                const double part = (one[r] + other[r]) / (one.back() + other.back());
                const double off = one[r] / one.back() - other[r] / other.back();
                squares += off * off / 4;
                worst = std::max(worst, std::abs(off) / 2);
                ++count;
                std::printf("%d,", coded(part));
              }
              std::printf("\n");
            }
          }
        }
      }
    }
  }
  std::printf(
      "};\n// Standard error of a part by the difference of its halves: %.5f rms, %.5f at most.\n",
      std::sqrt(squares / static_cast<double>(count)), worst);
}

// Reflectance (without gloss) of one slab as apertures see it, straight from the photons.
int check(long photons, std::uint64_t seed, int argc, char** argv) {
  if (argc < 12) return 2;
  const auto value = [&](int i) { return std::strtod(argv[i], nullptr); };
  const double mua = value(4);
  const double mus = value(5);
  const double mm = value(8);
  const double rho = value(9);
  const Slab slab{mus * mm, value(6), value(7), value(10) != 0};
  const double r_outside = diffuse_outside(slab.n);
  std::vector<double> lit;
  std::vector<double> seen;
  for (int i = 11; i + 1 < argc; i += 2) {
    lit.push_back(value(i) / 2);
    seen.push_back(value(i + 1) / 2);
  }
  std::vector<double> sum(lit.size() + 1);
  Random random(seed);
  for (long i = 0; i < photons; ++i) {
    const Exit exit = follow(slab, r_outside, random);
    const double u = random.next();
    const double angle = 2 * std::numbers::pi * random.next();
    if (!exit.out) continue;
    const double weight = power(rho, exit.bounces) * std::exp(-mua * mm * exit.path);
    sum[lit.size()] += weight;
    for (std::size_t k = 0; k < lit.size(); ++k) {
      const double from = seen[k] * std::sqrt(u);
      const double x = from + exit.distance * mm * std::cos(angle);
      const double y = exit.distance * mm * std::sin(angle);
      if (std::hypot(x, y) < lit[k]) sum[k] += weight;
    }
  }
  const double k1 = std::pow((slab.n - 1) / (slab.n + 1), 2);
  std::printf("all %.5f", sum.back() / static_cast<double>(photons) * (1 - k1));
  for (std::size_t k = 0; k < lit.size(); ++k) {
    std::printf("  %g/%g loses %.5f", 2 * lit[k], 2 * seen[k], 1 - sum[k] / sum.back());
  }
  std::printf("\n");
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 3) {
    std::fprintf(stderr, "usage: edge_loss PHOTONS SEED [check …]\n");
    return 2;
  }
  const long photons = std::strtol(argv[1], nullptr, 10);
  const std::uint64_t seed = std::strtoull(argv[2], nullptr, 10);
  if (argc > 3 && std::strcmp(argv[3], "check") == 0) return check(photons, seed, argc, argv);
  print_table(photons, seed);
  return 0;
}

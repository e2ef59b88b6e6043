#pragma once
// The share of the light that comes back which a window sees, by photons.

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "mamelon/drawdown.h"

#include "slab_photons.h"

namespace mamelon::bench {

// The share of a circle of radius `seen` that a move by `distance` leaves within one of radius
// `lit`: the area of their lens.
inline double kept(double distance, double lit, double seen) {
  const double least = std::min(lit, seen);
  if (distance <= std::abs(lit - seen)) return least * least / (seen * seen);
  if (distance >= lit + seen) return 0;
  const double d = distance;
  const double of_seen = std::acos((d * d + seen * seen - lit * lit) / (2 * d * seen));
  const double of_lit = std::acos((d * d + lit * lit - seen * seen) / (2 * d * lit));
  const double kite =
      std::sqrt((-d + seen + lit) * (d + seen - lit) * (d - seen + lit) * (d + seen + lit)) / 2;
  return (seen * seen * of_seen + lit * lit * of_lit - kite) / (std::numbers::pi * seen * seen);
}

struct Specimen {
  double thickness_mm = 1;
  std::vector<double> absorption;  // per mm, one a band
  std::vector<double> reduced;     // reduced scattering, per mm; it falls with the band
  double g = 0;
  double n = 1.5;
  bool gap = false;            // a smooth lower face with air under it, else optical contact
  std::vector<double> floors;  // from inside the specimen, or in air across a gap
};

// One a floor, band and window. Photons are followed at few scatterings; bands lie between them
// with their own absorption.
inline std::vector<std::vector<std::vector<double>>> shares_seen(
    const Specimen& specimen, const std::vector<Aperture>& windows, long photons, Random& random) {
  struct Sums {
    double all = 0;
    std::vector<double> kept;
  };
  constexpr std::size_t nodes = 4;
  const std::size_t bands = specimen.reduced.size();
  const std::size_t floors = specimen.floors.size();
  const double outside = diffuse_outside(specimen.n);
  const double least = std::log(specimen.reduced.back());
  const double step = (std::log(specimen.reduced.front()) - least) / (nodes - 1);
  const double mm = specimen.thickness_mm;
  std::vector<Sums> sums(nodes * floors * bands, Sums{0, std::vector<double>(windows.size())});
  const auto at = [&](std::size_t node, std::size_t floor, std::size_t band) -> Sums& {
    return sums[(node * floors + floor) * bands + band];
  };
  std::vector<double> part(windows.size());
  std::vector<double> bounced(floors);
  for (std::size_t node = 0; node < nodes; ++node) {
    const double reduced = std::exp(least + step * static_cast<double>(node));
    const Slab slab{reduced / (1 - specimen.g) * mm, specimen.g, specimen.n, specimen.gap};
    for (long i = 0; i < photons; ++i) {
      const Exit exit = follow(slab, outside, random);
      if (!exit.out) continue;
      for (std::size_t a = 0; a < windows.size(); ++a) {
        part[a] = kept(exit.distance * mm, windows[a].lit_mm / 2, windows[a].seen_mm / 2);
      }
      for (std::size_t f = 0; f < floors; ++f) {
        bounced[f] = power(specimen.floors[f], exit.bounces);
      }
      for (std::size_t band = 0; band < bands; ++band) {
        const double absorbed = std::exp(-specimen.absorption[band] * mm * exit.path);
        for (std::size_t f = 0; f < floors; ++f) {
          Sums& sum = at(node, f, band);
          sum.all += bounced[f] * absorbed;
          for (std::size_t a = 0; a < windows.size(); ++a) {
            sum.kept[a] += bounced[f] * absorbed * part[a];
          }
        }
      }
    }
  }
  std::vector shares(floors,
                     std::vector<std::vector<double>>(bands, std::vector<double>(windows.size())));
  for (std::size_t f = 0; f < floors; ++f) {
    for (std::size_t band = 0; band < bands; ++band) {
      const double place = (std::log(specimen.reduced[band]) - least) / step;
      const auto below = std::min(static_cast<std::size_t>(std::max(0.0, place)), nodes - 2);
      const double above = place - static_cast<double>(below);
      for (std::size_t a = 0; a < windows.size(); ++a) {
        const auto share = [&](std::size_t node) {
          const Sums& sum = at(node, f, band);
          return sum.kept[a] / sum.all;
        };
        shares[f][band][a] = (1 - above) * share(below) + above * share(below + 1);
      }
    }
  }
  return shares;
}

}  // namespace mamelon::bench

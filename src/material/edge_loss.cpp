#include "material/edge_loss.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <span>

namespace mamelon::detail {
namespace {

#include "material/edge_loss_table.inc"

constexpr double per_unit = 4000;

// −ln of the part that leaves beyond `radius` is nearly a power of it, which straight lines between
// the logarithms of both follow.
double part_beyond(double radius, std::span<const std::uint16_t> codes) {
  const auto ln_ln = [&](std::size_t i) {
    return std::log(std::max<double>(codes[i], 0.5) / per_unit);
  };
  std::size_t next = 1;
  while (next + 1 < edge_radius.size() && edge_radius.at(next) < radius) ++next;
  const double from = std::log(edge_radius.at(next - 1));
  const double to = std::log(edge_radius.at(next));
  const double at = (std::log(radius) - from) / (to - from);
  return std::exp(-std::exp(ln_ln(next - 1) + at * (ln_ln(next) - ln_ln(next - 1))));
}

// The chance that a point at `distance` in a random direction from a random point of the circle
// seen lies within the circle lit.
double within(double distance, double lit, double seen) {
  constexpr int rings = 64;
  double sum = 0;
  for (int i = 0; i < rings; ++i) {
    const double from = seen * std::sqrt((i + 0.5) / rings);
    if (distance + from <= lit) {
      sum += 1;
    } else if (std::abs(distance - from) < lit) {
      sum +=
          std::acos(std::clamp(
              (distance * distance + from * from - lit * lit) / (2 * distance * from), -1.0, 1.0)) /
          std::numbers::pi;
    }
  }
  return sum / rings;
}

// Radii that an edge stands at from what is seen, with their shares.
struct Edge {
  std::vector<double> radius;
  std::vector<double> share;
};

Edge edge_of(double lit, double seen) {
  constexpr int steps = 24;
  Edge edge;
  const double first = std::max(0.0, lit - seen);
  const double step = (lit + seen - first) / steps;
  const double whole = within(0, lit, seen);
  double inside = 1;
  for (int i = 0; i < steps; ++i) {
    const double next = within(first + (i + 1) * step, lit, seen) / whole;
    edge.radius.push_back(first + (i + 0.5) * step);
    edge.share.push_back(inside - next);
    inside = next;
  }
  return edge;
}

// Four neighbouring nodes of an axis with the weights of the cubic through them.
struct Neighbours {
  std::size_t first = 0;
  std::array<double, 4> weight{};
};

template <std::size_t N>
Neighbours neighbours(const std::array<double, N>& axis, double value) {
  const double at = std::clamp(value, axis.front(), axis.back());
  Neighbours found;
  while (found.first + 4 < N && axis.at(found.first + 2) < at) ++found.first;
  for (std::size_t i = 0; i < 4; ++i) {
    double weight = 1;
    const double own = axis.at(found.first + i);
    for (std::size_t k = 0; k < 4; ++k) {
      const double other = axis.at(found.first + k);
      if (k != i) weight *= (at - other) / (own - other);
    }
    found.weight.at(i) = weight;
  }
  return found;
}

template <std::size_t N>
std::array<double, N> logarithms(const std::array<double, N>& axis) {
  std::array<double, N> out{};
  for (std::size_t i = 0; i < N; ++i) out.at(i) = std::log(axis.at(i));
  return out;
}

constexpr std::size_t backings = edge_backing.size();
constexpr std::size_t ratios = edge_root_ratio.size() * backings;
constexpr std::size_t nodes = edge_reduced_scattering.size() * ratios;
constexpr std::size_t blocks = edge_index.size() * edge_anisotropy.size();
static_assert(edge_codes.size() == 2 * blocks * nodes * edge_radius.size());

// Below this share nothing is seen of a loss.
constexpr double least = 1e-6;

// Between the two thicknesses and about them the loss follows a power of the thickness.
constexpr double apart = 0.05;

std::vector<double> ln_losses(double lit, double seen, bool gap) {
  const Edge edge = edge_of(lit, seen);
  const std::span<const std::uint16_t> all(edge_codes);
  std::vector<double> out;
  for (std::size_t node = 0; node < blocks * nodes; ++node) {
    const auto codes =
        all.subspan(((gap ? blocks * nodes : 0) + node) * edge_radius.size(), edge_radius.size());
    double loss = 0;
    for (std::size_t i = 0; i < edge.radius.size(); ++i) {
      loss += edge.share[i] * part_beyond(edge.radius[i], codes);
    }
    out.push_back(std::log(std::max(loss, least)));
  }
  return out;
}

}  // namespace

EdgeLoss::EdgeLoss(const Aperture& aperture, double thickness_mm, bool gap)
    : thickness_mm_(thickness_mm) {
  const double lit = aperture.lit_mm / 2 / thickness_mm;
  const double seen = aperture.seen_mm / 2 / thickness_mm;
  // At thirty thicknesses from the edge there is no loss left.
  none_ = lit - seen > 30;
  if (none_) return;
  thinner_ = ln_losses(lit * std::exp(apart), seen * std::exp(apart), gap);
  thicker_ = ln_losses(lit * std::exp(-apart), seen * std::exp(-apart), gap);
}

double EdgeLoss::operator()(double thickness_mm, double absorption_per_mm,
                            double reduced_scattering_per_mm, double anisotropy,
                            double refractive_index, double floor) const {
  if (none_) return 0;
  const double at_thickness = (std::log(thickness_mm / thickness_mm_) + apart) / (2 * apart);
  static const auto ln_scattering = logarithms(edge_reduced_scattering);
  const Neighbours scattering =
      neighbours(ln_scattering, std::log(reduced_scattering_per_mm * thickness_mm));
  const Neighbours ratio =
      neighbours(edge_root_ratio, std::sqrt(absorption_per_mm / reduced_scattering_per_mm));
  const Neighbours backing = neighbours(edge_backing, floor);
  const auto share = [](const std::array<double, 2>& axis, double value) {
    return (std::clamp(value, 0.0, 1.8) - axis[0]) / (axis[1] - axis[0]);
  };
  const double at_index = share(edge_index, refractive_index);
  const double at_g = share(edge_anisotropy, anisotropy);
  double ln_loss = 0;
  for (std::size_t block = 0; block < blocks; ++block) {
    const bool high_index = block / edge_anisotropy.size() == 1;
    const bool high_g = block % edge_anisotropy.size() == 1;
    const double of_block = (high_index ? at_index : 1 - at_index) * (high_g ? at_g : 1 - at_g);
    double sum = 0;
    for (std::size_t i = 0; i < 4; ++i) {
      for (std::size_t k = 0; k < 4; ++k) {
        const double weight = scattering.weight.at(i) * ratio.weight.at(k);
        const std::size_t row = block * nodes + (scattering.first + i) * ratios +
                                (ratio.first + k) * backings + backing.first;
        for (std::size_t m = 0; m < 4; ++m) {
          sum += weight * backing.weight.at(m) *
                 (thinner_[row + m] + at_thickness * (thicker_[row + m] - thinner_[row + m]));
        }
      }
    }
    ln_loss += of_block * sum;
  }
  return std::min(std::exp(ln_loss), 1.0);
}

}  // namespace mamelon::detail

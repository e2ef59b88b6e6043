#include "mamelon/transport.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <Eigen/Dense>

#include "base/numbers.h"
#include "material/ordinates.h"
#include "material/stack_check.h"

namespace mamelon {
namespace {

using detail::Modes;
using detail::ModesLayer;
using detail::Ordinates;

void check_streams(int streams) {
  if (streams != 4 && streams != 6 && streams != 8 && streams != 16 && streams != 32) {
    throw ArgumentError("the number of streams is " + std::to_string(streams) +
                        "; known are 4, 6, 8, 16 and 32");
  }
}

void check_slab(const Medium& medium, double thickness_mm, double refractive_index) {
  if (!(medium.absorption_per_mm >= 0) || !(medium.scattering_per_mm >= 0) ||
      !std::isfinite(medium.absorption_per_mm) || !std::isfinite(medium.scattering_per_mm) ||
      !(medium.anisotropy >= 0 && medium.anisotropy < 1)) {
    throw ArgumentError(
        "a medium has absorption and scattering of 0 or more per mm and an anisotropy from 0 to "
        "below 1");
  }
  if (!(thickness_mm > 0) || !std::isfinite(thickness_mm)) {
    throw ArgumentError("a slab's thickness is " + detail::format_short(thickness_mm) +
                        " mm; it must be above 0");
  }
  if (refractive_index != 1 && !(refractive_index >= 1.01 && refractive_index <= 2)) {
    throw ArgumentError("refractive index " + detail::format_short(refractive_index) +
                        " is neither 1 nor within 1.01 to 2");
  }
}

const TransportConstants& constants_of(const Paste& paste) {
  if (!paste.transport) {
    throw ArgumentError("paste '" + paste.name +
                        "' has no transport constants; fit them from its drawdowns or predict "
                        "by Kubelka and Munk");
  }
  return *paste.transport;
}

Modes modes_of_paste(const Ordinates& ordinates, const Paste& paste) {
  const TransportConstants& constants = constants_of(paste);
  return detail::modes_of(ordinates, constants.absorption.values(),
                          constants.reduced_scattering.values(), constants.anisotropy);
}

Reflectance seen(const Ordinates& ordinates, const Reflectance& floor,
                 std::span<const ModesLayer> layers, bool specular_included) {
  std::vector<double> factors = detail::normal_factors(ordinates, floor.values(), layers);
  for (double& factor : factors) {
    factor += specular_included ? ordinates.k1 : 0;
  }
  return {floor.grid(), std::move(factors)};
}

}  // namespace

SlabTotals slab_totals(const Medium& medium, double thickness_mm, double refractive_index,
                       int streams) {
  using Eigen::MatrixXd;
  using Eigen::VectorXd;
  check_slab(medium, thickness_mm, refractive_index);
  check_streams(streams);
  const Ordinates ordinates(streams, refractive_index);
  const double reduced = medium.scattering_per_mm * (1 - medium.anisotropy);
  const Modes modes = detail::modes_of(ordinates, std::span(&medium.absorption_per_mm, 1),
                                       std::span(&reduced, 1), medium.anisotropy);
  const detail::LayerMatrices layer = detail::layer_matrices({&modes, thickness_mm});
  const auto n = static_cast<Eigen::Index>(ordinates.size());
  const Eigen::Map<const MatrixXd> reflection(layer.reflection.data(), n, n);
  const Eigen::Map<const MatrixXd> transmission(layer.transmission.data(), n, n);
  const auto vector = [n](const std::vector<double>& values) {
    return Eigen::Map<const VectorXd>(values.data(), n);
  };
  const MatrixXd surface = vector(ordinates.inner).asDiagonal();
  const MatrixXd identity = MatrixXd::Identity(n, n);
  const auto leaving = (identity - reflection * surface).partialPivLu();
  const MatrixXd below = reflection + transmission * surface * leaving.solve(transmission);
  const auto entering = (identity - surface * below).partialPivLu();
  const VectorXd escape =
      vector(ordinates.flux).cwiseProduct(VectorXd::Ones(n) - vector(ordinates.inner));
  const auto pass = [&](const VectorXd& light) {
    const VectorXd down = entering.solve(light);
    return std::pair{escape.dot(below * down), escape.dot(leaving.solve(transmission * down))};
  };
  const auto [r_normal, t_normal] = pass(vector(ordinates.normal_beam));
  const auto [r_diffuse, t_diffuse] = pass(vector(ordinates.light));
  return {ordinates.k1 + r_normal, t_normal, ordinates.outer_diffuse + r_diffuse, t_diffuse};
}

Engine best_engine(const Stack& stack) {
  return std::all_of(stack.layers.begin(), stack.layers.end(),
                     [](const Layer& layer) { return layer.paste.transport.has_value(); })
             ? Engine::transport
             : Engine::kubelka_munk;
}

Reflectance predict(const Stack& stack, Engine engine, int streams) {
  if (engine == Engine::kubelka_munk) {
    return predict(stack);
  }
  detail::check_stack(stack);
  check_streams(streams);
  const Ordinates ordinates(streams, stack.layers.back().paste.refractive_index);
  std::vector<Modes> modes;
  std::vector<ModesLayer> layers;
  modes.reserve(stack.layers.size());
  for (const Layer& layer : stack.layers) {
    modes.push_back(modes_of_paste(ordinates, layer.paste));
    layers.push_back({&modes.back(), layer.thickness_mm});
  }
  return seen(ordinates, stack.floor, layers, stack.specular_included);
}

// The modes depend on the refractive index of the outermost paste through the directions, so that
// a paste is prepared once more for each. Only what is asked for is prepared.
struct PreparedPastes::Content {
  struct Surface {
    Ordinates ordinates;
    std::vector<std::optional<Modes>> modes;  // one a paste
  };
  int streams = 4;
  std::vector<Paste> pastes;
  mutable std::mutex making;
  mutable std::map<double, Surface> surfaces;  // by refractive index; what is there stays in place
};

PreparedPastes::PreparedPastes(std::span<const Paste> pastes, int streams) {
  check_paste_set({"prepared", {pastes.begin(), pastes.end()}, {}});
  check_streams(streams);
  for (const Paste& paste : pastes) static_cast<void>(constants_of(paste));
  auto content = std::make_unique<Content>();
  content->streams = streams;
  content->pastes.assign(pastes.begin(), pastes.end());
  content_ = std::move(content);
}

PreparedPastes::~PreparedPastes() = default;
PreparedPastes::PreparedPastes(PreparedPastes&&) noexcept = default;
PreparedPastes& PreparedPastes::operator=(PreparedPastes&&) noexcept = default;

Reflectance PreparedPastes::predict(const Reflectance& floor, std::span<const PreparedLayer> layers,
                                    bool specular_included) const {
  detail::check_floor(floor);
  if (floor.grid() != content_->pastes.front().absorption.grid()) {
    throw ArgumentError("pastes and floor stand on different wavelength grids; resample one");
  }
  if (layers.empty()) {
    throw ArgumentError("a stack needs at least one layer on its floor");
  }
  double total_mm = 0;
  for (const PreparedLayer& layer : layers) {
    if (layer.paste >= content_->pastes.size()) {
      throw ArgumentError("there is no prepared paste " + std::to_string(layer.paste));
    }
    detail::add_thickness(layer.thickness_mm,
                          "layer of prepared paste " + std::to_string(layer.paste), total_mm);
  }
  std::vector<ModesLayer> of_modes;
  const Ordinates* ordinates = nullptr;
  {
    const std::scoped_lock lock(content_->making);
    const double index = content_->pastes[layers.back().paste].refractive_index;
    auto at = content_->surfaces.find(index);
    if (at == content_->surfaces.end()) {
      Content::Surface made{Ordinates(content_->streams, index), {}};
      made.modes.resize(content_->pastes.size());
      at = content_->surfaces.emplace(index, std::move(made)).first;
    }
    Content::Surface& surface = at->second;
    ordinates = &surface.ordinates;
    for (const PreparedLayer& layer : layers) {
      std::optional<Modes>& modes = surface.modes[layer.paste];
      if (!modes) modes = modes_of_paste(*ordinates, content_->pastes[layer.paste]);
      of_modes.push_back({&*modes, layer.thickness_mm});
    }
  }
  return seen(*ordinates, floor, of_modes, specular_included);
}

}  // namespace mamelon

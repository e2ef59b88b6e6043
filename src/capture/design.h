#pragma once
// Simulated readings of surfaces by a card, before cameras that the prior has not seen.

#include <memory>
#include <string_view>
#include <vector>

#include <Eigen/Dense>

#include "mamelon/card.h"

#include "capture/colour_map.h"
#include "capture/response_map.h"

namespace mamelon::detail {

// A light, relative power on the response grid.
struct DesignLight {
  std::string_view name;
  Eigen::RowVectorXd power;
  LightKind kind;               // as intervals are built on it; of lights with lines unused
  std::string_view class_name;  // as reports tell it
};
inline constexpr std::string_view lines_class = "lines";

// Published lights (CIE 015:2018, CIE 224:2017) and Planckian ones; those of the prior are spread
// wider than lights in use are.
std::vector<DesignLight> design_lights();

// Surfaces of a kind to be read, one a row on the response grid. Teeth are modelled natural ones;
// the others are of what the library expects of the kind.
struct DesignSurfaces {
  SurfaceKind kind;
  Eigen::MatrixXd rows;
};
std::vector<DesignSurfaces> design_surfaces();

// The responses of a camera before a light, so that white is at full scale.
Eigen::MatrixXd response_of(const Eigen::MatrixXd& camera, const DesignLight& light);

// The card's patches as a camera and light show them; `run` chooses their noise.
Training training_of(const Card& card, const Viewing& viewing, const Eigen::MatrixXd& response,
                     std::size_t run);

// A reading of one surface, in CIELAB, and its CIEDE2000 error.
struct DesignReading {
  double de00 = 0;
  double share_of_u95 = 0;  // squared error over the square of the U95 that the map states
};
std::vector<DesignReading> read_all(const ColourMap& map, double variance_factor,
                                    const Eigen::MatrixXd& response, const DesignSurfaces& surfaces,
                                    const Viewing& viewing);

// Throws ArgumentError for a patch whose reflectance is not known.
void check_designable(const Card& card);

}  // namespace mamelon::detail

#pragma once
// From linear camera RGB to tristimulus values, learnt from the card's patches.

#include <memory>
#include <vector>

#include <Eigen/Dense>

#include "mamelon/card.h"

namespace mamelon::detail {

// What a map learns from: `rgb` is linear and corrected for uneven light, `raw` as the photo has
// it, `gain` the light at the patch over the light at the card's centre.
struct TrainingPatch {
  Eigen::Vector3d raw = Eigen::Vector3d::Zero();
  Eigen::Matrix3d raw_cov = Eigen::Matrix3d::Zero();
  double gain = 1;
  Eigen::Vector3d rgb = Eigen::Vector3d::Zero();
  Eigen::Matrix3d rgb_cov = Eigen::Matrix3d::Zero();
  Lab lab;
  Eigen::Vector3d xyz = Eigen::Vector3d::Zero();
  bool neutral = false;
  Eigen::VectorXd reflectance;  // on the response grid; empty where only Lab is known
};

struct Training {
  std::vector<TrainingPatch> patches;
  Viewing viewing;
  Xyz white;

  [[nodiscard]] Training without(std::size_t i) const;
};

struct MapEstimate {
  Eigen::Vector3d xyz;
  Eigen::Matrix3d jacobian;    // dXYZ/dRGB
  Eigen::Matrix3d covariance;  // of xyz, what the map itself knows of its error
};

// A colour to be read, and what the surface is taken to be.
struct Seen {
  Eigen::Vector3d rgb;
  SurfaceKind kind = SurfaceKind::tooth;
};

class ColourMap {
 public:
  virtual ~ColourMap() = default;
  [[nodiscard]] virtual MapEstimate operator()(const Seen& seen) const = 0;
  // Covariance between the errors in XYZ of two colours: what comes of the camera and the light,
  // which both share; metamerism is each surface's own.
  [[nodiscard]] virtual Eigen::Matrix3d common(const Seen& one, const Seen& other) const = 0;
  // Of a patch, whose reflectance may be known; its covariance then includes the patch's own noise.
  [[nodiscard]] virtual MapEstimate of_patch(const TrainingPatch& patch) const {
    return (*this)({patch.rgb});
  }
};

// The colour that the maps are made for: the middle of natural teeth.
inline constexpr Lab tooth_centre = {71, 2, 17};

// How near a colour is to a tooth's: 1 at its centre, falling with ΔE*ab.
double tooth_weight(const Lab& lab);

// Quadratic form G of small CIEDE2000 differences at a colour: ΔE00² ≈ dᵀ G d.
Eigen::Matrix3d de00_metric(const Lab& lab);

// Square of the 95 % point of ΔE00 at a colour for normal errors of this covariance in CIELAB: the
// quadratic form by a scaled χ² of the same mean and variance (Satterthwaite 1946, Biometrics Bull
// 2:110), its 95 % point by Wilson and Hilferty (1931, PNAS 17:684); 3 % low at the most.
double squared_u95(const Lab& lab, const Eigen::Matrix3d& covariance);

// 3×3 by least squares in CIEDE2000 at each patch, weighted towards tooth colours. Needs 4 patches.
std::unique_ptr<ColourMap> fit_matrix(const Training& training);
// Root polynomial of degree 2 (Finlayson, Mackiewicz, Hurlbert 2015, IEEE Trans Image Process
// 24:1460), with a light ridge towards the 3×3. Needs 8 patches.
std::unique_ptr<ColourMap> fit_root_polynomial(const Training& training);

}  // namespace mamelon::detail

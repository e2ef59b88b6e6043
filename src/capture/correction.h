#pragma once
// The fitted steps from a pixel's light to CIELAB, together.

#include <functional>
#include <memory>
#include <optional>
#include <vector>

#include "mamelon/card.h"

#include "capture/colour_map.h"
#include "capture/light_field.h"
#include "capture/tone.h"

namespace mamelon::detail {

using MapFitter = std::function<std::unique_ptr<ColourMap>(const Training&)>;

// A patch's error when it is left out of the fit: fitted less reference, in CIELAB, and its mean
// square in standard deviations of what the map states.
struct LeaveOneOut {
  Lab reference;
  Eigen::Vector3d error;
  double standardised = 0;
};

// Of every patch of `training`. With `toned` the tone curve too is fitted again without the patch.
std::vector<LeaveOneOut> leave_one_out(const Training& training, const MapFitter& fit, bool toned);

// How the stated uncertainty is put together.
struct ErrorModel {
  double map_variance_factor = 1;   // of the covariance that the map states
  double leave_one_out_factor = 1;  // of the squared errors that patches around the colour show
};

class FittedCorrection : public Correction {
 public:
  struct Parts {
    CorrectionMethod method;
    LightField light;
    std::optional<Tone> tone;
    std::unique_ptr<ColourMap> map;
    std::unique_ptr<ColourMap> second_opinion;  // none: no other map to compare with
    Xyz white;
    std::vector<LeaveOneOut> errors;
    ErrorModel error_model;
  };
  explicit FittedCorrection(Parts parts) : parts_(std::move(parts)) {}

  [[nodiscard]] Measured<Lab> lab(const Vec3& rgb, const Mat3& rgb_cov, PointPx at) const override;
  [[nodiscard]] CorrectionMethod method() const override { return parts_.method; }
  [[nodiscard]] double light(PointPx at) const override { return parts_.light.gain(at); }
  [[nodiscard]] double light_log_sd(PointPx at) const override;

 private:
  [[nodiscard]] Eigen::Matrix3d error_around(const Lab& lab) const;

  Parts parts_;
};

}  // namespace mamelon::detail

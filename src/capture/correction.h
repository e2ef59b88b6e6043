#pragma once
// The fitted steps from a pixel's light to CIELAB, together.

#include <functional>
#include <memory>
#include <vector>

#include "mamelon/card.h"

#include "capture/colour_map.h"
#include "capture/light_field.h"

namespace mamelon::detail {

// A patch's leave-one-out error: fitted less reference, in CIELAB.
struct LeaveOneOut {
  Lab reference;
  Eigen::Vector3d error;
};

class FittedCorrection : public Correction {
 public:
  FittedCorrection(CorrectionMethod method, LightField light, std::unique_ptr<ColourMap> map,
                   const Xyz& white, std::vector<LeaveOneOut> errors)
      : method_(method),
        light_(std::move(light)),
        map_(std::move(map)),
        white_(white),
        errors_(std::move(errors)) {}

  [[nodiscard]] Measured<Lab> lab(const Vec3& rgb, const Mat3& rgb_cov, PointPx at) const override;
  [[nodiscard]] CorrectionMethod method() const override { return method_; }

 private:
  [[nodiscard]] Eigen::Matrix3d error_around(const Lab& lab) const;

  CorrectionMethod method_;
  LightField light_;
  std::unique_ptr<ColourMap> map_;
  Xyz white_;
  std::vector<LeaveOneOut> errors_;
};

using MapFitter = std::function<std::unique_ptr<ColourMap>(const Training&)>;

// Leave-one-out errors of every patch of `training`.
std::vector<LeaveOneOut> leave_one_out(const Training& training, const MapFitter& fit);

}  // namespace mamelon::detail

#pragma once
// The correction that estimates the camera's response from the patches' spectra.

#include <array>
#include <memory>

#include "capture/colour_map.h"
#include "capture/expectation.h"
#include "capture/response_prior.h"

namespace mamelon::detail {

// What every fit of one viewing shares.
struct ResponseModel {
  ResponsePrior prior;
  // By SurfaceKind; reflectances with the offset band, one a row.
  std::array<Expectation, surface_kinds> expected;
  Eigen::MatrixXd noise;  // correlation of an expectation's noise, the offset band without any
};
std::shared_ptr<const ResponseModel> make_response_model(const Viewing& viewing,
                                                         std::optional<int> left_out = {});
// The same without anything left out, made once for each viewing. A call while another thread makes
// it waits for that.
std::shared_ptr<const ResponseModel> response_model(const Viewing& viewing);

// Every patch says M·rgb = (S + D)·R + noise. M has a flat prior and D that of `ResponsePrior`, so
// that both follow in closed form by generalised least squares (universal kriging). A colour with
// unknown reflectance is read through what one expects of its kind: the shift D·R of those
// reflectances is regressed on M·rgb around the colour, and what the regression leaves is the
// metamerism that no card can remove.
std::unique_ptr<ColourMap> fit_response(const Training& training,
                                        std::shared_ptr<const ResponseModel> model);

}  // namespace mamelon::detail
